"""Writing files atomically: whole or not at all."""

import os
import secrets
import shutil
from collections.abc import Callable
from pathlib import Path

from orchq.errors import OrchqError


def write_whole(path: Path, write: Callable[[Path], object]) -> None:
    """Let ``write`` make a draft, and move it to the target once it is complete.

    A link is followed, and an existing file keeps its mode; a pipe or a device is written to
    directly. Raises ``OrchqError`` when the file cannot be written.
    """
    target = path.resolve()
    # Beside the target: a rename is atomic only within one file system.
    draft = target.with_name(f".{target.name[:100]}.{secrets.token_hex(8)}")
    try:
        if target.exists() and not target.is_file():
            write(target)
            return
        write(draft)
        with draft.open("rb") as stream:
            os.fsync(stream.fileno())
        if target.exists():
            shutil.copymode(target, draft)
        draft.replace(target)
    except OSError as error:
        raise OrchqError(f"{path}: cannot be written: {error.strerror or error}") from error
    finally:
        draft.unlink(missing_ok=True)
