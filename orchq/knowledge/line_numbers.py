"""Line numbers of the names and statements in a file of triples.

A parser of triples keeps no lines, so this looks at how people and formatters write: a subject
begins a line and its predicate follows. Files laid out otherwise get less exact line numbers.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from pathlib import Path

from orchq.inputs import content_name, read_whole
from orchq.knowledge.store import LARGEST
from orchq.terms import OQ, PREFIXES

_PREFIX = re.compile(
    r"^\s*(?:@prefix|PREFIX)\s+([\w.-]*):\s*<([^<>]*)>|\bxmlns:([\w.-]+)\s*=\s*[\"']([^\"']*)[\"']",
    re.MULTILINE,
)
_SUBJECT = re.compile(r"(?:<([^<>]+)>|([\w.-]*):([\w.-]+))(?:\s+[^\s.,;]|\s*$)")
_BLOCK_END = re.compile(r"^[^#]*\.\s*(?:#.*)?$")
_TOKEN = re.compile(
    r"<([^<>\"\s]+)>"  # an IRI, or a tag of XML
    r"|\"((?:[^\"\\]|\\.)*)\""
    r"|([\w-]*(?:\.[\w-]+)*:[\w-]+(?:\.[\w-]+)*)"
    r"|([+-]?\w+(?:\.\w+)*)"
)


class Lines:
    """Finds lines, counted from 1, by the names and values that a file writes."""

    def __init__(self, path: Path) -> None:
        data = read_whole(path, LARGEST, "triples")
        text = data.decode("utf-8", "replace")
        self._lines = text.splitlines()
        self._base = content_name(data)
        self._bare = OQ if text.lstrip().startswith("{") else None
        found = _PREFIX.findall(text)
        self._prefixes = PREFIXES | {name or other: iri or its for name, iri, other, its in found}

    @cached_property
    def subjects(self) -> Mapping[str, int]:
        """Where the first description of each subject begins, by its IRI."""
        return {iri: starts[0] for iri, starts in self._starts.items()}

    def of_name(self, iri: str) -> int | None:
        """The first line that writes a name at all."""
        return self.of_names([iri])

    def of_names(self, names: Iterable[str]) -> int | None:
        """The first line that writes all these names or values."""
        return min(self._with(names), default=None)

    def of_value(self, subject: str, predicate: str | None, value: str | None) -> int | None:
        """The line of a property with its value, else of either, else of the subject."""
        blocks = [range(start, self._end(start) + 1) for start in self._starts.get(subject, ())]
        wanted = [name for name in (predicate, value) if name]
        for names in (wanted, *([name] for name in wanted)):
            lines = sorted(self._with(names))
            for line in lines:
                if any(line in block for block in blocks):
                    return line
            if (line_of_all := self.of_names([subject, *names])) is not None:
                return line_of_all
        return self.subjects.get(subject) or self.of_name(subject)

    def _with(self, names: Iterable[str]) -> set[int]:
        found = [self._index.get(name, ()) for name in names]
        return set(found[0]).intersection(*found[1:]) if found else set()

    def _end(self, start: int) -> int:
        """The line where the description that begins in a line ends."""
        lines = range(start, len(self._lines) + 1)
        return next((n for n in lines if _BLOCK_END.search(self._lines[n - 1])), len(self._lines))

    @cached_property
    def _starts(self) -> Mapping[str, Sequence[int]]:
        found: dict[str, list[int]] = defaultdict(list)
        for number, line in enumerate(self._lines, 1):
            if match := _SUBJECT.match(line):
                iri, prefix, name = match.groups()
                found[iri or self._prefixes.get(prefix, "") + name].append(number)
        return found

    @cached_property
    def _index(self) -> Mapping[str, Sequence[int]]:
        """The lines in which each name and value is written, names as IRIs."""
        found: dict[str, list[int]] = defaultdict(list)
        for number, line in enumerate(self._lines, 1):
            if line.startswith("#") or _PREFIX.search(line):
                continue
            for iri, text, name, word in _TOKEN.findall(line):
                for written in {iri, text, name, word} - {""}:
                    prefix, colon, local = written.partition(":")
                    base = self._prefixes.get(prefix.removeprefix("/")) if colon else None
                    found[base + local if base is not None else written].append(number)
                if iri.startswith("#"):
                    found[self._base + iri].append(number)
                if text and self._bare:
                    found[self._bare + text].append(number)
        return found
