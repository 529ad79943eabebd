"""Parsing of triples into a store; the graph is parsed nowhere else."""

from collections.abc import Iterable, Iterator
from pathlib import Path

from pyoxigraph import (
    Literal,
    NamedNode,
    Quad,
    QuerySolutions,
    RdfFormat,
    Store,
    parse,
)

from orchq.errors import ReadError
from orchq.inputs import read_whole
from orchq.terms import PREFIXES

PROLOGUE = "".join(f"PREFIX {name}: <{iri}>\n" for name, iri in PREFIXES.items())

_FORMATS = {
    ".ttl": RdfFormat.TURTLE,
    ".nt": RdfFormat.N_TRIPLES,
    ".jsonld": RdfFormat.JSON_LD,
}
_WITHOUT_GRAPHS = (RdfFormat.TURTLE, RdfFormat.N_TRIPLES)
LARGEST = 100_000_000
"""Largest file of triples that is read, in bytes."""

TRIPLE_SUFFIXES = frozenset(_FORMATS)
"""File endings that are read as triples."""


def read_triples(path: Path) -> list[Quad]:
    """Parse a file of triples by its ending; nothing is fetched.

    Raises ``ReadError`` naming the file, and the line where the parser knows it.
    """
    return parse_triples(read_whole(path, LARGEST, "triples"), path)


def parse_triples(data: bytes, path: Path) -> list[Quad]:
    """Parse triples that were read from ``path``, which errors name."""
    base = path.resolve().as_uri()
    form = _FORMATS.get(path.suffix.lower())
    if form is None:
        raise ReadError(f"{path}: not a file of triples; known endings: {', '.join(_FORMATS)}")
    try:
        quads = list(parse(data, form, base_iri=base))
    except SyntaxError as error:
        line = f":{error.lineno}" if error.lineno else ""
        raise ReadError(f"{path}{line}: {error.msg}") from error
    except ValueError as error:
        raise ReadError(f"{path}: {error}") from error
    if form in _WITHOUT_GRAPHS:
        return quads
    return [Quad(quad.subject, quad.predicate, quad.object) for quad in quads]


def load_files(paths: Iterable[Path]) -> Store:
    """Parse files into the default graph of a new store."""
    store = Store()
    for path in paths:
        store.bulk_extend(read_triples(path))
    return store


def select(store: Store, query: str) -> Iterator[dict[str, NamedNode | Literal]]:
    """Run a SELECT with the project's prefixes; each row holds the variables that are bound."""
    solutions = store.query(PROLOGUE + query)
    assert isinstance(solutions, QuerySolutions)
    names = [variable.value for variable in solutions.variables]
    for solution in solutions:
        yield {name: value for name in names if (value := solution[name]) is not None}
