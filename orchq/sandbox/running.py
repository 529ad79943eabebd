"""Runs untrusted queries and shapes in a separate process and reads its answers.

Such a query may never end, or crash the engine: neither affects the caller.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from msgspec import Struct, field
from pyoxigraph import (
    BlankNode,
    Literal,
    NamedNode,
    Quad,
    QueryResultsFormat,
    QuerySolutions,
    RdfFormat,
    parse_query_results,
    serialize,
)

from orchq.errors import OrchqError
from orchq.knowledge.store import PROLOGUE
from orchq.sandbox.process import StoppedError, answered
from orchq.sandbox.reference_engine import Pairs
from orchq.sandbox.results import Form, QueryResult

SECONDS = 60.0
"""Seconds that the queries of one request may take."""

SECONDS_OF_REFERENCE = 600.0
"""Seconds that pySHACL, which is slow, may take."""

MEMORY_OF_REFERENCE = 4 * 1024**3
"""Bytes of memory for pySHACL, which holds triples as Python objects."""

_SECONDS_OF_READING = 20.0

Term = NamedNode | BlankNode | Literal
Row = dict[str, Term]


class Query(Struct, frozen=True):
    """A SELECT with variables bound to terms; ``name`` identifies it in messages."""

    name: str
    text: str
    bound: Mapping[str, Term] = field(default_factory=dict)


def variables(queries: Sequence[Query]) -> list[tuple[str, ...] | str]:
    """Parse queries without running them: the variables of each, or what is wrong with it."""
    results: list[tuple[str, ...] | str] = []
    while len(results) < len(queries):
        rest = queries[len(results) :]
        try:
            found = _asked("read", rest, (), _SECONDS_OF_READING)
        except StoppedError as stopped:
            results += map(_projected, stopped.answers)
            # A query that crashes the parser leaves time for the rest; one that hangs does not.
            results += [stopped.reason] * (len(queries) - len(results) if stopped.late else 1)
        else:
            results += map(_projected, found)
    return results


def _projected(answer: dict[str, Any]) -> tuple[str, ...] | str:
    return str(answer["error"]) if "error" in answer else tuple(answer["variables"])


def select(queries: Sequence[Query], quads: Iterable[Quad]) -> list[list[Row]]:
    """Run queries over triples.

    Raises ``OrchqError`` naming the query that times out, returns too much or cannot be run.
    """
    try:
        found = _asked("select", queries, quads, SECONDS)
    except StoppedError as stopped:
        found = [*stopped.answers, {"error": stopped.reason}]
    rows = []
    for query, answer in zip(queries, found, strict=False):
        if "error" in answer:
            raise OrchqError(f"{query.name}: the query {answer['error']}")
        rows.append(_rows(answer["solutions"]))
    return rows


def _rows(solutions: str) -> list[Row]:
    found = parse_query_results(solutions.encode(), QueryResultsFormat.JSON)
    assert isinstance(found, QuerySolutions)
    names = [variable.value for variable in found.variables]
    return [
        {
            name: value
            for name in names
            if isinstance(value := row[name], NamedNode | BlankNode | Literal)
        }
        for row in found
    ]


def validate(shapes: str, quads: Iterable[Quad], name: str) -> Pairs:
    """Run shapes, given in Turtle, with pySHACL; ``name`` identifies them in messages.

    Raises ``OrchqError`` when it times out or cannot run them.
    """
    asked = {"do": "validate", "triples": _written(quads), "shapes": shapes}
    try:
        (answer,) = answered(asked, 1, SECONDS_OF_REFERENCE, MEMORY_OF_REFERENCE)
    except StoppedError as stopped:
        raise OrchqError(f"{name}: pySHACL {stopped.reason}") from None
    return {(focus, shape) for focus, shape in answer["pairs"]}


def result_of(query: str, quads: Iterable[Quad], form: Form, seconds: float) -> QueryResult:
    """Run a user-supplied query of any read-only form.

    Raises ``OrchqError`` when it is refused, cannot be run, or times out.
    """
    asked = {"do": "result", "triples": _written(quads), "query": query, "form": form}
    try:
        (answer,) = answered(asked, 1, seconds)
    except StoppedError as stopped:
        raise OrchqError(f"the query {stopped.reason}") from None
    if "error" in answer:
        raise OrchqError(str(answer["error"]))
    return QueryResult(**answer)


def _asked(
    do: str, queries: Sequence[Query], quads: Iterable[Quad], seconds: float
) -> list[dict[str, Any]]:
    asked = {
        "do": do,
        "triples": _written(quads),
        "queries": [
            {
                "text": PROLOGUE + query.text,
                "bound": {name: str(term) for name, term in query.bound.items()},
            }
            for query in queries
        ],
    }
    return answered(asked, len(queries), seconds)


def _written(quads: Iterable[Quad]) -> str:
    data = serialize((quad.triple for quad in quads), format=RdfFormat.N_TRIPLES)
    assert data is not None
    return data.decode()
