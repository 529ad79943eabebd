"""The drawings of a survey's page."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from orchq.knowledge import Limit
from orchq.notation import Pitch
from orchq.questions import Graph
from orchq.report.stated import StatedLimits
from orchq.report.survey.survey_tables import SurveyTables
from orchq.report.svg import DOUBTED, SURE, blank, written
from orchq.report.wording import one_line
from orchq.survey.rows import ChangeRow, PitchRow, RunRow
from orchq.terms import OQ

_ROW = 1.6
"""Height of one instrument, stroke or change, in inches."""
_BARS = 40
_NEAR = 0.015
"""Part of the width within which two figures share their names."""
_LONGEST_NAME, _LONGEST_NAMES = 20, 27

Stated = tuple[float, str]
"""A figure, and who states it."""


def compass_svg(content: SurveyTables, graph: Graph) -> str:
    """Notes by pitch for each instrument, and the highest notes that others state."""
    rows = [row for row in content.rows("pitches", PitchRow) if row.way != "harmonic"]
    found = {each.slug for each in graph.instruments.values()} & {row.instrument for row in rows}
    order = sorted(found, key=lambda slug: -graph.instruments[OQ + slug].standard.lowest.pitch.midi)
    figure, stack = _stacked(len(order))
    stated = StatedLimits(graph)
    for slug, each in zip(order, stack, strict=False):
        counts: Counter[int] = Counter()
        for row in rows:
            if row.instrument == slug:
                counts[row.midi] += row.notes
        each.bar(list(counts), list(counts.values()), width=0.9, color=SURE)
        each.set_yscale("log")
        each.yaxis.set_major_formatter("{x:,.0f}")
        each.set_ylabel("notes")
        tops = [
            (Pitch.parse(str(limit.values["highestPitch"])).midi + 0.5, _who(limit))
            for limit in stated.limits("CompassLimit", slug)
            if "highestPitch" in limit.values
        ]
        _state(each, tops, max(counts) - min(counts))
        octaves = [midi for midi in range(24, 121, 12) if min(counts) - 6 <= midi <= max(counts)]
        each.set_xticks(octaves, [str(Pitch.from_midi(midi)) for midi in octaves])
        each.set_title(one_line(graph.label(OQ + slug)), loc="left", fontsize=9)
    return written(figure, "Notes by pitch, and the highest that others state")


def rates_svg(content: SurveyTables, graph: Graph) -> str:
    """Even runs by speed for each stroke, and the fastest that others state."""
    runs = [row for row in content.rows("runs", RunRow) if row.notes_per_second]
    by_stroke: dict[str, list[float]] = {}
    for row in runs:
        by_stroke.setdefault(row.stroke, []).append(row.notes_per_second or 0)
    stated = StatedLimits(graph)
    limits = {
        stroke: _figures(stated.limits("RateLimit", technique=stroke), "fastestRate")
        for stroke in by_stroke
    }
    return _histograms(by_stroke, limits, graph, "notes a second")


def changes_svg(content: SurveyTables, graph: Graph) -> str:
    """The time that is left for changes, up to ten seconds, and the least that others state."""
    by_change: dict[str, list[float]] = {}
    for row in content.rows("changes", ChangeRow):
        if row.seconds is not None and row.seconds <= 10 and row.kind in ("pluck-bow", "mute"):
            by_change.setdefault(row.into, []).append(row.seconds)
    stated = StatedLimits(graph)
    limits = {
        into: _figures(stated.limits("ChangeTime", into=into), "shortestSeconds")
        for into in by_change
    }
    return _histograms(by_change, limits, graph, "seconds")


def _figures(limits: Iterable[Limit], name: str) -> list[Stated]:
    return [
        (float(str(limit.values[name])), _who(limit)) for limit in limits if name in limit.values
    ]


def _who(limit: Limit) -> str:
    """Who states a limit, in a word or two: a source without its title, or a basis."""
    if limit.source is None:
        return limit.basis.replace("-", " ")
    return one_line(limit.source.label.partition(",")[0].partition(":")[0], _LONGEST_NAME)


def _state(axes: Any, figures: Iterable[Stated], width: float) -> None:
    """Draw a broken line at each figure, and write beside it who states it.

    Figures that lie too near each other to be read share a name.
    """
    named: dict[float, list[str]] = {}
    last: float | None = None
    for value, who in sorted(figures):
        axes.axvline(value, color=DOUBTED, linestyle="--", linewidth=1.2)
        if last is None or value - last > _NEAR * width:
            last = value
        named.setdefault(last, []).append(who)
    for value, names in named.items():
        axes.annotate(
            one_line("; ".join(dict.fromkeys(names)), _LONGEST_NAMES),
            (value, 1),
            xycoords=("data", "axes fraction"),
            xytext=(-2, 0),
            textcoords="offset points",
            rotation=90,
            ha="right",
            va="top",
            fontsize=6,
        ).set_in_layout(False)


def _histograms(
    figures: Mapping[str, list[float]], limits: Mapping[str, list[Stated]], graph: Graph, unit: str
) -> str:
    most = max((max(each) for each in figures.values()), default=1.0)
    figure, rows = _stacked(len(figures))
    for name, axes in zip(sorted(figures), rows, strict=False):
        axes.hist(figures[name], bins=_BARS, range=(0, most), color=SURE)
        _state(axes, limits[name], most)
        axes.set_xlim(0, most)
        axes.set_ylabel("passages")
        axes.set_title(one_line(graph.label(OQ + name)), loc="left", fontsize=9)
    rows[-1].set_xlabel(unit)
    return written(figure, f"Passages by {unit}, and what others state")


def _stacked(count: int) -> tuple[Any, Sequence[Any]]:
    """A drawing of several rows, one at least."""
    rows = max(count, 1)
    figure, axes = blank(_ROW * rows + 0.5, rows)
    return figure, (axes,) if rows == 1 else axes
