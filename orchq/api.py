"""The public verbs about scores: read, check, finger, grade, export; and the catalogue of rules."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pyoxigraph import BlankNode, Literal, NamedNode, Triple

from orchq.derive.derivation import derive
from orchq.errors import OrchqError
from orchq.excerpt import score_quads
from orchq.knowledge import Knowledge
from orchq.knowledge.triple_formats import written
from orchq.lazily import lazily
from orchq.project import Project
from orchq.project.score_input import read_input
from orchq.questions import load_graph
from orchq.rules.catalogue import RULE, RuleInfo
from orchq.rules.checking import rules_of
from orchq.rules.finding import FileReport
from orchq.rules.gathering import gathered
from orchq.rules.plain import derived_triples, plain_shapes
from orchq.score import Score
from orchq.terms import OQ, PREFIXES

if TYPE_CHECKING:
    from orchq.derive import path as hand_path
else:
    (hand_path,) = lazily("orchq.derive", "path")


def read(path: Path | str, knowledge: Knowledge | None = None) -> Score:
    """Read a score in MusicXML (``.musicxml``, ``.xml``, ``.mxl``) or excerpt triples.

    Raises ``ReadError`` when the file cannot be read and ``UnknownTermError`` for a term of
    our vocabulary that does not exist.
    """
    return read_input(Path(path), knowledge or load_graph())[0]


def check(
    path: Path | str,
    *,
    knowledge: Knowledge | None = None,
    level: str | None = None,
    trust: str | None = None,
    rules: Collection[str] | None = None,
    engine: str = "fast",
    players: Mapping[str, int] | None = None,
    advice: bool = True,
) -> FileReport:
    """Check one score or excerpt and return its findings: the short way in.

    The options are those of ``Project``, which also knows settings and baselines and checks many
    files. Raises ``ReadError`` when the file cannot be read.
    """
    project = Project(
        knowledge=knowledge,
        level=level,
        trust=trust,
        rules=rules,
        players=players,
        engine=engine,
        advice=advice,
    )
    return gathered(project.check_file(Path(path)))


def fingering(
    path: Path | str,
    *,
    knowledge: Knowledge | None = None,
    level: str | None = None,
    trust: str | None = None,
) -> tuple[hand_path.FingeredPart, ...]:
    """Return the likeliest fingering of every part of a score: string, position and finger.

    Printed fingerings are kept where a hand can play them. ``level`` and ``trust`` are as in
    ``check``. Raises ``ReadError`` when the file cannot be read, ``OrchqError`` for an unknown
    name.
    """
    project = Project(knowledge=knowledge, level=level, trust=trust)
    score = read_input(Path(path), project.knowledge)[0]
    return hand_path.fingering_of(
        score, project.knowledge, level=project.level, trust=project.trust
    )


def difficulty(
    path: Path | str,
    *,
    knowledge: Knowledge | None = None,
    level: str | None = None,
    trust: str | None = None,
) -> tuple[hand_path.PartDifficulty, ...]:
    """Return how hard every part of a score is, measure by measure, and what makes it so.

    ``level`` (whose reach counts) and ``trust`` are as in ``check``. Raises ``ReadError`` when the
    file cannot be read, ``OrchqError`` for an unknown name.
    """
    project = Project(knowledge=knowledge, level=level, trust=trust)
    score = read_input(Path(path), project.knowledge)[0]
    return hand_path.difficulty_of(
        score, project.knowledge, level=project.level, trust=project.trust
    )


def export(
    path: Path | str,
    knowledge: Knowledge | None = None,
    format: str = "turtle",  # noqa: A002 - the word users know
    *,
    derived: bool = False,
    level: str | None = None,
    trust: str | None = None,
    base: str | None = None,
) -> str:
    """Return a score as triples of the excerpt vocabulary.

    ``format`` is ``turtle``, ``nt``, ``jsonld`` or ``owl`` (RDF/XML). The names of its nodes follow
    from what the file holds, or begin with the IRI ``base`` instead; an excerpt keeps its own.

    With ``derived`` the graph comes along, and what is derived from the score for this ``level`` of
    player and the source to ``trust``: all that the rules (``export_shapes``) ask about.
    """
    graph = knowledge or load_graph()
    score, asserted = read_input(Path(path), graph)
    quads = tuple(score_quads(score)) if asserted is None else asserted
    prefixes = {name: PREFIXES[name] for name in ("oq", "rdfs", "xsd")}
    own, mark, _ = score.parts[0].iri.partition("#") if score.parts else ("", "", "")
    if mark:
        prefixes["score"] = own + mark
    triples = [quad.triple for quad in quads]
    if derived:
        judged = Project(knowledge=graph, level=level, trust=trust)
        derivation = derive(score, graph, level=judged.level, trust=judged.trust)
        triples = derived_triples(graph, quads, derivation)
        prefixes |= PREFIXES
    if base is not None and asserted is None:
        triples = _rebased(triples, score.iri, base)
        prefixes["score"] = base.rstrip("#") + "#"
    return written(triples, format, prefixes)


def _rebased(triples: Iterable[Triple], old: str, base: str) -> list[Triple]:
    """The triples with names of the score's nodes that begin with another IRI."""
    try:
        new = NamedNode(base).value.rstrip("#")
    except ValueError as error:
        raise OrchqError(f"{base!r} is not an IRI: {error}") from error
    if new.startswith(OQ):
        raise OrchqError(f"names in {OQ} belong to the vocabulary; choose an IRI of your own")

    def renamed(node: NamedNode | BlankNode | Literal | Triple) -> Any:
        if isinstance(node, NamedNode) and node.value.startswith(old):
            return NamedNode(new + node.value[len(old) :])
        return node

    return [Triple(renamed(s), p, renamed(o)) for s, p, o in triples]


def export_shapes(
    knowledge: Knowledge | None = None,
    format: str = "turtle",  # noqa: A002 - the word users know
) -> str:
    """Return all rules as one file of plain SHACL; ``format`` as in ``export``.

    Over triples of ``export`` with ``derived``, whatever runs it finds what ``check`` does. Raises
    ``OrchqError`` for a broken rule of an extension.
    """
    triples = plain_shapes(knowledge or load_graph())
    return written(triples, format, PREFIXES | {"rule": RULE})


def catalogue(knowledge: Knowledge | None = None) -> tuple[RuleInfo, ...]:
    """All rules of the catalogue."""
    return rules_of(knowledge or load_graph())[0]
