"""Tries rewritings: each is laid out as a part of its own, and all are checked in one run."""

from collections.abc import Collection, Iterator, Sequence
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from orchq.advice.case import Candidate, Case
from orchq.advice.cutting import cut, renamed, tempo_part, window
from orchq.derive.derivation import derive
from orchq.derive.staves import Staff, Staves, staves_of
from orchq.knowledge import Knowledge
from orchq.rules.checking import check_score
from orchq.rules.finding import Finding
from orchq.score import Part, Score

MOST_AT_ONCE = 60
"""Passages laid side by side in one run."""
MOST_EVENTS = 600
"""Longer passages are not tried."""

FindingKeys = frozenset[tuple[str, str, str]]
"""Findings of a passage as (rule, severity, event)."""


class Trial(Struct, frozen=True):
    """A candidate against the finding of a case."""

    case: Case
    candidate: Candidate


class _Judged(Struct, frozen=True):
    """What was found in a layout, and what holds at the end of each of its parts."""

    findings: FindingKeys
    ends: tuple[list[object], ...]


class _Layout(Struct, frozen=True):
    """Cut parts that belong together, as written or rewritten."""

    parts: tuple[Part, ...]

    @property
    def events(self) -> int:
        return sum(len(part.events) for part in self.parts)


class Workbench:
    """Where passages of one score are cut out, rewritten and checked.

    ``level``, ``trust`` and ``rules`` are those of the check of the whole score; ``staves`` are
    what was judged there, worked out where they are not given.
    """

    def __init__(
        self,
        score: Score,
        knowledge: Knowledge,
        *,
        level: str | None = None,
        trust: str | None = None,
        rules: Collection[str] | None = None,
        staves: Staves | None = None,
    ) -> None:
        self.score = score
        self.knowledge = knowledge
        self.level = level
        self.trust = trust
        self._rules = rules
        self._parts = {part.iri: part for part in score.parts}
        self.staves = (
            staves_of(score, knowledge, level=level, trust=trust) if staves is None else staves
        )

    def passing(self, trials: Sequence[Trial]) -> set[int]:
        """Return the places of the trials that remove the finding and add nothing worse.

        A rewriting passes when the finding is reported for the passage as written, the same rule
        reports no violation or warning at the event once it is rewritten, none is new elsewhere,
        and what is in force after the passage is unchanged.
        """
        written: dict[object, int | None] = {}
        layouts: list[_Layout] = []
        places: list[tuple[int, int] | None] = []
        for trial in trials:
            concerned = self._concerned(trial.candidate)
            start, end = self._window(trial, concerned)
            key = tuple(part.iri for part in concerned), start, end
            if key not in written:
                layout = self._cut(concerned, start, end)
                written[key] = len(layouts) if layout.events <= MOST_EVENTS else None
                layouts += [layout] if layout.events <= MOST_EVENTS else []
            place = written[key]
            if place is None:
                places.append(None)
            else:
                places.append((place, len(layouts)))
                layouts.append(_rewritten(layouts[place], trial.candidate))
        judged = list(self._judged(layouts))
        return {
            number
            for number, place in enumerate(places)
            if place is not None
            and _passes(
                trials[number].case.finding, judged[place[0]].findings, judged[place[1]].findings
            )
            and self._goes_on(layouts[place[0]], judged[place[0]], judged[place[1]])
        }

    def _goes_on(self, written: _Layout, before: _Judged, after: _Judged) -> bool:
        """Whether the same is in force at the end, unless the part ends there as well."""
        return all(
            part.events[-1:] == self._parts[part.iri].events[-1:] or one == other
            for part, one, other in zip(written.parts, before.ends, after.ends, strict=True)
        )

    def _concerned(self, candidate: Candidate) -> tuple[Part, ...]:
        iris = dict.fromkeys(iri for iri, _ in candidate.edits)
        return tuple(self._parts[iri] for iri in iris)

    def _window(self, trial: Trial, parts: Sequence[Part]) -> tuple[Fraction, Fraction]:
        candidate = trial.candidate
        windows = [window(part, candidate.first, candidate.last) for part in parts]
        return min(start for start, _ in windows), max(end for _, end in windows)

    def _cut(self, parts: Sequence[Part], start: Fraction, end: Fraction) -> _Layout:
        return _Layout(
            tuple(cut(part, self.staves.get(part.iri, ()), start, end) for part in parts)
        )

    def _judged(self, layouts: Sequence[_Layout]) -> Iterator[_Judged]:
        """Check the layouts, so many in one run, and yield what comes out of each."""
        tempi = tempo_part(self.score, self.knowledge)
        for begin in range(0, len(layouts), MOST_AT_ONCE):
            batch = layouts[begin : begin + MOST_AT_ONCE]
            parts = [tempi]
            owners: dict[int, int] = {}
            for number, layout in enumerate(batch):
                for part in layout.parts:
                    owners[len(parts)] = number
                    parts.append(renamed(part, _prefix(number), len(parts)))
            score = replace(self.score, parts=tuple(parts))
            derivation = derive(score, self.knowledge, level=self.level, trust=self.trust)
            report = check_score(
                score,
                self.knowledge,
                file="",
                level=self.level,
                trust=self.trust,
                rules=self._rules,
                derivation=derivation,
            )
            findings: list[set[tuple[str, str, str]]] = [set() for _ in batch]
            for found in report.findings:
                number = owners[found.part_index]
                event = found.event.removeprefix(_prefix(number))
                findings[number].add((found.rule, found.severity, event))
            for number, layout in enumerate(batch):
                staves = (
                    derivation.staves.get(_prefix(number) + part.iri, ()) for part in layout.parts
                )
                yield _Judged(frozenset(findings[number]), tuple(map(_in_force_at_end, staves)))


def _in_force_at_end(staves: Sequence[Staff]) -> list[object]:
    """What holds after the last event of each staff, whatever the parts are called."""
    last = [staff.placed[-1] for staff in staves]
    return [
        (
            replace(item.in_force, strings=()),
            tuple(string.pitch for string in item.in_force.strings),
            item.plucked_passage is None or item.arco_missing,
        )
        for item in last
    ]


def _prefix(number: int) -> str:
    return f"trial{number}:"


def _rewritten(layout: _Layout, candidate: Candidate) -> _Layout:
    parts = {part.iri: part for part in layout.parts}
    for iri, edit in candidate.edits:
        parts[iri] = edit(parts[iri])
    return _Layout(tuple(parts.values()))


def _passes(finding: Finding, before: FindingKeys, after: FindingKeys) -> bool:
    key = finding.rule, finding.severity, finding.event
    if key not in before:
        return False
    grave = {(rule, event) for rule, severity, event in after if severity != "info"}
    if (finding.rule, finding.event) in grave:
        return False
    return not any(severity != "info" for _, severity, _ in after - before)
