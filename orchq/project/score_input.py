"""Reading of whatever can be checked: MusicXML, compressed or not, or triples of an excerpt."""

from collections.abc import Iterable, Sequence
from pathlib import Path

from msgspec.structs import replace
from pyoxigraph import NamedNode, Quad, Store

from orchq.errors import MalformedError, located
from orchq.excerpt import (
    check_statements,
    check_terms,
    read_excerpt_quads,
    score_from_quads,
)
from orchq.knowledge import Knowledge
from orchq.knowledge.deprecation import deprecation, renewed
from orchq.knowledge.line_numbers import Lines
from orchq.knowledge.store import holds_triples
from orchq.readers import read_score
from orchq.rules.checking import rules_of, structure_files
from orchq.rules.structure import StructureFault, excerpt_vocabulary, structure_faults
from orchq.score import Score
from orchq.terms import RDF_TYPE, oq


def read_input(path: Path, knowledge: Knowledge) -> tuple[Score, Sequence[Quad] | None]:
    """Read a file; an excerpt also returns its triples.

    Raises ``ReadError`` when the file cannot be read and ``UnknownTermError`` for a term of our
    vocabulary that does not exist.
    """
    if holds_triples(path):
        return _read_triples(path, knowledge)
    return read_score(path, knowledge), None


def _read_triples(path: Path, knowledge: Knowledge) -> tuple[Score, Sequence[Quad]]:
    quads, old = renewed(read_excerpt_quads(path), knowledge.deprecated)
    rules = {rule.iri for rule in rules_of(knowledge)[0]}
    check_terms(quads, knowledge.declared | rules, path)
    described = (
        knowledge.declared
        | rules
        | {quad.subject.value for quad in knowledge.quads if isinstance(quad.subject, NamedNode)}
    )
    check_statements(quads, excerpt_vocabulary(structure_files()), described, path)
    store = Store()
    store.bulk_extend((*knowledge.quads, *quads))
    store.extend(Quad(NamedNode(rule), RDF_TYPE, oq("Rule")) for rule in rules)
    if faults := list(structure_faults(store, structure_files())):
        raise MalformedError(*_sentences(faults, path))
    score = score_from_quads(quads, path)
    remarks = tuple(deprecation(iri, knowledge.deprecated) for iri in old)
    return replace(score, remarks=(*remarks, *score.remarks)), quads


def _sentences(faults: Iterable[StructureFault], path: Path) -> list[str]:
    """One sentence for each node and what is wrong with it, in the order of their lines."""
    lines = Lines(path)
    told: dict[tuple[str, str], int | None] = {}
    for fault in faults:
        line = lines.of_value(fault.node, fault.path, fault.value)
        if line is None:  # a nameless node: the first line that states as much
            line = lines.of_names([fault.path, fault.value or fault.path])
        told.setdefault((fault.node, fault.message), line)
    ordered = sorted(told.items(), key=lambda item: (item[1] or 0, item[0]))
    return [located(path, line, f"{node}: {message}") for (node, message), line in ordered]
