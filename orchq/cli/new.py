"""``orchq new``: the skeleton of an extension of the ontology."""

from pathlib import Path
from typing import Annotated

import typer

from orchq.cli.output import check_out, deliver
from orchq.errors import OrchqError
from orchq.lint import skeleton

new = typer.Typer(help="Start an extension.", rich_markup_mode=None, add_completion=False)


@new.callback()
def _new() -> None:
    """Start an extension."""


@new.command(short_help="Write the skeleton of an instrument.")
def instrument(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Its English name.")],
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="OUT.ttl", help="Write to this new file."),
    ] = None,
) -> None:
    """Write Turtle with the questions to answer about an instrument."""
    check_out(out, [])
    if out is not None and out.exists():
        raise OrchqError(f"{out}: already exists and is not overwritten")
    deliver(skeleton(name), out)
