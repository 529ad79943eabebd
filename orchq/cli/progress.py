"""A progress bar on stderr for slow work."""

import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from orchq.report.wording import one_line

_LONG = 1_000_000
"""Size in bytes from which a file shows progress; a tenth of it for compressed files."""


def with_progress(files: Sequence[Path]) -> Iterator[Path]:
    """Yield the files and meanwhile show progress.

    Nothing is shown for one small file, or when stderr is not a terminal.
    """
    if not sys.stderr.isatty() or not (len(files) > 1 or any(map(_is_long, files))):
        yield from files
        return
    yield from _with_bar(files)


def with_count(found: Iterator[str], total: int, done: int = 0) -> Iterator[str]:
    """Yield what comes and meanwhile show how much of the total has come.

    Nothing is shown when stderr is not a terminal.
    """
    if not sys.stderr.isatty():
        yield from found
        return
    # Imported only here, as below.
    from rich.console import Console  # noqa: PLC0415
    from rich.progress import (  # noqa: PLC0415
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TimeRemainingColumn,
    )

    columns = (MofNCompleteColumn(), BarColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("", total=total, completed=done)
        for each in found:
            yield each
            progress.advance(task)


def _with_bar(files: Sequence[Path]) -> Iterator[Path]:
    # Imported only here: few runs show a bar, and all should start quickly.
    from rich.console import Console  # noqa: PLC0415
    from rich.progress import (  # noqa: PLC0415
        BarColumn,
        Progress,
        TextColumn,
        TimeElapsedColumn,
    )

    console = Console(stderr=True, markup=False, highlight=False, emoji=False)
    columns = (TextColumn("{task.description}", markup=False), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=console, transient=True) as progress:
        task = progress.add_task("", total=len(files) if len(files) > 1 else None)
        for file in files:
            progress.update(task, description=one_line(file.name, 40))
            yield file
            progress.advance(task)


def _is_long(file: Path) -> bool:
    try:
        size = file.stat().st_size
    except OSError:
        return False
    return size > (_LONG // 10 if file.suffix.lower() == ".mxl" else _LONG)
