"""Proposals carried out in the score that they were made for, and the result checked again."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

from orchq.errors import OrchqError
from orchq.lazily import lazily
from orchq.notation import beat_name, measure_name
from orchq.project.judge import Judge
from orchq.readers import MUSICXML_SUFFIXES, read_text
from orchq.readers.musicxml import read_musicxml_bytes
from orchq.rules.finding import FileReport, Finding
from orchq.score import Score
from orchq.writers.annotations import without_annotations
from orchq.writers.rewriting import NotWritableError, write_into
from orchq.writers.same_music import difference
from orchq.writers.score_text import ScoreText

if TYPE_CHECKING:
    from orchq import advice as remedying
else:
    (remedying,) = lazily("orchq", "advice")

_MOST_ROUNDS = 4
"""How often what is left is tried again: a change may stand in the way of another."""


class Choice(NamedTuple):
    """A proposal by its finding and its own number, both counted from 1 as reports print them."""

    finding: int
    proposal: int = 1

    @classmethod
    def parse(cls, text: str) -> "Choice":
        """Read ``3`` (the first proposal of finding 3) or ``3.2`` (its second).

        Raises ``OrchqError`` for anything else.

        >>> Choice.parse("3.2")
        Choice(finding=3, proposal=2)
        """
        finding, dot, proposal = text.strip().partition(".")
        numbers = [finding, proposal] if dot else [finding]
        if not all(each.isascii() and each.isdecimal() and int(each) for each in numbers):
            raise OrchqError(
                f"{text.strip()!r} names no proposal: 3 is the first of finding 3, 3.2 its second"
            )
        return cls(*map(int, numbers))

    def __str__(self) -> str:
        return str(self.finding) if self.proposal == 1 else f"{self.finding}.{self.proposal}"


class Correction(Struct, frozen=True):
    """One proposal carried out: where, and what."""

    finding: int
    part: str
    where: str
    do: str


class Applied(Struct, frozen=True):
    """A corrected score.

    ``text`` is its MusicXML, in which nothing but ``corrections`` differs from the
    file. ``left`` are places of the chosen findings that no proposal helps, or that are found
    again; ``new`` is what the result has of violations and warnings that the file had not.
    ``report`` is the check of the result.
    """

    text: bytes
    corrections: tuple[Correction, ...]
    left: tuple[Finding, ...]
    new: tuple[Finding, ...]
    report: FileReport

    @property
    def exit_code(self) -> int:
        """0 when all that was chosen is gone and nothing came; 1 otherwise."""
        return int(bool(self.left or self.new))


Key = tuple[str, int, int, float]


def _key(finding: Finding) -> Key:
    """A finding by rule and place, whatever its event is called."""
    return finding.rule, finding.part_index, finding.measure_index, finding.beat


def music_of(path: Path) -> bytes:
    """The MusicXML of a file without the annotations of an earlier check.

    Raises ``OrchqError`` for a file in another format, of which there is no such text.
    """
    if path.suffix.lower() not in MUSICXML_SUFFIXES:
        raise OrchqError(f"{path}: is no MusicXML score; proposals are carried out only there")
    return without_annotations(read_text(path))


def applied(
    judge: Judge,
    path: Path,
    choices: Iterable[Choice],
    numbered: Sequence[Finding],
    raw: FileReport,
    score: Score,
) -> Applied:
    """Carry out proposals against ``numbered`` findings, which are gathered of those in ``raw``."""
    text = ScoreText(music_of(path), str(path))
    applying = _Applying(judge, raw, score)
    for choice in sorted(set(choices)):
        applying.choose(choice, numbered, str(path))
    rewritten = applying.rewritten()
    data = write_into(text, score, rewritten, judge.knowledge)
    again = judge.seated(read_musicxml_bytes(data, path, judge.knowledge))
    if (where := difference(rewritten, again)) is not None:
        raise NotWritableError(f"{path}: the proposal cannot be written into MusicXML: {where}")
    report = judge.judged(again, str(path))
    after = {_key(each): each for each in report.findings}
    before = {_key(each) for each in raw.findings if each.severity != "info"}
    left = [
        finding
        for finding in applying.targets
        if (found := after.get(_key(finding))) is not None and found.severity != "info"
    ]
    new = [each for each in report.findings if each.severity != "info" and _key(each) not in before]
    return Applied(data, tuple(applying.corrections), tuple(left), tuple(new), report)


class _Applying:
    """The chosen findings, place by place, and the score as it is rewritten."""

    def __init__(self, judge: Judge, raw: FileReport, score: Score) -> None:
        self._judge = judge
        self._raw = raw
        self._score = score
        self._chosen: dict[Key, Choice] = {}
        self.targets: list[Finding] = []
        self.corrections: list[Correction] = []

    def choose(self, choice: Choice, numbered: Sequence[Finding], file: str) -> None:
        """Take a proposal up. Raises ``OrchqError`` where there is none of its number."""
        if choice.finding > len(numbered):
            raise OrchqError(f"{file}: there is no finding {choice.finding}")
        finding = numbered[choice.finding - 1]
        if choice.proposal > len(finding.instead):
            there = len(finding.instead) or "no"
            raise OrchqError(
                f"{file}: finding {choice.finding} has {there}"
                f" proposal{'' if there == 1 else 's'}, and no number {choice.proposal}"
            )
        events = {place.event for place in finding.all_places}
        targets = [
            each
            for each in self._raw.findings
            if each.rule == finding.rule
            and each.event in events
            and each.severity == (finding.changed_from or finding.severity)
        ]
        if any(_key(each) in self._chosen for each in targets):
            raise OrchqError(f"{file}: finding {choice.finding} is chosen twice")
        self.targets += targets
        self._chosen |= {_key(each): choice for each in targets}

    def rewritten(self) -> Score:
        """The score with the proposals carried out, in rounds."""
        score, report = self._score, self._raw
        kinds: dict[Choice, tuple[str, str]] = {}
        for _ in range(_MOST_ROUNDS):
            among = [
                number
                for number, each in enumerate(report.findings)
                if _key(each) in self._chosen and each.severity != "info"
            ]
            if not among:
                break
            bench = self._judge.bench(score)
            found = remedying.verified_rewritings(report, bench, among=among)
            taken = self._round(report, found, kinds)
            if not taken:
                break
            for rewriting in taken:
                score = rewriting.apply(score)
            report = self._judge.judged(score, report.file)
        return score

    def _round(
        self,
        report: FileReport,
        found: Mapping[int, Sequence["remedying.Rewriting"]],
        kinds: dict[Choice, tuple[str, str]],
    ) -> list["remedying.Rewriting"]:
        """Rewritings that do not touch each other, one for each finding."""
        taken: list[remedying.Rewriting] = []
        for number in sorted(found):
            finding = report.findings[number]
            choice = self._chosen[_key(finding)]
            rewriting = _like(found[number], choice, kinds)
            if rewriting is None or any(_touch(rewriting, each) for each in taken):
                continue
            taken.append(rewriting)
            measure = measure_name(finding.measure, finding.measure_index)
            self.corrections.append(
                Correction(
                    choice.finding,
                    finding.part,
                    f"{measure}, beat {beat_name(finding.beat)}",
                    rewriting.candidate.do,
                )
            )
        return taken


def _like(
    found: Sequence["remedying.Rewriting"], choice: Choice, kinds: dict[Choice, tuple[str, str]]
) -> "remedying.Rewriting | None":
    """The rewriting of the kind chosen at the first place, else the best that there is."""
    if not found:
        return None
    if choice not in kinds:
        if choice.proposal > len(found):
            return None
        first = found[choice.proposal - 1]
        kinds[choice] = first.remedy, first.candidate.kind
        return first
    alike = (r for r in found if (r.remedy, r.candidate.kind) == kinds[choice])
    return next(alike, found[0])


def _touch(one: "remedying.Rewriting", other: "remedying.Rewriting") -> bool:
    """Whether two rewritings reach into the same stretch of a part."""
    shared = {iri for iri, _ in one.candidate.edits} & {iri for iri, _ in other.candidate.edits}
    first, second = one.candidate, other.candidate
    return bool(shared) and (
        first.first.onset <= second.last.end and second.first.onset <= first.last.end
    )
