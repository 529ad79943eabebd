"""Options that several commands share."""

from typing import Annotated

import typer

Extensions = Annotated[
    list[str] | None,
    typer.Option(
        "--with",
        metavar="EXT",
        help="Add a folder or file of your own, or a shipped extension by name; repeatable.",
    ),
]

Level = Annotated[
    str | None,
    typer.Option(metavar="LEVEL", help="Who plays: student, orchestral or soloist."),
]

Trust = Annotated[
    str | None,
    typer.Option(
        metavar="SOURCE", help="Follow this authority of the graph where sources disagree."
    ),
]
