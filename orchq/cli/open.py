"""``orchq open``: a page on this machine."""

import webbrowser
from pathlib import Path
from threading import Thread
from typing import Annotated

import typer

from orchq.app.opening import open_pages
from orchq.cli.output import deliver
from orchq.errors import OrchqError


def open(  # noqa: A001 - the command's name
    files: Annotated[
        list[Path] | None,
        typer.Argument(metavar="[FILE]...", help="Scores to begin with, or a folder of them."),
    ] = None,
    port: Annotated[int, typer.Option(help="The port to use; any free one by default.")] = 0,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the page in the default browser.")
    ] = True,
    settings_file: Annotated[
        Path | None,
        typer.Option(
            "--settings", metavar="FILE", help="Read and write the project settings in this file."
        ),
    ] = None,
) -> None:
    """Open a page on this machine: drop a score, read the report, ask, look up."""
    given = files or []
    folder = next((each for each in given if each.is_dir()), Path())
    scores = [each for each in given if not each.is_dir()]
    for score in scores:
        if not score.is_file():
            raise OrchqError(f"{score}: there is no such file")

    def ready(address: str) -> None:
        deliver(f"orchq is open at {address}\nCtrl-C, or End on the page, ends it.\n", None)
        if browser:  # some take seconds until they answer, and the server must not wait
            Thread(target=webbrowser.open, args=(address,), daemon=True).start()

    open_pages(scores, folder, settings_file, port=port, ready=ready)
