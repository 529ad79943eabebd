"""``orchq open``: a page on this machine."""

import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from orchq.cli.output import deliver
from orchq.errors import OrchqError
from orchq.lazily import lazily
from orchq.report.engraved import check_installed
from orchq.settings import OWN_FILE, read_settings, settings_of

if TYPE_CHECKING:
    from orchq.app import desk, serving
else:
    desk, serving = lazily("orchq.app", "desk", "serving")


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
    _check_installed()
    given = files or []
    folder = next((each for each in given if each.is_dir()), Path())
    scores = [each for each in given if not each.is_dir()]
    for score in scores:
        if not score.is_file():
            raise OrchqError(f"{score}: there is no such file")

    def ready(address: str) -> None:
        deliver(f"orchq is open at {address}\nCtrl-C, or End on the page, ends it.\n", None)
        if browser:
            webbrowser.open(address)

    serving.serve(
        desk.Desk(_settings(settings_file), settings_file or Path(OWN_FILE)),
        scores,
        folder,
        port=port,
        ready=ready,
    )


def _settings(file: Path | None) -> Callable[[], Path | None]:
    """What finds the settings file in force whenever it is needed."""

    def found() -> Path | None:
        if file is not None:
            return file if file.exists() else None
        settings = settings_of(Path())
        return None if settings is None else Path(settings.path)

    if file is not None and file.exists():
        read_settings(file)  # reports at once what is wrong with it
    return found


def _check_installed() -> None:
    check_installed()
    try:
        import starlette  # noqa: F401, PLC0415 - optional
        import uvicorn  # noqa: F401, PLC0415 - optional
    except ImportError as error:
        raise OrchqError(
            "the page needs Starlette and uvicorn: pip install 'orchq[app]'"
        ) from error
