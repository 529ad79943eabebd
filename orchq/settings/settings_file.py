"""Settings read from ``orchq.toml``, or from the table ``[tool.orchq]`` of ``pyproject.toml``."""

import os
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path, PurePath
from typing import Any, TypeVar

from orchq.errors import OrchqError, ReadError, known
from orchq.inputs import read_whole
from orchq.knowledge.data_files import shipped_extensions
from orchq.knowledge.extensions import QUESTION_SUFFIX
from orchq.knowledge.store import TRIPLE_SUFFIXES
from orchq.settings.project_settings import AcceptedPlace, Settings
from orchq.severity import SEVERITIES, THRESHOLDS, Severity, Threshold

LARGEST = 1_000_000
"""Largest settings file that is read, in bytes."""

LAST_BEAT = 100_000
"""The last beat of the longest measure that readers take, in quarter notes."""

MOST_PLAYERS = 1000
"""Most players of a part."""

N = TypeVar("N", bound=str)

OWN_FILE, PROJECT_FILE = "orchq.toml", "pyproject.toml"
"""The names of settings files."""

KEYS = (
    *("level", "trust", "fail-on", "extensions"),
    *("rules", "severities", "players", "accepted"),
)
_RULE_KEYS = ("run", "leave-out")
_PLACE_KEYS = ("rule", "part", "measure", "beat", "file", "reason")


def settings_of(folder: Path) -> Settings | None:
    """Return the settings of a folder from the nearest file in or above it, or ``None``.

    The search ends at the root of the repository; outside a repository only the folder itself
    is searched, so that no stray file takes effect. ``orchq.toml`` takes precedence over
    ``pyproject.toml``, which counts only when it has a table ``[tool.orchq]``.
    """
    for place in _places(folder.absolute()):
        own, project = place / OWN_FILE, place / PROJECT_FILE
        if own.is_file():
            return read_settings(own)
        if project.is_file() and _table(project) is not None:
            return read_settings(project)
    return None


def read_settings(path: Path) -> Settings:
    """Read a settings file; names of rules, levels and sources are not looked up yet.

    Raises ``OrchqError`` naming the file and the key, and the nearest key or value.
    """
    table = _table(path)
    if table is None:
        raise ReadError(f"{path}: has no table [tool.orchq]")
    return settings_from(table, path)


def settings_from(table: Mapping[str, Any], path: Path) -> Settings:
    """The settings in a table that was read from a file; raises as ``read_settings``."""
    return _Reader(path).settings(table)


def _places(folder: Path) -> Iterator[Path]:
    folders = (folder, *folder.parents)
    root = next((each for each in folders if (each / ".git").exists()), folder)
    for each in folders[: folders.index(root) + 1]:
        yield Path(os.path.relpath(each))  # relative to the working directory, for messages


def _table(path: Path) -> dict[str, Any] | None:
    """The settings in a file, ``None`` for a project file that has none."""
    data = read_whole(path, LARGEST, "settings")
    is_project = path.name == PROJECT_FILE
    if is_project and b"orchq" not in data:
        return None
    import tomllib  # noqa: PLC0415 - most checks find no settings

    try:
        document = tomllib.loads(data.decode("utf-8-sig"))
    except RecursionError:
        raise ReadError(f"{path}: is nested too deeply") from None
    except ValueError as error:
        raise ReadError(f"{path}: is not TOML: {error}") from error
    if not is_project:
        return document
    tool = document.get("tool")
    if not isinstance(tool, dict) or "orchq" not in tool:
        return None
    if not isinstance(tool["orchq"], dict):
        raise ReadError(f"{path}: tool.orchq is not a table")
    table: dict[str, Any] = tool["orchq"]
    return table


