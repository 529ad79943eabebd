"""The outcome of a check of several files: reports, and inputs that could not be read."""

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from orchq.baseline import Baseline
from orchq.displays import shown
from orchq.errors import OrchqError
from orchq.knowledge import Knowledge
from orchq.knowledge.extensions import Extension
from orchq.project.annotating import annotated
from orchq.project.judge import Judge
from orchq.rules.catalogue import RuleInfo
from orchq.rules.finding import FileReport
from orchq.severity import Severity, Threshold, failing


class Unread(Struct, frozen=True):
    """An input that could not be read; ``line`` is where in it, counted from 1, if known.

    ``others`` are further faults of the same input, each with its own line.
    """

    file: str
    reason: str
    line: int | None = None
    others: tuple["Unread", ...] = ()

    @classmethod
    def parse(cls, file: str, sentence: str) -> "Unread":
        """Parse an error message that begins with the file, and perhaps the line.

        >>> Unread.parse("a.ttl", "a.ttl:7: not Turtle")
        Unread(file='a.ttl', reason='not Turtle', line=7, others=())
        """
        reason = sentence.removeprefix(file)
        line, _, rest = reason.removeprefix(":").partition(": ")
        if line.isdecimal() and rest:
            return cls(file, rest, int(line))
        return cls(file, reason.removeprefix(":").strip())

    @classmethod
    def because(cls, file: str, sentences: Sequence[str]) -> "Unread":
        """Parse one or more error messages about one file."""
        first, *others = (cls.parse(file, sentence) for sentence in sentences)
        return replace(first, others=tuple(others))

    @property
    def faults(self) -> tuple["Unread", ...]:
        """Each fault of the input by itself."""
        return (replace(self, others=()), *self.others)

    @property
    def sentence(self) -> str:
        """The reason, with file and line."""
        line = f":{self.line}" if self.line else ""
        return f"{self.file}{line}: {self.reason}"


class Outcome(Struct, frozen=True):
    """What a check returns, and what every report is written from.

    ``files`` are in the order in which they were given; ``rules`` are those that were run;
    ``threshold`` is the mildest severity that makes the check fail. ``knowledge`` is the graph
    that was used, ``judge`` holds the options of the check.
    """

    files: tuple[FileReport | Unread, ...]
    rules: tuple[RuleInfo, ...] = ()
    threshold: Threshold = "violation"
    knowledge: Knowledge | None = None
    judge: Judge | None = None

    @property
    def reports(self) -> tuple[FileReport, ...]:
        """The reports on the files that could be read."""
        return tuple(each for each in self.files if isinstance(each, FileReport))

    @property
    def unread(self) -> tuple[Unread, ...]:
        """The files that could not be read."""
        return tuple(each for each in self.files if isinstance(each, Unread))

    @property
    def failing(self) -> frozenset[Severity]:
        """The severities that make the check fail."""
        return failing(self.threshold)

    @property
    def fails(self) -> bool:
        """Whether any finding makes the check fail."""
        return any(
            finding.severity in self.failing
            for report in self.reports
            for finding in report.findings
        )

    @property
    def unchecked(self) -> tuple[FileReport, ...]:
        """The reports on files of which no part is for an instrument of the graph."""
        return tuple(
            report for report in self.reports if not any(part.checked for part in report.parts)
        )

    @property
    def extensions(self) -> tuple[Extension, ...]:
        """The extensions of the graph that was used."""
        return self.knowledge.extensions if self.knowledge is not None else ()

    @property
    def exit_code(self) -> int:
        """0 for nothing at or above the threshold, 1 for findings.

        2 where a file could not be read, or none of its parts could be checked.
        """
        return 2 if self.unread or self.unchecked else int(self.fails)

    def _repr_html_(self) -> str | None:
        """The engraved report, for notebooks."""
        return shown("outcome_html", self)

    def annotated(self) -> bytes:
        """Return the MusicXML of the one file that was checked, with each finding at its note.

        Findings have the numbers of the reports; ``orchq.without_annotations`` takes them off,
        byte for byte. Raises ``OrchqError`` when not one file was checked, when it is no MusicXML,
        and when it was changed since.
        """
        if len(self.files) != 1 or not self.reports or self.knowledge is None:
            raise OrchqError("findings can be written into one score at a time")
        return annotated(self.reports[0], self.knowledge)

    def accepting(self, baseline: Baseline) -> "Outcome":
        """Return the outcome with the findings of a baseline accepted."""
        files = tuple(
            each if isinstance(each, Unread) else baseline.accepting(each) for each in self.files
        )
        return replace(self, files=files)
