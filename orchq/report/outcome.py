"""What a check of several files came to: reports, and inputs that could not be read."""

from dataclasses import dataclass
from pathlib import Path

from orchq.rules.catalogue import RuleInfo
from orchq.rules.finding import FileReport
from orchq.severity import Severity


@dataclass(frozen=True, slots=True)
class Unread:
    """An input that could not be read; ``line`` is where in it, counted from 1, if known."""

    file: str
    reason: str
    line: int | None = None

    @classmethod
    def told(cls, file: str, sentence: str) -> "Unread":
        """Take apart a sentence for the user that begins with the file, and perhaps the line.

        >>> Unread.told("a.ttl", "a.ttl:7: not Turtle")
        Unread(file='a.ttl', reason='not Turtle', line=7)
        """
        reason = sentence.removeprefix(file)
        line, _, rest = reason.removeprefix(":").partition(": ")
        if line.isdecimal() and rest:
            return cls(file, rest, int(line))
        return cls(file, reason.removeprefix(":").strip())


@dataclass(frozen=True, slots=True)
class Outcome:
    """All that a check has to tell.

    ``rules`` are those that were run; a finding makes the check fail when its severity is one
    of ``failing``.
    """

    reports: tuple[FileReport, ...]
    unread: tuple[Unread, ...] = ()
    rules: tuple[RuleInfo, ...] = ()
    failing: frozenset[Severity] = frozenset({"violation"})

    @property
    def fails(self) -> bool:
        """Whether a finding stands that makes the check fail."""
        return any(
            finding.severity in self.failing
            for report in self.reports
            for finding in report.findings
        )


def seen_from_here(file: str) -> Path:
    """The path of a file from the current folder, where a CI server looks for it too.

    A file elsewhere keeps its absolute path.
    """
    path, here = Path(file).absolute(), Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path
