"""The difficulty of a part, measure by measure, and its causes.

For each measure the easiest way through it is found: the path of least effort, where effort is
the sum of demands that all grow as time gets short. The score of a measure is this effort per
second plus the effort of its hardest single posture. So the same notes faster are never easier,
and without the last of them never harder.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

import numpy as np
from msgspec import Struct
from pyoxigraph import Literal, NamedNode

from orchq.derive.path.fingering import search_of
from orchq.derive.path.passages import Asked, Passages
from orchq.derive.path.search import Step, Weights, shortest
from orchq.derive.path.weights import path_weights, term_name
from orchq.derive.staves import staves_of
from orchq.errors import OrchqError
from orchq.knowledge import Knowledge
from orchq.score import Measure, Score
from orchq.terms import oq

_COST, _DEMANDS, _COUNTS_AS = oq("weighsCost"), oq("demands"), oq("countsAs")
_FROM, _UNHELD = oq("fromDifficulty"), oq("unheldDemands")
_USUAL = oq("isHardestUsualFor")
_SHORTEST_SECONDS = 0.25
_STOPS = oq("demand-stops").value


class DifficultyGrade(Struct, frozen=True):
    """A grade of the scale; ``rank`` counts from 1, the easiest; ``score`` is its threshold.

    ``usual_for`` is the level of player (an IRI) of which no harder grade is usually asked.
    """

    iri: str
    label: str
    rank: int
    score: float
    usual_for: str | None = None


class MeasureDifficulty(Struct, frozen=True):
    """How hard a measure is; ``demands`` are shares of the effort by label, the greatest first."""

    index: int
    number: str
    score: float
    grade: DifficultyGrade
    demands: tuple[tuple[str, float], ...]


class PartDifficulty(Struct, frozen=True):
    """How hard a part is: as hard as its hardest measure. Measures without notes are left out."""

    name: str
    index: int
    score: float
    grade: DifficultyGrade
    measures: tuple[MeasureDifficulty, ...]

    def hardest(self, count: int) -> tuple[MeasureDifficulty, ...]:
        """The hardest measures, the hardest first."""
        ordered = sorted(self.measures, key=lambda each: (-each.score, each.index))
        return tuple(ordered[:count])


class _Scale(Struct, frozen=True):
    """The graph's demands: weights and kinds by cost, grades from the easiest."""

    weights: Weights
    kinds: Mapping[str, str]
    grades: tuple[DifficultyGrade, ...]
    unheld: float

    def grade(self, score: float) -> DifficultyGrade:
        return [each for each in self.grades if each.score <= score][-1]


def difficulty_of(
    score: Score, knowledge: Knowledge, *, level: str | None = None, trust: str | None = None
) -> tuple[PartDifficulty, ...]:
    """Return how hard every part is whose hand the graph describes and that has notes.

    ``level`` is the IRI of the level of player whose reach counts, ``trust`` that of the one
    source to follow. Where no tempo is printed a moderate one is assumed.
    """
    scale = _scale(knowledge)
    staves = staves_of(score, knowledge, level=level, trust=trust)
    parts = []
    for part in score.parts:
        efforts: dict[int, dict[str, float]] = defaultdict(lambda: defaultdict(float))
        peaks: dict[int, float] = defaultdict(float)
        seconds: dict[int, float] = {}
        for staff in staves.get(part.iri, ()):
            passages = Passages(
                staff, path_weights(knowledge, staff.around.instrument).assumed_tempo
            )
            for line in passages.read():
                for index, before, asked in _windows(line):
                    by_kind, peak = _effort(before, asked, scale)
                    efforts[index]  # a measure without effort counts as well
                    for kind, amount in by_kind.items():
                        efforts[index][kind] += amount
                    peaks[index] = max(peaks[index], peak)
                    seconds[index] = _seconds(passages, part.measures[index])
        measures = tuple(
            _measure(
                part.measures[index],
                efforts[index],
                peaks[index],
                seconds[index],
                scale,
                knowledge,
            )
            for index in sorted(efforts)
        )
        if measures:
            highest = max(each.score for each in measures)
            parts.append(
                PartDifficulty(part.name, part.index, highest, scale.grade(highest), measures)
            )
    return tuple(parts)


