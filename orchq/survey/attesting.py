"""The most extreme that enough passages by enough composers do: attested limits."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from math import ceil, floor

from msgspec import Struct

from orchq.survey.sightings import Sighting, Subject
from orchq.terms import oq

PASSAGES, COMPOSERS = 5, 3
"""How many passages, by how many composers, make a figure attested: fewer are examples."""
_KEPT = 0.5
"""The least share of notes within: a figure that most notes exceed shows the third composer
rather than the players."""

ORCHESTRAL, SOLOIST = oq("orchestral").value, oq("soloist").value
_LEAST = frozenset({"softest", "slowestRate", "shortestSeconds"})
"""Properties for which less is more extreme."""
_PLACES = {
    "spanMillimetres": 0,
    "fastestHandTravel": 0,
    "fastestRate": 2,
    "slowestRate": 2,
    "shortestSeconds": 2,
    "longestSeconds": 2,
    "mostStopsPerSecond": 2,
}
"""Decimal places of figures that are no whole numbers by nature."""


class Counts(Struct, frozen=True):
    """How much was measured, and how much of it is as extreme as the limit or more so.

    ``quantile`` is the share of notes that lie within.
    """

    notes: int
    passages: int
    works: int
    composers: int
    quantile: float
    reaching_passages: int
    reaching_composers: int


class Attested(Struct, frozen=True):
    """A limit measured on scores, for players of a level (an IRI).

    ``figures`` are by property, as in sightings, rounded so that the limit holds where it was
    measured. ``tempo`` is what seconds rest on: ``marked`` tempi alone, or ``assumed`` ones too;
    it is empty where there are none.
    """

    subject: Subject
    level: str
    figures: tuple[tuple[str, float], ...]
    counts: Counts
    tempo: str

    def holds(self, sighting: Sighting) -> bool:
        """Whether a passage lies within the limit."""
        limits = dict(self.figures)
        return all(
            not _beyond(name, figure, limits[name])
            for name, figure in sighting.figures
            if name in limits
        )


def attest(sightings: Iterable[Sighting]) -> list[Attested]:
    """Measure a limit for every subject and level that enough is seen of, in a stable order.

    What sections play holds for an orchestral player, what anybody plays for a soloist. Where
    instruments attest something separately, their family gets no limit.
    """
    by_subject: dict[Subject, list[Sighting]] = defaultdict(list)
    for sighting in sightings:
        by_subject[sighting.subject].append(sighting)
    limits = [
        limit
        for subject in sorted(by_subject, key=_order)
        for limit in _at_levels(subject, by_subject[subject])
    ]
    superseded = {(by_subject[limit.subject][0].wider, limit.level) for limit in limits}
    return [limit for limit in limits if (limit.subject, limit.level) not in superseded]


def _order(subject: Subject) -> tuple[str, ...]:
    about = (part for pair in subject.about for part in pair)
    return subject.kind, subject.technique or "", subject.holder, *about


def _at_levels(subject: Subject, sightings: Sequence[Sighting]) -> Iterator[Attested]:
    of_sections = [each for each in sightings if each.section]
    for level, counted in ((ORCHESTRAL, of_sections), (SOLOIST, sightings)):
        limit = _measured(subject, level, counted)
        if limit:
            yield limit


def _measured(subject: Subject, level: str, sightings: Sequence[Sighting]) -> Attested | None:
    # Marked tempi are better evidence: where they suffice they alone count.
    marked = [each for each in sightings if each.tempo != "assumed"]
    for chosen in (marked, sightings):
        figures = tuple(_figures(chosen))
        counts = _counts(figures, chosen) if figures else None
        if counts and counts.quantile >= _KEPT:
            # in the order of letters "assumed" comes first
            tempo = min((each.tempo for each in chosen if each.tempo), default="")
            return Attested(subject, level, figures, counts, tempo)
    return None


def _figures(sightings: Sequence[Sighting]) -> Iterator[tuple[str, float]]:
    """The figures that enough passages by enough composers reach."""
    ends: dict[str, list[tuple[float, Sighting]]] = defaultdict(list)
    for sighting in sightings:
        for name, figure in sighting.figures:
            ends[name].append((figure, sighting))
    for name in sorted(ends):
        passages, composers = set(), set()
        for figure, sighting in sorted(
            ends[name], key=lambda pair: pair[0], reverse=name not in _LEAST
        ):
            passages.add(sighting.passage)
            composers.add(sighting.composer)
            if len(passages) >= PASSAGES and len(composers) >= COMPOSERS:
                yield name, _outward(name, figure)
                break


def _counts(figures: Sequence[tuple[str, float]], sightings: Sequence[Sighting]) -> Counts:
    limits = dict(figures)
    notes = outside = 0
    reaching: dict[str, list[Sighting]] = defaultdict(list)
    for sighting in sightings:
        notes += sighting.notes
        ends = [(name, figure) for name, figure in sighting.figures if name in limits]
        outside += sighting.notes * any(_beyond(name, f, limits[name]) for name, f in ends)
        for name, figure in ends:
            if _outward(name, figure) == limits[name] or _beyond(name, figure, limits[name]):
                reaching[name].append(sighting)
    return Counts(
        notes=notes,
        passages=len({each.passage for each in sightings}),
        works=len({each.work for each in sightings}),
        composers=len({each.composer for each in sightings}),
        quantile=floor(10_000 * (notes - outside) / notes) / 10_000,
        reaching_passages=min(len({each.passage for each in end}) for end in reaching.values()),
        reaching_composers=min(len({each.composer for each in end}) for end in reaching.values()),
    )


@lru_cache(maxsize=1 << 16)
def _outward(name: str, figure: float) -> float:
    """The figure rounded so that the passage itself stays within."""
    scale = 10.0 ** _PLACES.get(name, 0)
    # What binary fractions add in the last places must not move a whole number.
    scaled: float = round(figure * scale, 6)
    return (floor(scaled) if name in _LEAST else ceil(scaled)) / scale


@lru_cache(maxsize=1 << 16)
def _beyond(name: str, figure: float, limit: float) -> bool:
    return round(figure, 6) < limit if name in _LEAST else round(figure, 6) > limit
