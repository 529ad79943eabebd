"""``orchq sparql``: read-only SPARQL over the graph, in a process of its own."""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer
from pyoxigraph import Quad, RdfFormat, parse

import orchq
from orchq.cli.options import AsJson, Extensions, Out, Trust
from orchq.cli.output import check_out, deliver, look
from orchq.errors import ReadError
from orchq.inputs import opened
from orchq.questions.open_graph import open_quads
from orchq.report.solutions import solutions_table
from orchq.sandbox.results import Form
from orchq.sandbox.running import result_of

LONGEST_QUERY = 1_000_000
"""Characters of the longest query that is read."""


def sparql(
    query: Annotated[
        str,
        typer.Argument(metavar="FILE|-", help="A file with the query, or - for standard input."),
    ],
    form: Annotated[Form, typer.Option("--format", help="Format of the result.")] = "table",
    as_json: AsJson = False,
    out: Out = None,
    excerpt: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Add a score, or an excerpt as triples, to the graph."),
    ] = None,
    extensions: Extensions = None,
    trust: Trust = None,
    time_limit: Annotated[
        float,
        typer.Option(min=0.1, max=3600, metavar="SECONDS", help="Give up after this many seconds."),
    ] = 30.0,
) -> None:
    """Run a SELECT, ASK, CONSTRUCT or DESCRIBE query over the graph; nothing is changed or fetched.

    The graph is the one that ``orchq export --knowledge`` writes, with its weighed limits, the
    rules, and the places in open scores; individuals are also of the classes that they belong to
    by definition.
    The prefixes oq, rdf, rdfs, owl, skos, sh, dcterms and xsd are known.
    """
    if as_json:
        form = "json"
    inputs = [*map(Path, extensions or ()), *([excerpt] if excerpt else ())]
    check_out(out, inputs if query == "-" else [Path(query), *inputs])
    graph = orchq.load(extensions or ())
    text = _read_query(query)
    quads: Sequence[Quad] = open_quads(graph, trust)
    if excerpt:
        triples = orchq.export(excerpt, knowledge=graph, format="nt")
        quads = [*quads, *parse(triples.encode(), RdfFormat.N_TRIPLES)]
    result = result_of(text, quads, form, time_limit)
    if form == "table" and result.kind == "solutions":
        deliver(solutions_table(result.text, **look(out)), out)
    elif form == "table" and result.kind == "truth":
        deliver("yes\n" if result.truth else "no\n", out)
    else:
        deliver(result.text, out)


def _read_query(name: str) -> str:
    try:
        data = sys.stdin.buffer.read(LONGEST_QUERY + 1) if name == "-" else _read_file(Path(name))
        text = data.decode("utf-8")
    except OSError as error:
        raise ReadError(f"{name}: cannot be read: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise ReadError(f"{name}: is not text in UTF-8") from error
    if len(data) > LONGEST_QUERY:
        raise ReadError(f"{name}: a query of more than {LONGEST_QUERY} bytes is not read")
    return text


def _read_file(path: Path) -> bytes:
    with opened(path) as stream:
        return stream.read(LONGEST_QUERY + 1)
