"""``orchq sparql``: read-only SPARQL over the graph, in a process of its own."""

import multiprocessing
import sys
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from orchq.cli.check import Extensions
from orchq.cli.output import check_out, deliver, look
from orchq.cli.querying import Job, Result, run_job
from orchq.errors import OrchqError, ReadError
from orchq.report.solutions import solutions_table

LONGEST_QUERY = 1_000_000
"""Characters of the longest query that is read."""


class ResultFormat(StrEnum):
    """How the result is written."""

    TABLE = "table"
    JSON = "json"
    CSV = "csv"


def sparql(
    query: Annotated[
        str,
        typer.Argument(metavar="FILE|-", help="A file with the query, or - for standard input."),
    ],
    result_format: Annotated[
        ResultFormat, typer.Option("--format", help="How the result is written.")
    ] = ResultFormat.TABLE,
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT", help="Write the result to this file."),
    ] = None,
    excerpt: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Add a score, or an excerpt as triples, to the graph."),
    ] = None,
    extensions: Extensions = None,
    time_limit: Annotated[
        float,
        typer.Option(min=0.1, max=3600, metavar="SECONDS", help="Give up after so long."),
    ] = 30.0,
) -> None:
    """Run a SELECT, ASK, CONSTRUCT or DESCRIBE query over the graph; nothing is changed or fetched.

    The prefixes oq, rdf, rdfs, owl, skos, sh, dcterms and xsd are known.
    """
    inputs = [*map(Path, extensions or ()), *([excerpt] if excerpt else ())]
    check_out(out, inputs if query == "-" else [Path(query), *inputs])
    job = Job(
        query=_read_query(query),
        extensions=tuple(extensions or ()),
        excerpt=str(excerpt) if excerpt else None,
        form=result_format.value,
    )
    result = _in_process(job, time_limit)
    if result_format is ResultFormat.TABLE and result.kind == "solutions":
        deliver(solutions_table(result.text, **look(out)), out)
    elif result_format is ResultFormat.TABLE and result.kind == "truth":
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
    with path.open("rb") as stream:
        return stream.read(LONGEST_QUERY + 1)


def _in_process(job: Job, seconds: float) -> Result:
    """Run the query where it can be ended: another process, killed when its time is over."""
    context = multiprocessing.get_context("spawn")
    receiver, sender = context.Pipe(duplex=False)
    worker = context.Process(target=run_job, args=(job, sender), daemon=True)
    worker.start()
    sender.close()
    try:
        if not receiver.poll(seconds):
            raise OrchqError(f"the query has not ended after {seconds:g} seconds and was stopped")
        result: Result | str = receiver.recv()
    except EOFError:
        raise OrchqError("the query was stopped: it is too deep or needs too much memory") from None
    finally:
        worker.kill()
        worker.join()
        receiver.close()
    if isinstance(result, str):
        raise OrchqError(result)
    return result
