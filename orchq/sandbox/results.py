"""Results of user-supplied queries, of any read-only form of SPARQL 1.1.

The engine would fetch what SERVICE names, so queries are parsed and refused before they run.
"""

from collections.abc import Iterator
from typing import Literal

from msgspec import Struct
from pyoxigraph import (
    QueryBoolean,
    QueryResultsFormat,
    QuerySolutions,
    RdfFormat,
    Store,
    serialize,
)

from orchq.errors import OrchqError
from orchq.terms import PREFIXES

Form = Literal["table", "json", "csv"]
"""Formats of a result; a table is made from JSON."""


class QueryResult(Struct, frozen=True):
    """Solutions and truth in the JSON or CSV of SPARQL 1.1, triples in Turtle or JSON-LD."""

    kind: Literal["solutions", "truth", "triples"]
    text: str
    truth: bool = False


def read_only(query: str) -> str:
    """Return a query unchanged if it reads only the graph.

    Raises ``OrchqError`` if it is not a SPARQL 1.1 query, and for SERVICE and FROM.
    """
    from pyparsing import ParseException  # noqa: PLC0415 - rdflib is heavy
    from rdflib.plugins.sparql.parser import parseQuery  # noqa: PLC0415
    from rdflib.plugins.sparql.parserutils import CompValue  # noqa: PLC0415

    # Both parsers must see the same lines: a comment ends at either sign for one of them only.
    plain = query.replace("\r\n", "\n").replace("\r", "\n")
    prologue = "".join(f"PREFIX {name}: <{iri}>\n" for name, iri in PREFIXES.items())
    try:
        parsed = parseQuery(prologue + plain)
    except ParseException as error:
        line = max(error.lineno - len(PREFIXES), 1)
        raise OrchqError(
            f"line {line}: not a SELECT, ASK, CONSTRUCT or DESCRIBE query of SPARQL 1.1"
        ) from error
    except (RecursionError, ValueError) as error:
        raise OrchqError("the query cannot be read: it is nested too deeply or broken") from error

    def nodes(value: object) -> Iterator[CompValue]:
        waiting = [value]
        while waiting:
            node = waiting.pop()
            if isinstance(node, CompValue):
                yield node
                waiting.extend(node.values())
            elif not isinstance(node, str) and hasattr(node, "__iter__"):
                waiting.extend(node)

    names = {node.name for node in nodes(parsed)}
    if "ServiceGraphPattern" in names:
        raise OrchqError("SERVICE is refused: a query may read only the graph")
    if "DatasetClause" in names or any(dict.get(node, "datasetClause") for node in nodes(parsed)):
        raise OrchqError("FROM is refused: a query may read only the graph")
    return prologue + plain


def result(query: str, store: Store, form: Form = "table") -> QueryResult:
    """Run a query over a store.

    Raises ``OrchqError`` when the engine cannot run it, and for triples as CSV.
    """
    try:
        found = store.query(query)
        if isinstance(found, QuerySolutions):
            kind = QueryResultsFormat.CSV if form == "csv" else QueryResultsFormat.JSON
            return QueryResult("solutions", _text(found.serialize(format=kind)))
        if isinstance(found, QueryBoolean):
            truth = bool(found)
            # CSV has no form for a boolean
            text = str(truth).lower() + "\n"
            if form != "csv":
                text = _text(found.serialize(format=QueryResultsFormat.JSON))
            return QueryResult("truth", text, truth)
        if form == "csv":
            raise OrchqError("triples cannot be written as CSV; use json, or no format for Turtle")
        rdf = RdfFormat.JSON_LD if form == "json" else RdfFormat.TURTLE
        triples = serialize(found, format=rdf, prefixes=PREFIXES)
    except (SyntaxError, ValueError, OSError) as error:
        raise OrchqError(f"the query cannot be run: {error}") from error
    return QueryResult("triples", _text(triples))


def _text(data: bytes | None) -> str:
    assert data is not None
    return data.decode("utf-8")
