"""Where in a Turtle file a statement stands."""

import re
from pathlib import Path

_PREFIX = re.compile(r"(?:@prefix|PREFIX)\s+([\w.-]*):\s*<([^>]*)>", re.IGNORECASE)
_BLOCK_END = re.compile(r"^[^#]*\.\s*(?:#.*)?$")


def _word(value: str) -> re.Pattern[str]:
    return re.compile(rf"(?<![\w-]){re.escape(value)}(?![\w-])")


class Lines:
    """Finds lines by the names that Turtle writes; reads the text alone, so it may miss one."""

    def __init__(self, path: Path) -> None:
        text = path.read_text(encoding="utf-8", errors="replace")
        self._lines = text.splitlines()
        self._prefixes = dict(_PREFIX.findall(text))

    def of_name(self, iri: str) -> int | None:
        """The first line that writes a name at all."""
        return self._first(self._pattern(iri), 0, len(self._lines))

    def of_subject(self, iri: str) -> int | None:
        """The line where the description of a name begins."""
        pattern = re.compile(rf"\s*{self._pattern(iri).pattern}\s+(?:[\w.-]*:[\w-]+|<|a\b|$)")
        return next((n for n, line in enumerate(self._lines, 1) if pattern.match(line)), None)

    def of_value(self, subject: str, predicate: str | None, value: str | None) -> int | None:
        """The line of a property with its value, else of either, else of the subject."""
        start = self.of_subject(subject)
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

    def _first(self, pattern: re.Pattern[str], start: int, end: int) -> int | None:
        for number in range(start, end):
            line = self._lines[number]
            if not _PREFIX.search(line) and pattern.search(line):
                return number + 1
        return None

    def _pattern(self, iri: str) -> re.Pattern[str]:
        ways = [re.escape(f"<{iri}>")]
        for prefix, base in self._prefixes.items():
            if base and iri.startswith(base):
                local = re.escape(iri[len(base) :])
                ways.append(rf"(?<![\w-]){re.escape(prefix)}:{local}(?![\w-])")
        return re.compile(f"(?:{'|'.join(ways)})")
