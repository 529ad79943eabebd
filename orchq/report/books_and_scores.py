"""The page of what books say and what scores do, in Markdown with drawings, from the graph."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from orchq.knowledge import Limit
from orchq.notation import Pitch
from orchq.questions import Graph
from orchq.report.stated import TOPICS, StatedLimits, matter
from orchq.report.svg import DOUBTED, LINE, SURE, blank, written
from orchq.report.wording import one_line
from orchq.terms import OQ, oq

_HEAD = """\
# What books say and what scores do

Books disagree, and some of the figures of this graph are only remembered. Open scores show what
composers asked of players. Each line below sets a figure measured on scores beside what others
state about the same thing. This page is generated (see DEVELOPERS.md); a test fails when it
is stale.

**An edition is not a performance.** Scores show what was printed, not how, how well or by how many
it was played; transcriptions have mistakes, and tempi are often an editor's. A figure is the most
extreme that at least five passages by at least three composers reach. What scores do not show may
be played all the same: scores permit, they forbid nothing. Where a hand is stretched or a player
asked to go on for long, ask the player, and for students the teacher.
"""
_ROW = 0.3
_ABOUT = frozenset(
    {
        *TOPICS,
        *("hasBasis", "accordingTo", "locator", "statement"),
        *("forLevel", "onInstrument", "inFamily", "limitsTechnique"),
    }
)
_COUNTS = ("attested", "reaching")


class BooksAndScores:
    """The page and its drawings."""

    def __init__(self, graph: Graph) -> None:
        self._graph = graph
        self._others = StatedLimits(graph)
        self._attested: dict[str, list[Limit]] = defaultdict(list)
        for limit in graph.limits:
            if limit.basis == "attested" and limit.level == oq("soloist").value:
                self._attested[limit.kind].append(limit)
        self._sections = {
            matter(limit): limit
            for limit in graph.limits
            if limit.basis == "attested" and limit.level == oq("orchestral").value
        }

    def page(self) -> str:
        """The page in Markdown."""
        return "\n".join([_HEAD, *self._sources(), *self._lines()]) + "\n"

    def drawings(self) -> Mapping[str, str]:
        """The drawings in SVG by the names of their files."""
        return {
            "books-and-scores-dynamics.svg": self._dynamics(),
            "books-and-scores-compass.svg": self._compass(),
        }

    def _sources(self) -> Iterator[str]:
        sources = {limit.source for each in self._attested.values() for limit in each}
        for source in sorted(filter(None, sources), key=lambda each: each.label):
            yield f"Measured on: {one_line(source.title)}.\n"

    def _lines(self) -> Iterator[str]:
        drawn = {"DynamicEnvelope": "dynamics", "CompassLimit": "compass"}
        for kind in sorted(self._attested, key=lambda kind: self._graph.label(OQ + kind)):
            label = one_line(self._graph.label(OQ + kind))
            yield f"## {label[0].upper()}{label[1:]}\n"
            if kind in drawn:
                yield (
                    f"![Solid bars are scores, broken ones what others state; the table says the "
                    f"same in words](books-and-scores-{drawn[kind]}.svg)\n"
                )
            yield "| about | scores | of which sections | seen in | others |"
            yield "|---|---|---|---|---|"
            for limit in self._attested[kind]:
                section = self._sections.get(matter(limit))
                cells = (
                    self._name(limit),
                    self._figures(limit),
                    self._figures(section),
                    _seen(limit),
                    self._others.figures(self._others.beside(limit), *_figure_names(limit)),
                )
                yield "| " + " | ".join(_cell(each) for each in cells) + " |"
            yield ""

    def _name(self, limit: Limit) -> str:
        label = self._graph.label(limit.iri)
        return label.removesuffix(", attested").removesuffix(", all parts")

    def _figures(self, limit: Limit | None) -> str:
        """The figures of a limit, each with its name."""
        return ", ".join(
            f"{self._graph.label(OQ + name)} {self._others.figure(limit, name)}"
            for name in _figure_names(limit)
            if limit
        )

    # ------------------------------------------------------------------ drawings

    def _dynamics(self) -> str:
        dynamics = list(self._graph.dynamics.values())
        places = {dynamic.iri: place for place, dynamic in enumerate(dynamics)}
        limits = [each for each in self._attested["DynamicEnvelope"] if each.technique]
        figure, axes = self._rows(limits)
        for row, limit in enumerate(limits):
            for each in (limit, *self._others.beside(limit)):
                soft, loud = each.values.get("softest"), each.values.get("loudest")
                left, right = places.get(str(soft), 0), places.get(str(loud), len(dynamics) - 1)
                _bar(axes, row, (left, right), scores=each is limit)
        axes.set_xticks(range(len(dynamics)), [each.label for each in dynamics], fontstyle="italic")
        return written(figure, "How soft and how loud: scores and others")

    def _compass(self) -> str:
        limits = [each for each in self._attested["CompassLimit"] if not each.technique]
        figure, axes = self._rows(limits)
        tops = set()
        for row, limit in enumerate(limits):
            for each in (limit, *self._others.beside(limit)):
                if (pitch := each.values.get("highestPitch")) is not None:
                    top = Pitch.parse(str(pitch)).midi
                    tops.add(top)
                    axes.plot(
                        [top],
                        [row],
                        "o" if each is limit else "|",
                        color=SURE if each is limit else DOUBTED,
                        markersize=9 if each is limit else 16,
                    )
        octaves = range(12 * (min(tops) // 12), max(tops) + 1, 12) if tops else ()
        axes.set_xticks(list(octaves), [str(Pitch.from_midi(midi)) for midi in octaves])
        return written(figure, "The highest notes: scores and others")

    def _rows(self, limits: Sequence[Limit]) -> tuple[Any, Any]:
        """A drawing with a row for each limit."""
        figure, axes = blank(1 + _ROW * len(limits))
        named = (each.technique or each.instrument or each.family for each in limits)
        axes.set_yticks(range(len(limits)), [self._graph.label(str(iri)) for iri in named])
        axes.set_ylim(len(limits) - 0.5, -0.5)
        axes.grid(axis="x", color=LINE, alpha=0.3, linewidth=0.6)
        return figure, axes


def _bar(axes: Any, row: int, ends: tuple[int, int], *, scores: bool) -> None:
    """A bar: what scores show above what others state."""
    height = row - 0.12 if scores else row + 0.15
    colour, style = (SURE, "-") if scores else (DOUBTED, "--")
    axes.plot(ends, [height] * 2, color=colour, linestyle=style, marker="o", markersize=4)


def _figure_names(limit: Limit | None) -> list[str]:
    names = limit.values if limit else ()
    return sorted(n for n in names if n not in _ABOUT and not n.startswith(_COUNTS))


def _seen(limit: Limit) -> str:
    count = limit.values.get
    return (
        f"{count('attestedPassages')} passages, {count('attestedWorks')} works,"
        f" {count('attestedComposers')} composers"
    )


def _cell(text: str) -> str:
    return one_line(text, 1000).replace("|", "/")
