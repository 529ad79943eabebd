"""The figures of a survey's page, as tables."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TypeVar

from orchq.questions import Graph
from orchq.report.stated import StatedLimits
from orchq.report.tables import Table, TableRow
from orchq.report.wording import one_line
from orchq.survey.rows import (
    ChangeRow,
    DivisiRow,
    HarmonicRow,
    PassageRow,
    PitchRow,
    RowPlace,
    RunRow,
    SlurRow,
    StopRow,
    TremoloRow,
    WordRow,
    Work,
)
from orchq.survey.rows import Row as SurveyRow
from orchq.terms import OQ

FEWEST = 5
"""The fewest passages for which a figure is shown."""
MOST_WORDS = 60
"""Lines of words that the page shows."""

R = TypeVar("R", bound=SurveyRow)
K = TypeVar("K", bound=str | tuple[str | int, ...])


class SurveyTables:
    """Sums up the tables of a survey; ``tables`` are its rows by the names of the tables."""

    def __init__(self, tables: Mapping[str, Sequence[SurveyRow]], graph: Graph) -> None:
        self._tables = tables
        self._graph = graph
        self._stated = StatedLimits(graph)
        works = self.rows("works", Work)
        self.works = len(works)
        self.notes = sum(work.notes for work in works)
        self.composers = {work.work: work.composer for work in works}

    def rows(self, name: str, kind: type[R]) -> list[R]:
        """The rows of a table."""
        return [row for row in self._tables[name] if isinstance(row, kind)]

    def all(self) -> Iterator[Table]:
        """The tables of the page, in order."""
        yield self._collections()
        yield self._compass()
        yield self._dynamics()
        yield self._rates()
        yield self._changes()
        yield self._slurs()
        yield self._tremolos()
        yield self._stops()
        yield self._harmonics()
        yield self._divisi()
        yield self._words()

    # ------------------------------------------------------------------ what was read

    def _collections(self) -> Table:
        rows = []
        for name, works in _grouped(self.rows("works", Work), lambda work: work.collection):
            tempi = Counter(work.tempo for work in works)
            rows.append(
                (
                    one_line(name),
                    f"{len(works):,}",
                    f"{len({work.composer for work in works}):,}",
                    f"{sum(work.parts for work in works):,}",
                    f"{sum(work.notes for work in works):,}",
                    ", ".join(f"{tempi[kind]} {kind}" for kind in sorted(tempi)),
                )
            )
        heads = ("collection", "files", "composers", "string parts", "notes", "tempo")
        return _table("collections", "What was read", heads, rows)

    # ------------------------------------------------------------------ pitch, loudness

    def _compass(self) -> Table:
        rows = []
        pitches = [row for row in self.rows("pitches", PitchRow) if row.way != "harmonic"]
        for (instrument, way, setting), found in _often(
            pitches, lambda row: (row.instrument, row.way, row.setting)
        ):
            by_height = sorted(found, key=lambda row: row.midi)
            notes = sum(row.notes for row in found)
            technique = "" if way == "arco" else way
            limits = self._stated.limits("CompassLimit", instrument, technique)
            rows.append(
                (
                    self._label(instrument),
                    way,
                    setting,
                    f"{notes:,}",
                    self._people(found),
                    by_height[0].pitch,
                    _pitch_within(by_height, notes, 0.999),
                    by_height[-1].pitch,
                    self._stated.figures(limits, "highestPitch"),
                )
            )
        heads = (
            *("instrument", "way", "setting", "notes", "composers", "lowest"),
            *("999 of 1,000 up to", "highest", "highest that others state"),
        )
        lead = "Pitches sound as named. Harmonics are left out."
        return _table("compass", "Compass", heads, rows, lead)

    def _dynamics(self) -> Table:
        order = [dynamic.slug for dynamic in self._graph.dynamics.values()]
        printed = [row for row in self.rows("passages", PassageRow) if row.dynamic in order]
        rows = []
        for technique, found in _often(printed, lambda row: row.technique):
            counts = Counter(row.dynamic for row in found)
            limits = self._stated.limits("DynamicEnvelope", technique=technique)
            cells = [f"{counts[slug]:,}" if counts[slug] else "" for slug in order]
            rows.append(
                (
                    self._label(technique),
                    self._people(found),
                    *cells,
                    self._stated.figures(limits, "softest", "loudest"),
                )
            )
        labels = [self._label(slug) for slug in order]
        heads = ("technique", "composers", *labels, "what others state")
        lead = (
            "Passages under a technique at a printed dynamic; passages that grow or fade, and such"
            " as come before any dynamic, are left out."
        )
        return _table("dynamics", "Techniques and dynamics", heads, rows, lead)

    # ------------------------------------------------------------------ clock and bow

    def _rates(self) -> Table:
        timed = [row for row in self.rows("runs", RunRow) if row.notes_per_second]
        rows = []
        for (stroke, instrument, setting, tempo), found in _often(
            timed, lambda row: (row.stroke, row.instrument, row.setting, row.tempo)
        ):
            rates = sorted(row.notes_per_second or 0 for row in found)
            limits = self._stated.limits("RateLimit", instrument, stroke)
            stated = self._stated.figures(limits, "slowestRate", "fastestRate")
            named = (self._label(stroke), self._label(instrument), setting, tempo)
            rows.append((*named, *self._spread(found, rates), stated))
        heads = ("stroke", "instrument", "setting", "tempo", *_SPREAD, "what others state")
        lead = "Even runs, in notes a second."
        return _table("rates", "How fast strokes follow each other", heads, rows, lead)

    def _changes(self) -> Table:
        timed = [row for row in self.rows("changes", ChangeRow) if row.seconds is not None]
        rows = []
        for (kind, into, tempo), found in _often(
            timed, lambda row: (row.kind, row.into, row.tempo)
        ):
            seconds = sorted((row.seconds or 0 for row in found), reverse=True)
            stated = self._stated.figures(
                self._stated.limits("ChangeTime", into=into), "shortestSeconds"
            )
            named = (kind.replace("-", " and "), self._label(into), tempo)
            rows.append((*named, *self._spread(found, seconds), stated))
        heads = ("change", "into", "tempo", *_SPREAD, "what others state")
        lead = "Seconds that scores leave for a change; the extreme is the least."
        return _table("changes", "Changes of the way of playing", heads, rows, lead)

    def _slurs(self) -> Table:
        order = {d.slug: d.rank for d in self._graph.dynamics.values()}
        timed = [r for r in self.rows("slurs", SlurRow) if r.seconds and r.dynamic in order]
        rows = []
        for (_, dynamic, tempo), found in _often(
            timed, lambda row: (order[row.dynamic], row.dynamic, row.tempo)
        ):
            seconds = sorted(row.seconds or 0 for row in found)
            most = max(row.notes for row in found)
            rows.append((self._label(dynamic), tempo, *self._spread(found, seconds), f"{most:,}"))
        heads = ("dynamic", "tempo", *_SPREAD, "most notes")
        return _table("slurs", "How long one bow lasts", heads, rows, "Slurs, in seconds.")

    def _tremolos(self) -> Table:
        timed = [row for row in self.rows("tremolos", TremoloRow) if row.seconds]
        rows = []
        for (technique, tempo), found in _often(timed, lambda row: (row.technique, row.tempo)):
            seconds = sorted(row.seconds or 0 for row in found)
            limits = self._stated.limits("DurationLimit", technique=technique)
            stated = self._stated.figures(limits, "longestSeconds")
            rows.append((self._label(technique), tempo, *self._spread(found, seconds), stated))
        heads = ("technique", "tempo", *_SPREAD, "what others state")
        lead = "Seconds without a rest. What is long tires the arm: the player decides."
        return _table("tremolos", "Unbroken tremolo and trills", heads, rows, lead)

    # ------------------------------------------------------------------ hands, players

    def _stops(self) -> Table:
        rows = []
        for (size, grade), found in _often(
            self.rows("stops", StopRow), lambda row: (row.pitches.count(" ") + 1, row.grade)
        ):
            struck = sum(row.struck for row in found)
            shapes = Counter(row.pitches for row in found)
            usual = ", ".join(f"{pitches} ({n:,})" for pitches, n in shapes.most_common(3))
            counts = (f"{struck:,}", f"{len(found) - struck:,}")
            rows.append((str(size), grade, *counts, self._people(found), usual))
        heads = ("notes", "grade", "struck", "broken", "composers", "most frequent")
        lead = "The grade is that of the hand model, for one player who takes all the notes."
        return _table("stops", "Stops and chords", heads, rows, lead)

    def _harmonics(self) -> Table:
        rows = []
        for (kind, node), found in _often(
            self.rows("harmonics", HarmonicRow), lambda row: (row.kind, row.node)
        ):
            usual = Counter(row.sounding for row in found).most_common(3)
            frequent = ", ".join(f"{pitch} ({count:,})" for pitch, count in usual)
            rows.append((kind, str(node), f"{len(found):,}", self._people(found), frequent))
        heads = ("kind", "partial", "harmonics", "composers", "most frequent")
        return _table("harmonics", "Harmonics", heads, rows)

    def _divisi(self) -> Table:
        rows = [
            (self._label(instrument), str(parts), f"{len(found):,}", self._people(found))
            for (instrument, parts), found in _often(
                self.rows("divisi", DivisiRow), lambda row: (row.instrument, row.parts)
            )
        ]
        heads = ("instrument", "parts", "passages", "composers")
        return _table("divisi", "Divided sections", heads, rows)

    def _words(self) -> Table:
        known: Counter[bool] = Counter()
        unknown: Counter[str] = Counter()
        for row in self.rows("words", WordRow):
            if row.technique_words:
                known[not row.unknown] += row.count
                if row.unknown:
                    unknown[row.text] += row.count
        total = known.total()
        share = f"{100 * known[True] / total:.1f}% of {total:,}" if total else "none"
        rows = [(one_line(text, 100), f"{n:,}") for text, n in unknown.most_common(MOST_WORDS)]
        lead = f"The graph knows {share} words that ask for a way of playing, but not these."
        return _table("words", "Words not known", ("printed", "times"), rows, lead)

    # ------------------------------------------------------------------ helpers

    def _label(self, slug: str) -> str:
        return one_line(self._graph.label(OQ + slug))

    def _people(self, rows: Iterable[RowPlace]) -> str:
        return f"{len({self.composers[row.work] for row in rows}):,}"

    def _spread(self, rows: Sequence[RowPlace], figures: Sequence[float]) -> tuple[str, ...]:
        """How many there are, and figures from the usual to the extreme, which stand last."""
        return (
            f"{len(rows):,}",
            self._people(rows),
            *(f"{_at(figures, share):.2f}" for share in (0.5, 0.99, 1.0)),
        )


def _table(
    key: str,
    caption: str,
    heads: tuple[str, ...],
    rows: Iterable[tuple[str, ...]],
    lead: str = "",
) -> Table:
    return Table(caption, heads, tuple(map(TableRow, rows)), key=key, lead=lead)


_SPREAD = ("passages", "composers", "median", "99 of 100 within", "extreme")


def _grouped(rows: Iterable[R], key: Callable[[R], K]) -> list[tuple[K, list[R]]]:
    """Rows by a key, in the order of the keys."""
    groups: dict[K, list[R]] = defaultdict(list)
    for row in rows:
        groups[key(row)].append(row)
    return sorted(groups.items(), key=lambda pair: _parts(pair[0]))


def _parts(key: str | tuple[str | int, ...]) -> tuple[str | int, ...]:
    return (key,) if isinstance(key, str) else key


def _often(rows: Iterable[R], key: Callable[[R], K]) -> Iterator[tuple[K, list[R]]]:
    """Groups of rows that are large enough to be shown."""
    return (pair for pair in _grouped(rows, key) if len(pair[1]) >= FEWEST)


def _at(ordered: Sequence[float], share: float) -> float:
    """The figure below which a share of them lies."""
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def _pitch_within(by_height: Sequence[PitchRow], notes: int, share: float) -> str:
    """The pitch up to which a share of the notes goes."""
    counted = 0
    for row in by_height:
        counted += row.notes
        if counted >= share * notes:
            return row.pitch
    return ""
