"""Accepted places written into a settings file and taken out of it; all else in it stays."""

import glob
import json
import re
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path

from orchq.errors import OrchqError
from orchq.files import write_whole
from orchq.inputs import read_whole, without_controls
from orchq.settings.project_settings import AcceptedPlace
from orchq.settings.settings_file import LARGEST, PROJECT_FILE, settings_from

_HEADS = re.compile(r"\s*\[")


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


def withdraw_places(path: Path, withdrawn: Callable[[AcceptedPlace], bool]) -> int:
    """Take accepted places out of a settings file, and return how many.

    Comments and all other settings stay. Raises ``OrchqError`` when the file cannot be read or
    written, or lists accepted places in another way than in tables of their own.
    """
    text = read_whole(path, LARGEST, "settings").decode("utf-8-sig") if path.exists() else ""
    before = _accepted(text, path)
    going = [number for number, place in enumerate(before) if withdrawn(place)]
    written = _without_tables(text, _head(path), going)
    kept = [place for number, place in enumerate(before) if number not in going]
    if list(_accepted(written, path)) != kept or _others(written, path) != _others(text, path):
        raise OrchqError(f"{path}: accepted places are not in tables of their own; edit it by hand")
    if going:
        write_whole(path, lambda draft: draft.write_text(written, encoding="utf-8", newline="\n"))
    return len(going)


def _without_tables(text: str, head: str, going: Sequence[int]) -> str:
    """The text without the tables with this head and these numbers, up to their last value."""
    kept: list[str] = []
    table = -1
    dropping = False
    for line in text.splitlines(keepends=True):
        if _HEADS.match(line):
            table += re.sub(r"\s", "", line.partition("#")[0]) == head
            dropping = table in going and re.sub(r"\s", "", line.partition("#")[0]) == head
        if not dropping or line.lstrip().startswith("#"):
            kept.append(line)
    return "".join(kept)


def _others(text: str, path: Path) -> object:
    """All settings but the accepted places."""
    try:
        document = tomllib.loads(text)
    except ValueError:
        return None
    within = document
    if path.name == PROJECT_FILE:
        within = document.get("tool", {}).get("orchq", {})
    within.pop("accepted", None)
    return document


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
    lines = (f"{key} = {_value(value)}\n" for key, value in values.items() if value is not None)
    return f"{_head(path)}\n{''.join(lines)}"


def _head(path: Path) -> str:
    return "[[tool.orchq.accepted]]" if path.name == PROJECT_FILE else "[[accepted]]"


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
