"""Where reports go: the terminal, a pipe, or a file that is written whole or not at all."""

import os
import shutil
import sys
from collections.abc import Sequence
from pathlib import Path

from orchq.cli.streams import complain, say
from orchq.errors import OrchqError
from orchq.files import write_whole
from orchq.inputs import opened
from orchq.report.text_page import Look

_HEAD = 4096  # bytes in which a page names its generator
_OURS = b'<meta name="generator" content="orchq '


def look(out: Path | None, plain_width: int = 100) -> Look:
    """Return the style for a file (``out``) or for standard output as it is now."""
    if out is not None:
        return Look(width=plain_width, colour=False, unicode=True)
    terminal = sys.stdout.isatty()
    return Look(
        width=shutil.get_terminal_size().columns if terminal else plain_width,
        colour=terminal and "NO_COLOR" not in os.environ and os.environ.get("TERM") != "dumb",
        unicode=(sys.stdout.encoding or "").lower().replace("-", "") == "utf8",
    )


def check_out(out: Path | None, inputs: Sequence[Path]) -> None:
    """Refuse an output file that cannot be written or that is one of the inputs.

    Called before any work is done. Raises ``OrchqError``.
    """
    if out is None:
        return
    if out.is_dir():
        raise OrchqError(f"{out}: is a folder; the output must be a file")
    if not out.parent.is_dir():
        raise OrchqError(f"{out}: the folder for the output does not exist")
    if not out.exists():
        return
    for path in inputs:
        if path.exists() and (path.samefile(out) or _would_be_read(out, path)):
            raise OrchqError(f"{out}: the output would overwrite the input")


def refuse_foreign(page: Path) -> None:
    """Refuse to write a page through a link, or over a file that orchq did not write.

    Called before any work is done. Raises ``OrchqError``.
    """
    if page.is_symlink():
        raise OrchqError(f"{page}: is a link, and pages are not written through links")
    if page.exists():
        with opened(page) as stream:
            begins = stream.read(_HEAD)
        if _OURS not in begins:
            raise OrchqError(f"{page}: is not a page written by orchq, and is not overwritten")


def _would_be_read(out: Path, folder: Path) -> bool:
    """Whether a file lies in the folder of a loaded extension."""
    return folder.is_dir() and out.resolve().is_relative_to(folder.resolve())


def deliver(text: str, out: Path | None, *, named: bool = True) -> None:
    """Write to standard output, or to a file whole or not at all, which is then named on stderr.

    ``named`` is false where one line names several files. Raises ``OrchqError`` when it cannot be
    written.
    """
    if out is None:
        say(text)
        return
    write_whole(out, lambda draft: draft.write_text(text, encoding="utf-8", newline="\n"))
    if named:
        complain(f"wrote {out}")


def deliver_bytes(data: bytes, out: Path) -> None:
    """Write a score, whose encoding is its own, to a file whole or not at all.

    Raises ``OrchqError`` when it cannot be written.
    """
    write_whole(out, lambda draft: draft.write_bytes(data))
    complain(f"wrote {out}")
