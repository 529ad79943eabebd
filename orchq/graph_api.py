"""The public verbs about the graph: load, ask and export it."""

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from orchq.knowledge import Knowledge
from orchq.knowledge.languages import in_every_language
from orchq.knowledge.triple_formats import written
from orchq.knowledge.whole import excerpt_ontology, whole_ontology
from orchq.questions import Answer, Answers, Ask, Graph, load_graph
from orchq.questions.open_graph import weighed_quads
from orchq.rules.checking import structure_files
from orchq.rules.structure import excerpt_vocabulary
from orchq.terms import PREFIXES


def load(extensions: Iterable[Path | str] = (), *, allow_override: bool = False) -> Graph:
    """Load the knowledge graph, with extension files in Turtle beside it.

    Extensions that change the core are refused, unless ``allow_override`` is true.

    Its ``ask`` holds the questions to it, such as ``load().ask.compass(on="viola")``.

    >>> load().label("https://w3id.org/orchq/spiccato")
    'spiccato'
    """
    return load_graph(extensions, allow_override=allow_override)


def ask(question: str, knowledge: Knowledge | None = None, **parameters: Any) -> Answers[Answer]:
    """Ask a question by its name on the command line, with its parameters.

    The functions of ``load().ask`` do the same and declare the types of their answers. Raises
    ``OrchqError`` when there is no such question, parameter or name.

    >>> [answer.lines for answer in ask("divisi", players=14, into=3)]
    [(5, 5, 4)]
    """
    graph = knowledge or load()
    asking = graph.ask if isinstance(graph, Graph) else Ask(graph)
    return asking.question(question, parameters)


def export_vocabulary(
    knowledge: Knowledge | None = None,
    format: str = "turtle",  # noqa: A002 - the word users know
) -> str:
    """Return the vocabulary of excerpts as an ontology of its own, to describe music with.

    It imports nothing. ``format`` is as in ``export_knowledge``.
    """
    quads = in_every_language((knowledge or load()).quads)
    vocabulary = excerpt_vocabulary(structure_files())
    return written(excerpt_ontology(quads, vocabulary), format, PREFIXES)


def export_knowledge(
    knowledge: Knowledge | None = None,
    format: str = "turtle",  # noqa: A002 - the word users know
    *,
    trust: str | None = None,
) -> str:
    """Return the graph as one ontology, with its computed triples and its weighings.

    Labels and definitions stand in English, and translated by us into German, French and Italian;
    the words that scores print for a technique or an instrument are its ``skos:altLabel``.
    ``format`` is ``turtle``, ``nt``, ``jsonld`` or ``owl`` (OWL in RDF/XML). The heads and
    imports of the modules are left out, so that no program that opens it fetches anything.
    ``trust`` names the one source to follow where limits are weighed.
    """
    quads = in_every_language(weighed_quads(knowledge or load(), trust))
    return written(whole_ontology(quads), format, PREFIXES)
