"""Line numbers of the names and statements in a file of triples.

A parser of triples keeps no lines, so this looks at how people and formatters write: a subject
begins a line and its predicate follows. Files laid out otherwise get fewer line numbers.
"""

import re
from collections.abc import Iterable, Mapping
from functools import cached_property
from pathlib import Path

from orchq.inputs import read_whole
from orchq.knowledge.store import LARGEST
from orchq.terms import PREFIXES

_PREFIX = re.compile(r"^\s*(?:@prefix|PREFIX)\s+([\w.-]*):\s*<([^<>]*)>", re.MULTILINE)
_SUBJECT = re.compile(r"(?:<([^<>]+)>|([\w.-]*):([\w.-]+))(?:\s+[^\s.,;]|\s*$)")
_BLOCK_END = re.compile(r"^[^#]*\.\s*(?:#.*)?$")


class Lines:
    """Finds lines, counted from 1, by the names that a file writes."""

    def __init__(self, path: Path) -> None:
        text = read_whole(path, LARGEST, "triples").decode("utf-8", "replace")
        self._lines = text.splitlines()
        self._prefixes = PREFIXES | dict(_PREFIX.findall(text))

    @cached_property
    def subjects(self) -> Mapping[str, int]:
        """Where the description of each subject begins, by its IRI."""
        found: dict[str, int] = {}
        for number, line in enumerate(self._lines, 1):
            if match := _SUBJECT.match(line):
                iri, prefix, name = match.groups()
                found.setdefault(iri or self._prefixes.get(prefix, "") + name, number)
        return found

    def of_name(self, iri: str) -> int | None:
        """The first line that writes a name at all."""
        return self.of_names([iri])

    def of_names(self, iris: Iterable[str]) -> int | None:
        """The first line that writes all these names."""
        patterns = [self._pattern(iri) for iri in iris]
        for number, line in enumerate(self._lines, 1):
            if not _PREFIX.search(line) and all(each.search(line) for each in patterns):
                return number
        return None

    def of_value(self, subject: str, predicate: str | None, value: str | None) -> int | None:
        """The line of a property with its value, else of either, else of the subject."""
        start = self.subjects.get(subject)
        if start is None:
            return None
        end = next(
            (n for n in range(start, len(self._lines)) if _BLOCK_END.search(self._lines[n - 1])),
            len(self._lines),
        )
        wanted = []
        if predicate:
            wanted.append(self._pattern(predicate))
        if value:
            wanted.append(self._pattern(value) if ":" in value else _word(value))
        lines = range(start, end + 1)
        for patterns in (wanted, *([each] for each in wanted)):
            for number in lines:
                if patterns and all(p.search(self._lines[number - 1]) for p in patterns):
                    return number
        return start

    def _pattern(self, iri: str) -> re.Pattern[str]:
        ways = [rf"[<\"]{re.escape(iri)}[>\"]"]
        for prefix, base in self._prefixes.items():
            if base and iri.startswith(base):
                local = re.escape(iri[len(base) :])
                ways.append(rf"(?<![\w-]){re.escape(prefix)}:{local}(?![\w-])")
        return re.compile(f"(?:{'|'.join(ways)})")


def _word(value: str) -> re.Pattern[str]:
    return re.compile(rf"(?<![\w-]){re.escape(value)}(?![\w-])")
