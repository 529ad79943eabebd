"""``orchq reference``: pages about the graph, its rules, words and limits."""

from pathlib import Path
from typing import Annotated

import typer

from orchq.cli.options import Extensions
from orchq.cli.output import deliver, refuse_foreign
from orchq.cli.streams import complain
from orchq.errors import OrchqError
from orchq.report.reference import reference_pages
from orchq.report.reference.published import published_files


def reference(
    out: Annotated[
        Path,
        typer.Option("-o", "--out", metavar="DIR", help="Write the pages into this folder."),
    ],
    data: Annotated[
        bool, typer.Option("--data", help="Write the graph in four formats of RDF beside them.")
    ] = False,
    extensions: Extensions = None,
) -> None:
    """Write pages on every term, rule, printed word and limit of the graph; start at index.html."""
    if not out.parent.is_dir():
        raise OrchqError(f"{out}: the folder around it does not exist")
    if out.exists() and not out.is_dir():
        raise OrchqError(f"{out}: is a file; the pages need a folder")
    pages = {**reference_pages(extensions or ())}
    files = dict(published_files()) if data else {}
    for name in pages:
        refuse_foreign(out / name)
    try:
        out.mkdir(exist_ok=True)
    except OSError as error:
        raise OrchqError(f"{out}: cannot make the folder: {error.strerror}") from error
    for name, text in (pages | files).items():
        deliver(text, out / name, named=False)
    complain(f"wrote {out}: {len(pages) + len(files)} pages")
