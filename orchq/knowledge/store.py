"""Parsing of triples into a store; the graph is parsed nowhere else."""

from collections.abc import Iterable, Iterator
from pathlib import Path

from pyoxigraph import (
    DefaultGraph,
    Literal,
    NamedNode,
    Quad,
    QuerySolutions,
    RdfFormat,
    Store,
    parse,
)

from orchq.errors import ReadError, located
from orchq.inputs import content_name, opened, read_whole
from orchq.knowledge.jsonld import with_context, with_plain_decimal
from orchq.terms import PREFIXES

_DEFAULT = DefaultGraph()
PROLOGUE = "".join(f"PREFIX {name}: <{iri}>\n" for name, iri in PREFIXES.items())

_FORMATS = {
    ".ttl": RdfFormat.TURTLE,
    ".nt": RdfFormat.N_TRIPLES,
    ".n3": RdfFormat.N3,
    ".trig": RdfFormat.TRIG,
    ".nq": RdfFormat.N_QUADS,
    ".jsonld": RdfFormat.JSON_LD,
    ".json": RdfFormat.JSON_LD,
    ".rdf": RdfFormat.RDF_XML,
    ".owl": RdfFormat.RDF_XML,
}
_BEGINNING = 4096
LARGEST = 100_000_000
"""Largest file of triples that is read, in bytes."""

TRIPLE_SUFFIXES = frozenset(_FORMATS)
"""File endings that are read as triples."""


def holds_triples(path: Path) -> bool:
    """Whether a file is read as triples: by its ending, or as XML by what it begins with."""
    suffix = path.suffix.lower()
    if suffix != ".xml":
        return suffix in TRIPLE_SUFFIXES
    with opened(path) as stream:
        return b"<rdf:RDF" in stream.read(_BEGINNING)


def read_triples(path: Path) -> list[Quad]:
    """Parse a file of triples by its ending; nothing is fetched.

    Raises ``ReadError`` naming the file, and the line where the parser knows it.
    """
    return parse_triples(read_whole(path, LARGEST, "triples"), path)


def parse_triples(data: bytes, path: Path) -> list[Quad]:
    """Parse triples that were read from ``path``, which errors name."""
    form = _form_of(data, path)
    try:
        if form == RdfFormat.JSON_LD:
            data = with_context(data)
        quads = list(parse(data, form, base_iri=content_name(data)))
        if form == RdfFormat.JSON_LD:
            quads = list(map(with_plain_decimal, quads))
    except SyntaxError as error:
        fault = located(path, error.lineno, error.msg + _likelier(data, form))
        raise ReadError(fault) from error
    except (ValueError, RecursionError) as error:
        raise ReadError(f"{path}: {error}") from error
    if form == RdfFormat.JSON_LD and not quads and b"@context" not in data:
        raise ReadError(f"{path}: there are no triples: JSON-LD needs an @context")
    if all(quad.graph_name == _DEFAULT for quad in quads):
        return quads
    if form == RdfFormat.N3:
        raise ReadError(f"{path}: formulas and rules of N3 are not read, only its triples")
    return list(dict.fromkeys(Quad(quad.subject, quad.predicate, quad.object) for quad in quads))


def _form_of(data: bytes, path: Path) -> RdfFormat:
    suffix = path.suffix.lower()
    form = RdfFormat.RDF_XML if suffix == ".xml" else _FORMATS.get(suffix)
    if form is None:
        raise ReadError(f"{path}: not a file of triples; known endings: {', '.join(_FORMATS)}")
    if suffix == ".owl" and not _is_xml(data):
        return RdfFormat.TURTLE
    if form == RdfFormat.RDF_XML:
        if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
            raise ReadError(f"{path}: declares a document type or entities, which are not read")
        if b"<rdf:RDF" not in data and b"<Ontology" in data[:_BEGINNING]:
            raise ReadError(f"{path}: OWL/XML is not read; save it as Turtle or RDF/XML")
    return form


def _is_xml(data: bytes) -> bool:
    return data.removeprefix(b"\xef\xbb\xbf").lstrip().startswith((b"<?xml", b"<rdf:", b"<!"))


def _likelier(data: bytes, form: RdfFormat) -> str:
    """A hint where the contents of a file look like another format than its ending promises."""
    if form != RdfFormat.RDF_XML and _is_xml(data):
        return "; this looks like XML: RDF/XML ends in .rdf, MusicXML in .musicxml"
    if form == RdfFormat.RDF_XML and not _is_xml(data):
        return "; this does not look like XML: Turtle ends in .ttl"
    if form == RdfFormat.JSON_LD and not data.lstrip().startswith((b"{", b"[")):
        return "; this does not look like JSON: Turtle ends in .ttl"
    return ""


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
