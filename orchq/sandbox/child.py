"""The isolated process that runs untrusted queries and shapes: it reads, answers and exits.

It reads triples and queries from standard input, and answers with one line of JSON for each query.
Before the first it drops the ability to open files and connections, where the system allows.
"""

import json
import sys
from collections.abc import Iterator
from typing import Any

from msgspec.structs import asdict
from pyoxigraph import (
    BlankNode,
    Literal,
    NamedNode,
    QueryResultsFormat,
    QuerySolutions,
    RdfFormat,
    Store,
    Triple,
    Variable,
    parse,
)

from orchq.bounded import bind
from orchq.errors import OrchqError
from orchq.sandbox.reference_engine import validated, warmed_up
from orchq.sandbox.results import read_only, result

MOST_ANSWERED = 20_000_000
"""Largest answer to one query, in bytes."""


def shut_doors() -> None:
    """Drop the ability to open files and connections, where the system allows."""
    try:
        import resource  # noqa: PLC0415 - not on every system
    except ImportError:
        return
    # Open descriptors stay open; a new connection needs a new one and gets none.
    resource.setrlimit(resource.RLIMIT_NOFILE, (0, 0))


def answers(asked: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Serve a request: read queries, run them, or run shapes with pySHACL."""
    if asked["do"] == "validate":
        warmed_up()
        shut_doors()
        yield {"pairs": sorted(validated(asked["triples"], asked["shapes"]))}
        return
    if asked["do"] == "result":
        yield _result(asked)
        return
    shut_doors()
    store = _store(asked)
    for query in asked["queries"]:
        try:
            yield _answer(store, query["text"], query["bound"], run=asked["do"] == "select")
        except (SyntaxError, ValueError, OSError) as error:
            yield {"error": str(error)}


def _store(asked: dict[str, Any]) -> Store:
    store = Store()
    store.bulk_load(asked["triples"].encode(), RdfFormat.N_TRIPLES)
    return store


def _result(asked: dict[str, Any]) -> dict[str, Any]:
    """The result of one query, or a sentence on what is wrong with it."""
    try:
        query = read_only(asked["query"])
        shut_doors()
        return asdict(result(query, _store(asked), asked["form"]))
    except OrchqError as error:
        return {"error": str(error)}
    except MemoryError:
        return {"error": "the query exceeds its memory limit"}


def _answer(store: Store, text: str, bound: dict[str, str], *, run: bool) -> dict[str, Any]:
    terms: dict[Variable, NamedNode | BlankNode | Literal | Triple] = {
        Variable(name): _term(written) for name, written in bound.items()
    }
    found = store.query(text, substitutions=terms)
    if not isinstance(found, QuerySolutions):
        return {"error": "is not a SELECT"}
    if not run:
        return {"variables": [variable.value for variable in found.variables]}
    data = found.serialize(format=QueryResultsFormat.JSON)
    if data is None or len(data) > MOST_ANSWERED:
        return {"error": f"returns more than {MOST_ANSWERED} bytes"}
    return {"solutions": data.decode()}


def _term(written: str) -> NamedNode | Literal:
    (quad,) = parse(f"<urn:x> <urn:x> {written} .".encode(), RdfFormat.N_TRIPLES)
    assert isinstance(quad.object, NamedNode | Literal)
    return quad.object


def main() -> None:
    """Answer the request on standard input."""
    bind()
    asked = json.load(sys.stdin)
    try:
        for answer in answers(asked):
            print(json.dumps(answer), flush=True)
    except MemoryError:
        print(json.dumps({"error": "exceeds its memory limit"}), flush=True)


if __name__ == "__main__":
    main()