class _Reader:
    """Converts the values of one file to settings, or raises an error on the invalid one."""

    def __init__(self, path: Path) -> None:
        self._folder = path.parent
        self._shown = str(path)

    def settings(self, table: Mapping[str, Any]) -> Settings:
        self._check_keys("", table, KEYS)
        rules = self._table("rules", table.get("rules", {}))
        self._check_keys("rules.", rules, _RULE_KEYS)
        severities = {
            slug: self._severity(f"severities.{slug}", value)
            for slug, value in self._table("severities", table.get("severities", {})).items()
        }
        off = tuple(slug for slug, value in severities.items() if value is None)
        return Settings(
            path=self._shown,
            level=self._text("level", table),
            trust=self._text("trust", table),
            fail_on=self._fail_on(table),
            extensions=tuple(map(self._extension, self._texts("extensions", table) or ())),
            run=self._texts("run", rules, "rules."),
            leave_out=(*(self._texts("leave-out", rules, "rules.") or ()), *off),
            severities={slug: value for slug, value in severities.items() if value is not None},
            players={
                part: self._players(f"players.{part}", value)
                for part, value in self._table("players", table.get("players", {})).items()
            },
            accepted=tuple(self._accepted(table.get("accepted", []))),
        )

    def _accepted(self, places: object) -> Iterator[AcceptedPlace]:
        if not isinstance(places, list):
            raise self._error("accepted", "must be written as [[accepted]], once for each place")
        for number, place in enumerate(places, start=1):
            yield self._place(f"accepted {number}", place)

    def _place(self, key: str, value: object) -> AcceptedPlace:
        place = self._table(key, value)
        within = f"{key}: "
        self._check_keys(within, place, _PLACE_KEYS)
        for name in ("rule", "part", "measure", "reason"):
            if name not in place:
                raise self._error(key, f"has no {name}")
        measure = place["measure"]
        if isinstance(measure, int) and not isinstance(measure, bool):
            measure = str(measure)
        if not isinstance(measure, str):
            raise self._error(f"{within}measure", "must be the printed number of a measure")
        return AcceptedPlace(
            rule=self._text("rule", place, within) or "",
            part=self._text("part", place, within) or "",
            measure=measure.strip(),
            reason=self._text("reason", place, within) or "",
            beat=self._beat(within, place),
            file=self._file(within, place),
        )

    def _beat(self, within: str, place: Mapping[str, Any]) -> float | None:
        beat = place.get("beat")
        if "beat" not in place:
            return None
        is_number = isinstance(beat, int | float) and not isinstance(beat, bool)
        if beat is None or not is_number or not 1 <= beat <= LAST_BEAT:
            raise self._error(f"{within}beat", "must be a number of quarter notes from 1")
        return float(beat)

    def _file(self, within: str, place: Mapping[str, Any]) -> str | None:
        pattern = self._text("file", place, within)
        if pattern is not None:
            try:
                PurePath("score").match(pattern)
            except ValueError:
                raise self._error(f"{within}file", f"{pattern!r} is not a valid pattern") from None
        return pattern

    def _extension(self, name: str) -> Path:
        if name in shipped_extensions():
            return Path(name)
        path = self._folder / name
        if path.is_dir():
            return path
        endings = (*sorted(TRIPLE_SUFFIXES), QUESTION_SUFFIX)
        if path.suffix.lower() not in endings:
            message = f"{name!r} is not a folder and does not end in one of {', '.join(endings)}"
            raise self._error("extensions", message)
        if not path.is_file():
            raise self._error("extensions", f"there is no file {name!r}")
        return path

    def _players(self, key: str, value: object) -> int:
        if value == "solo":
            return 1
        if isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= MOST_PLAYERS:
            return value
        raise self._error(key, f'must be a number from 1 to {MOST_PLAYERS}, or "solo"')

    def _fail_on(self, table: Mapping[str, Any]) -> Threshold | None:
        if "fail-on" not in table:
            return None
        return self._one_of("fail-on", "severity", table["fail-on"], THRESHOLDS)

    def _severity(self, key: str, value: object) -> Severity | None:
        """The severity, ``None`` for ``off``."""
        name = self._one_of(key, "severity", value, (*SEVERITIES, "off"))
        return next((severity for severity in SEVERITIES if severity == name), None)

    def _one_of(self, key: str, kind: str, value: object, names: Iterable[N]) -> N:
        if not isinstance(value, str):
            raise self._error(key, f"must be one of {', '.join(names)}")
        try:
            return known(kind, value, names)
        except OrchqError as error:
            raise self._error(key, error) from None

    def _text(self, key: str, table: Mapping[str, Any], within: str = "") -> str | None:
        value = table.get(key)
        if key in table and not (isinstance(value, str) and value.strip()):
            raise self._error(within + key, "must be a string")
        return value

    def _texts(
        self, key: str, table: Mapping[str, Any], within: str = ""
    ) -> tuple[str, ...] | None:
        value = table.get(key)
        if key not in table:
            return None
        if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
            raise self._error(within + key, "must be a list of strings")
        return tuple(value)

    def _table(self, key: str, value: object) -> dict[str, Any]:
        if not isinstance(value, dict):
            raise self._error(key, "must be a table")
        return value

    def _check_keys(self, within: str, table: Mapping[str, Any], keys: Iterable[str]) -> None:
        for key in table:
            try:
                known("setting", key, keys)
            except OrchqError as error:
                raise OrchqError(f"{self._shown}: {within}{error}") from None

    def _error(self, key: str, sentence: object) -> OrchqError:
        return OrchqError(f"{self._shown}: {key}: {sentence}")
