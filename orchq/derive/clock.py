"""Seconds from tempo: one map for the whole score, from figures first and words otherwise."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace
from pyoxigraph import Literal

from orchq.derive.states import FINAL_BARLINE
from orchq.exact import Fraction
from orchq.knowledge import Knowledge
from orchq.score import Mark, Score
from orchq.terms import oq

A_TEMPO, TEMPO_PRIMO = oq("tempo-a-tempo").value, oq("tempo-primo").value
FASTER, SLOWER = oq("tempo-piu-mosso").value, oq("tempo-meno-mosso").value
_UNKNOWN_FROM_HERE = frozenset(
    oq(f"tempo-{name}").value for name in ("l-istesso-tempo", "doppio-movimento", "secondo")
)
_BAND = {
    oq("slowestTempo"): "slowest",
    oq("fastestTempo"): "fastest",
    oq("shortestBeat"): "shortest_beat",
    oq("longestBeat"): "longest_beat",
}


class Tempo(Struct, frozen=True):
    """A tempo in quarter notes per minute; an unknown end is ``None``.

    A printed figure is both ends. ``word`` is the IRI of the tempo word whose usual band is
    ``assumed``, and ``None`` where a figure is printed.
    """

    slowest: Fraction | None = None
    fastest: Fraction | None = None
    word: str | None = None

    @property
    def assumed(self) -> bool:
        """Whether the tempo is read from a word."""
        return self.word is not None


UNKNOWN = Tempo()


class Span(Struct, frozen=True):
    """The length of a stretch of music in seconds, least and most; ``None`` if unknown.

    ``fast_tempo`` and ``slow_tempo`` are the assumed tempi behind the two, in quarter notes per
    minute, and ``None`` where figures are printed.
    """

    least: Fraction | None
    most: Fraction | None
    fast_tempo: Fraction | None = None
    slow_tempo: Fraction | None = None


class Clock:
    """Turns places of a score, in quarter notes from its start, into seconds.

    Repeats are not unfolded, and gradual changes such as a ritardando are ignored.
    """

    def __init__(self, tempi: Iterable[tuple[Fraction, Tempo]]) -> None:
        self._tempi: list[Tempo] = [UNKNOWN]
        self._onsets: list[Fraction] = [Fraction(-1)]
        for onset, tempo in tempi:
            if onset == self._onsets[-1]:
                self._tempi[-1] = tempo
            elif tempo != self._tempi[-1]:
                self._onsets.append(onset)
                self._tempi.append(tempo)

    @property
    def slowest_fast_end(self) -> Fraction | None:
        """The slowest of all fast ends: no quarter note surely lasts longer than at this tempo."""
        return min((t.fastest for t in self._tempi if t.fastest is not None), default=None)

    def tempo(self, onset: Fraction) -> Tempo:
        """The tempo in force at a place."""
        return self._tempi[bisect_right(self._onsets, onset) - 1]

    def span(self, start: Fraction, end: Fraction) -> Span:
        """How long the music lasts from one place to another.

        >>> clock = Clock([(Fraction(0), Tempo(Fraction(120), Fraction(120)))])
        >>> clock.span(Fraction(0), Fraction(3)).most
        Fraction(3, 2)
        """
        least: Fraction | None = Fraction(0)
        most: Fraction | None = Fraction(0)
        slow = fast = None
        place = bisect_right(self._onsets, start) - 1
        while start < end:
            tempo = self._tempi[place]
            following = self._onsets[place + 1] if place + 1 < len(self._onsets) else end
            quarters = min(following, end) - start
            least = _plus(least, quarters, tempo.fastest)
            most = _plus(most, quarters, tempo.slowest)
            if tempo.assumed:
                slow, fast = slow or tempo.slowest, fast or tempo.fastest
            start, place = following, place + 1
        return Span(least, most, fast, slow)


def _plus(
    seconds: Fraction | None, quarters: Fraction, per_minute: Fraction | None
) -> Fraction | None:
    if seconds is None or per_minute is None:
        return None
    return seconds + quarters * 60 / per_minute


def tempo_map(score: Score, knowledge: Knowledge) -> Clock:
    """Merge the tempo marks of all parts, including those that are not checked.

    A figure takes precedence over a word printed with it. A word means its usual band, whatever
    the note value of its beat. After ``più mosso`` and ``meno mosso`` without a figure one end
    is open; ``a tempo`` leads back to the last tempo stated, ``Tempo I`` to the first of the
    movement. With a final barline every tempo ends.
    """
    bands = tempo_bands(knowledge)
    at: dict[Fraction, list[Mark]] = defaultdict(list)
    for part in score.parts:
        for mark in part.marks:
            if mark.tempo is not None or any(
                iri in bands or iri == FINAL_BARLINE for iri in mark.directives
            ):
                at[mark.onset].append(mark)
    return Clock(_Walk(bands).tempi(at))


class _Walk:
    def __init__(self, bands: Mapping[str, Tempo]) -> None:
        self._bands = bands
        self._now = self._stated = UNKNOWN
        self._first: Tempo | None = None

    def tempi(self, at: Mapping[Fraction, Sequence[Mark]]) -> Iterable[tuple[Fraction, Tempo]]:
        for onset in sorted(at):
            marks = at[onset]
            words = [iri for mark in marks for iri in mark.directives]
            if FINAL_BARLINE in words:
                self._now = self._stated = UNKNOWN
                self._first = None
            figures = [mark.tempo for mark in marks if mark.tempo is not None]
            self._now = self._figure(figures) if figures else self._word(words)
            yield onset, self._now

    def _figure(self, figures: Sequence[Fraction]) -> Tempo:
        return self._state(Tempo(min(figures), max(figures)))

    def _state(self, tempo: Tempo) -> Tempo:
        self._stated = tempo
        self._first = self._first or tempo
        return tempo

    def _word(self, words: Sequence[str]) -> Tempo:
        named = [self._bands[iri] for iri in words if iri in self._bands]
        bands = [band for band in named if band.slowest is not None and band.fastest is not None]
        if bands:
            slowest = min(band.slowest for band in bands if band.slowest is not None)
            fastest = max(band.fastest for band in bands if band.fastest is not None)
            return self._state(Tempo(slowest, fastest, bands[0].word))
        if TEMPO_PRIMO in words:
            return self._state(self._first or UNKNOWN)
        if FASTER in words:
            return replace(self._now, fastest=None)
        if SLOWER in words:
            return replace(self._now, slowest=None)
        if A_TEMPO in words:
            return self._stated
        if not _UNKNOWN_FROM_HERE.isdisjoint(words):
            return UNKNOWN
        return self._now


@lru_cache(maxsize=8)
def tempo_bands(knowledge: Knowledge) -> Mapping[str, Tempo]:
    """The usual band of each tempo word of the graph, in quarter notes a minute, by its IRI.

    A word gives beats a minute and leaves open which note value the beat is, so the slow end
    is counted in the shortest value that is usual and the fast end in the longest. Words that
    name no tempo have an empty band.
    """
    values: dict[str, dict[str, Fraction]] = {
        iri: {} for iri, directive in knowledge.directives.items() if "TempoWord" in directive.kinds
    }
    for quad in knowledge.quads:
        name = _BAND.get(quad.predicate)
        iri = getattr(quad.subject, "value", "")
        if name is not None and iri in values and isinstance(quad.object, Literal):
            values[iri][name] = Fraction(Decimal(quad.object.value))
    return {iri: _band(iri, row) for iri, row in values.items()}


def _band(iri: str, row: Mapping[str, Fraction]) -> Tempo:
    if "slowest" not in row or "fastest" not in row:
        return Tempo(word=iri)
    return Tempo(
        row["slowest"] * row.get("shortest_beat", Fraction(1)),
        row["fastest"] * row.get("longest_beat", Fraction(1)),
        iri,
    )
