"""Options that several commands share."""

from pathlib import Path
from typing import Annotated, Literal

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

Rules = Annotated[
    str | None,
    typer.Option(metavar="NAME,...", help="Run only these rules (see orchq rules)."),
]

Trust = Annotated[
    str | None,
    typer.Option(
        metavar="SOURCE", help="Follow this authority of the graph where sources disagree."
    ),
]

Out = Annotated[
    Path | None,
    typer.Option("-o", "--out", metavar="OUT", help="Write the result to this file."),
]

AsJson = Annotated[bool, typer.Option("--json", help="Write JSON: the same as --format json.")]

TextOrJson = Annotated[
    Literal["text", "json"], typer.Option("--format", help="Format of the result.")
]
