"""Where axioms stand: in files of an extension, or of the core."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path

from pyoxigraph import BlankNode, NamedNode, Quad

from orchq.knowledge.data_files import core_files, data_directory
from orchq.knowledge.line_numbers import Lines
from orchq.knowledge.store import read_triples
from orchq.lint.axioms import Axiom
from orchq.lint.faults import Involved

Files = Mapping[Path, Sequence[Quad]]


def involved(axioms: Sequence[Axiom], files: Files) -> tuple[Involved, ...]:
    """Axioms in words, each with the file and line where it stands."""
    found = []
    for axiom in axioms:
        others = {name for each in axioms if each is not axiom for name in each.names}
        path, line = _place(axiom, files) or _place(axiom, _core_files()) or (None, None)
        found.append(Involved(_shown(path), line, axiom.words(among=others)))
    return tuple(found)


def _place(axiom: Axiom, files: Files) -> tuple[Path, int | None] | None:
    statement = axiom.statement
    for path, quads in files.items():
        if not isinstance(statement.subject, NamedNode):
            if line := Lines(path).of_names(axiom.names):
                return path, line
        elif any(_alike(statement, quad) for quad in quads):
            value = statement.object.value if isinstance(statement.object, NamedNode) else None
            return path, Lines(path).of_value(
                statement.subject.value, statement.predicate.value, value
            )
    return None


def _alike(one: Quad, other: Quad) -> bool:
    """Whether two readings of a file mean the same statement; nameless nodes differ in each."""
    return (one.subject, one.predicate) == (other.subject, other.predicate) and (
        one.object == other.object
        or (isinstance(one.object, BlankNode) and isinstance(other.object, BlankNode))
    )


@lru_cache(maxsize=1)
def _core_files() -> Files:
    return {path: read_triples(path) for path in core_files()}


def _shown(path: Path | None) -> str:
    """The path; of a file of the core from the folder that has them all."""
    if path is None:
        return "ontology"
    home = data_directory("ontology").parent
    return path.relative_to(home).as_posix() if path in _core_files() else str(path)