def _measure(
    measure: Measure,
    efforts: Mapping[str, float],
    peak: float,
    seconds: float,
    scale: _Scale,
    knowledge: Knowledge,
) -> MeasureDifficulty:
    total = sum(efforts.values())
    score = round(total / seconds + peak, 6)
    shares = sorted(efforts.items(), key=lambda each: (-each[1], each[0]))
    return MeasureDifficulty(
        measure.index,
        measure.number,
        score,
        scale.grade(score),
        tuple((knowledge.label(kind), effort / total) for kind, effort in shares if effort),
    )


def _windows(line: Sequence[Asked]) -> Iterator[tuple[int, Asked | None, list[Asked]]]:
    """The attacks of each measure, with the one before them."""
    before: Asked | None = None
    window: list[Asked] = []
    for asked in line:
        if window and asked.event.measure_index != window[0].event.measure_index:
            yield window[0].event.measure_index, before, window
            before, window = window[-1], []
        window.append(asked)
    if window:
        yield window[0].event.measure_index, before, window


def _effort(
    before: Asked | None, window: Sequence[Asked], scale: _Scale
) -> tuple[dict[str, float], float]:
    """The least effort through a window by kind of demand, and that of its hardest posture."""
    efforts: dict[str, float] = defaultdict(float)
    peak = 0.0
    run: list[Step] = []
    led = before is not None and before.step is not None and before.model == window[0].model
    if led and before is not None and before.step is not None:
        run.append(before.step)
    for asked in window:
        if asked.step is None:
            efforts[_STOPS] += scale.unheld
            peak = max(peak, scale.unheld)
        elif asked.model == window[0].model:
            run.append(asked.step)
    if not run:
        return efforts, peak
    search = search_of(window[0].model, scale.weights)
    single, moves = search.costs(run)
    if led:
        single = [np.zeros_like(single[0]), *single[1:]]
    path = shortest(single, [move.costs for move in moves])
    peak = max(peak, *(float(costs.min()) for costs in single))
    for place, costs in enumerate(search.reasons(run, path)):
        for name, cost in costs.items():
            efforts[scale.kinds[name]] += cost if place or not led else 0.0
    return efforts, peak


def hardest_usual(knowledge: Knowledge, level: str) -> DifficultyGrade:
    """The hardest grade that players of a level (an IRI) are usually asked for.

    The hardest of all where the graph names none for it.
    """
    grades = _scale(knowledge).grades
    return next((each for each in grades if each.usual_for == level), grades[-1])


def _seconds(passages: Passages, measure: Measure) -> float:
    return max(passages.seconds(measure.onset, measure.onset + measure.length), _SHORTEST_SECONDS)


@lru_cache(8)
def _scale(knowledge: Knowledge) -> _Scale:
    rows: dict[str, dict[NamedNode, str]] = {}
    for quad in knowledge.quads:
        if quad.predicate in {_COST, _DEMANDS, _COUNTS_AS, _FROM, _UNHELD, _USUAL}:
            subject, value = quad.subject, quad.object
            if isinstance(subject, NamedNode) and isinstance(value, NamedNode | Literal):
                rows.setdefault(subject.value, {})[quad.predicate] = value.value
    demands = [row for row in rows.values() if {_COST, _DEMANDS, _COUNTS_AS} <= row.keys()]
    thresholds = sorted((float(row[_FROM]), iri) for iri, row in rows.items() if _FROM in row)
    if not demands or not thresholds or thresholds[0][0] > 0:
        raise OrchqError("the graph has no demands, or no grade of difficulty from 0 on")
    terms = sorted((term_name(row[_COST]), float(row[_DEMANDS])) for row in demands)
    return _Scale(
        Weights(tuple(terms)),
        {term_name(row[_COST]): row[_COUNTS_AS] for row in demands},
        tuple(
            DifficultyGrade(iri, knowledge.label(iri), rank, score, rows[iri].get(_USUAL))
            for rank, (score, iri) in enumerate(thresholds, start=1)
        ),
        max((float(row[_UNHELD]) for row in rows.values() if _UNHELD in row), default=0.0),
    )
