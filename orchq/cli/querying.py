"""What the process of ``orchq sparql`` does: refuse, load, shut the doors, run.

The engine would fetch what SERVICE names. So a query is parsed and refused before it runs, and
where the system allows it the process gives up every means of opening a connection.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Literal

from pyoxigraph import (
    QueryBoolean,
    QueryResultsFormat,
    QuerySolutions,
    RdfFormat,
    Store,
    serialize,
)
from pyoxigraph import parse as parse_rdf

import orchq
from orchq.errors import OrchqError
from orchq.rules.sandboxed import shut_doors
from orchq.terms import PREFIXES

Form = Literal["table", "json", "csv"]
"""What a result is wanted as; a table is made from JSON."""


@dataclass(frozen=True, slots=True)
class Job:
    """A query and what it is asked of."""

    query: str
    extensions: tuple[str, ...] = ()
    excerpt: str | None = None
    form: Form = "table"


@dataclass(frozen=True, slots=True)
class Result:
    """Solutions and truth in the JSON or CSV of SPARQL 1.1, triples in Turtle or JSON-LD."""

    kind: Literal["solutions", "truth", "triples"]
    text: str
    truth: bool = False


def run_job(job: Job, sender: Connection) -> None:
    """Run a query and send its ``Result``, or one sentence on what is wrong."""
    try:
        query = read_only(job.query)
        store = loaded(job)
        shut_doors()
        sender.send(run(query, store, job.form))
    except (OrchqError, OSError) as error:
        sender.send(str(error))
    except MemoryError:
        sender.send("the query needs more memory than it is given")


def loaded(job: Job) -> Store:
    """The graph with extensions and the excerpt, if there is one."""
    graph = orchq.load(job.extensions)
    store = Store()
    store.bulk_extend(graph.quads)
    if job.excerpt is not None:
        triples = orchq.export(Path(job.excerpt), knowledge=graph, format="nt")
        store.bulk_extend(parse_rdf(triples.encode(), RdfFormat.N_TRIPLES))
    return store


def read_only(query: str) -> str:
    """Return a query that reads the graph and nothing else, or refuse it.

    Raises ``OrchqError`` for what is no query of SPARQL 1.1, and for SERVICE and FROM.
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
            f"line {line}: this is no SELECT, ASK, CONSTRUCT or DESCRIBE query of SPARQL 1.1"
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
        raise OrchqError("SERVICE is refused: a query reads the graph and nothing else")
    if "DatasetClause" in names or any("datasetClause" in node for node in nodes(parsed)):
        raise OrchqError("FROM is refused: a query reads the graph and nothing else")
    return prologue + plain


def run(query: str, store: Store, form: Form = "table") -> Result:
    """Run a query over a store.

    Raises ``OrchqError`` when the engine cannot run it, and for triples as CSV.
    """
    try:
        found = store.query(query)
        if isinstance(found, QuerySolutions):
            kind = QueryResultsFormat.CSV if form == "csv" else QueryResultsFormat.JSON
            return Result("solutions", _text(found.serialize(format=kind)))
        if isinstance(found, QueryBoolean):
            truth = bool(found)
            # CSV has no form for a truth
            text = str(truth).lower() + "\n"
            if form != "csv":
                text = _text(found.serialize(format=QueryResultsFormat.JSON))
            return Result("truth", text, truth)
        if form == "csv":
            raise OrchqError("triples have no form in CSV; take json, or no format for Turtle")
        rdf = RdfFormat.JSON_LD if form == "json" else RdfFormat.TURTLE
        triples = serialize(found, format=rdf, prefixes=PREFIXES)
    except (SyntaxError, ValueError, OSError) as error:
        raise OrchqError(f"the query cannot be run: {error}") from error
    return Result("triples", _text(triples))


def _text(data: bytes | None) -> str:
    assert data is not None
    return data.decode("utf-8")
