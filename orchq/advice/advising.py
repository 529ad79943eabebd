"""Advice: for each finding what to write instead, tried out."""

from collections import Counter
from collections.abc import Collection, Sequence
from itertools import islice
from time import perf_counter

from msgspec import Struct
from msgspec.structs import replace

from orchq.advice.case import Candidate, Case
from orchq.advice.remedies import REMEDIES
from orchq.advice.trying import Trial, Workbench
from orchq.knowledge import Knowledge, Remedy
from orchq.rules.checking import rules_of
from orchq.rules.finding import FileReport, Finding, Proposal
from orchq.score import Score

MOST_PROPOSALS = 3
"""Offered for one finding."""
MOST_CANDIDATES = 6
"""Tried for one remedy of one finding."""
MOST_FINDINGS = 100
"""Findings of one file for which anything is tried, violations first."""
MOST_ALIKE = 2
"""Findings with the same message in one part that are tried; the rest share their proposals."""


class Rewriting(Struct, frozen=True):
    """A proposal with the rewriting behind it; ``remedy`` is the slug of the graph's remedy."""

    remedy: str
    candidate: Candidate

    def apply(self, score: Score) -> Score:
        """The whole score, rewritten."""
        parts = {part.iri: part for part in score.parts}
        for iri, edit in self.candidate.edits:
            parts[iri] = edit(parts[iri])
        return replace(score, parts=tuple(parts.values()))


def advise(report: FileReport, bench: Workbench) -> FileReport:
    """Add to violations and warnings what can be written instead, the best first.

    ``bench`` holds the score, checked as it was for the report. Of a file with very many
    findings, or with many that have the same message, some get the proposals of a similar one,
    not verified.
    """
    started = perf_counter()
    found = verified_rewritings(report, bench)
    shared: dict[object, tuple[Proposal, ...]] = {}
    for number, rewritings in found.items():
        same = tuple(Proposal(each.candidate.do, verified=False) for each in rewritings)
        shared.setdefault(_sameness(report.findings[number]), same)
    findings = [
        replace(
            finding,
            instead=tuple(Proposal(each.candidate.do, verified=True) for each in found[number])
            if number in found
            else shared.get(_sameness(finding), ()),
        )
        for number, finding in enumerate(report.findings)
    ]
    seconds = replace(report.seconds, advice=perf_counter() - started)
    return replace(report, findings=tuple(findings), seconds=seconds)


def verified_rewritings(
    report: FileReport,
    bench: Workbench,
    *,
    most: int = MOST_PROPOSALS,
    among: Collection[int] | None = None,
) -> dict[int, tuple[Rewriting, ...]]:
    """Try rewritings, and return those that pass by the place of their finding in the report.

    At most so many for a finding. Those come first that change least of the music: see
    ``ontology/vocabulary/remedies.ttl``. Of one remedy the first that passes is taken, which is the
    smallest change of its kind. A finding that was not tried is left out; ``among`` names those to
    try, by their places in the report, however many and however alike.
    """
    remedies = _remedies_by_rule(bench.knowledge)
    trials: list[tuple[int, Remedy, Trial]] = []
    chosen = _chosen(report.findings) if among is None else sorted(among)
    for number in chosen:
        case = _case(report.findings[number], bench)
        if case is None:
            continue
        for remedy in remedies.get(case.finding.rule, ()):
            candidates = islice(REMEDIES[remedy.slug](case), MOST_CANDIDATES)
            trials += [(number, remedy, Trial(case, candidate)) for candidate in candidates]
    passing = bench.passing([trial for _, _, trial in trials])
    found: dict[int, list[Rewriting]] = {number: [] for number in chosen}
    taken: set[tuple[int, str, str]] = set()
    for place in sorted(passing):
        number, remedy, trial = trials[place]
        if remedy.last_resort and any(each.remedy != remedy.slug for each in found[number]):
            continue
        key = number, remedy.slug, trial.candidate.kind
        if key not in taken and len(found[number]) < most:
            taken.add(key)
            found[number].append(Rewriting(remedy.slug, trial.candidate))
    return {number: tuple(rewritings) for number, rewritings in found.items()}


def _chosen(findings: Sequence[Finding]) -> list[int]:
    """The places of the findings to try, in the order of the report."""
    alike: Counter[object] = Counter()
    places = []
    for severity in ("violation", "warning"):
        for number, finding in enumerate(findings):
            if finding.severity == severity and alike[_sameness(finding)] < MOST_ALIKE:
                alike[_sameness(finding)] += 1
                places.append(number)
    return sorted(places[:MOST_FINDINGS])


def _sameness(finding: Finding) -> object:
    return finding.part_index, finding.rule, finding.severity, finding.message


def _remedies_by_rule(knowledge: Knowledge) -> dict[str, list[Remedy]]:
    """The remedies of each rule, those first that change least of the music, last resorts last."""
    ordered = sorted(knowledge.remedies.values(), key=lambda each: each.last_resort)
    return {
        rule.slug: [each for each in ordered if each.iri in rule.remedies]
        for rule in rules_of(knowledge)[0]
    }


def _case(finding: Finding, bench: Workbench) -> Case | None:
    part = next(each for each in bench.score.parts if each.index == finding.part_index)
    for staff in bench.staves[part.iri]:
        for place, item in enumerate(staff.placed):
            if item.event.iri == finding.event:
                return Case(finding, bench.score, staff, place)
    return None
