"""The graph in files for programs: what is published beside the pages, in four formats."""

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from pyoxigraph import Triple

from orchq.graph_api import load
from orchq.knowledge.data_files import (
    context_file,
    dataset_file,
    place_files,
    rule_files,
    shape_files,
)
from orchq.knowledge.languages import in_every_language
from orchq.knowledge.store import read_triples
from orchq.knowledge.triple_formats import written
from orchq.knowledge.whole import excerpt_ontology, whole_ontology
from orchq.questions.open_graph import weighed_quads
from orchq.rules.catalogue import RULE
from orchq.rules.checking import structure_files
from orchq.rules.structure import excerpt_vocabulary
from orchq.terms import PREFIXES

ENDINGS = {"turtle": "ttl", "owl": "rdf", "jsonld": "jsonld", "nt": "nt"}
"""The formats, with the endings of their files."""


def published_files() -> Iterator[tuple[str, str]]:
    """Yield file names and their contents: the graph, rules, shapes, places, and their context."""
    for name, triples in _groups().items():
        made = list(triples())
        for form, ending in ENDINGS.items():
            yield f"{name}.{ending}", written(made, form, PREFIXES | {"rule": RULE})
    for file in (context_file(), dataset_file()):
        yield file.name, file.read_text(encoding="utf-8")


def _groups() -> dict[str, Callable[[], Iterable[Triple]]]:
    def of(files: Iterable[Path]) -> Callable[[], Iterable[Triple]]:
        return lambda: (quad.triple for file in files for quad in read_triples(file))

    graph = load()
    vocabulary = excerpt_vocabulary(structure_files())
    return {
        "orchq": lambda: whole_ontology(in_every_language(weighed_quads(graph))),
        "excerpt-vocabulary": lambda: excerpt_ontology(in_every_language(graph.quads), vocabulary),
        "rules": of(rule_files()),
        "shapes": of(shape_files()),
        "places": of(place_files()),
    }
