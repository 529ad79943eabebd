"""Accepted places written into a settings file: at its end, so that all else in it stays."""

import glob
import json
import tomllib
from collections.abc import Sequence
from pathlib import Path

from orchq.errors import OrchqError
from orchq.files import write_whole
from orchq.inputs import read_whole, without_controls
from orchq.settings.project_settings import AcceptedPlace
from orchq.settings.settings_file import LARGEST, PROJECT_FILE, settings_from


def accept_places(path: Path, places: Sequence[AcceptedPlace]) -> None:
    """Add accepted places to a settings file, which is made when there is none.

    Raises ``OrchqError`` when the file cannot be read or written, or lists accepted places in a
    way that cannot be added to at its end; nothing is written then.
    """
    text = read_whole(path, LARGEST, "settings").decode("utf-8-sig") if path.exists() else ""
    gap = "" if not text else "\n" if text.endswith("\n") else "\n\n"
    added = "\n".join(_table(place, path) for place in places)
    written = text + gap + added
    before, after = _accepted(text, path), _accepted(written, path)
    if len(after) != len(before) + len(places):
        raise OrchqError(
            f"{path}: has no room for accepted places at its end; add by hand:\n{added}"
        )
    write_whole(path, lambda draft: draft.write_text(written, encoding="utf-8", newline="\n"))


def file_pattern(name: str) -> str:
    """The pattern of the settings for files of this name.

    >>> file_pattern("quartet [new].mxl")
    'quartet [[]new].mxl'
    """
    return glob.escape(name)


def _table(place: AcceptedPlace, path: Path) -> str:
    values = {
        "rule": place.rule,
        "part": place.part,
        "measure": place.measure,
        "beat": place.beat,
        "file": place.file,
        "reason": place.reason,
    }
    head = "[[tool.orchq.accepted]]" if path.name == PROJECT_FILE else "[[accepted]]"
    lines = (f"{key} = {_value(value)}\n" for key, value in values.items() if value is not None)
    return f"{head}\n{''.join(lines)}"


def _value(value: str | float) -> str:
    if isinstance(value, float):
        return f"{round(value, 3):g}"
    return json.dumps(without_controls(value), ensure_ascii=False)


def _accepted(text: str, path: Path) -> Sequence[AcceptedPlace]:
    try:
        document = tomllib.loads(text)
    except ValueError:
        return ()
    if path.name == PROJECT_FILE:
        document = document.get("tool", {}).get("orchq", {})
    return settings_from(document, path).accepted
