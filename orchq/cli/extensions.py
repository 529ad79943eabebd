"""The option that most commands share."""

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
