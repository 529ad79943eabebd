"""Answers as drawings in SVG."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from orchq.errors import OrchqError
from orchq.knowledge import Instrument
from orchq.notation import Pitch
from orchq.questions import Answer, Answers, Graph
from orchq.questions.grips import HarmonicAnswer
from orchq.questions.places import StringAnswer
from orchq.questions.playing import DynamicAnswer, TechniqueAnswer
from orchq.questions.printing import NotationAnswer
from orchq.questions.sounding import SoundsAnswer
from orchq.report.answer_report import as_asked
from orchq.report.board_plots import ON_BOARD, board_svg
from orchq.report.printed_examples import examples_svg
from orchq.report.sounds_staff import sounds_svg
from orchq.report.svg import DOUBTED, LINE, REFUSED, SURE, blank, on_any_ground, written
from orchq.report.wording import one_line

_ROW = 0.3
_HEAD = 1.4
_VERDICTS = {
    "allowed": (SURE, "-"),
    "disputed": (DOUBTED, "--"),
    "unusual": (DOUBTED, ":"),
    "not allowed": (REFUSED, ":"),
}
_SPEECH = {
    "good": (SURE, "o"),
    "uncertain": (DOUBTED, "s"),
    "unreliable": (DOUBTED, "^"),
    "impractical": (REFUSED, "v"),
    "impossible": (REFUSED, "x"),
}
_GRADES = {
    "easy": (SURE, "o"),
    "usable": (SURE, "s"),
    "hard": (DOUBTED, "^"),
    "impractical": (REFUSED, "v"),
    "impossible": (REFUSED, "x"),
}
_OCTAVE = 12


def plot_svg(answers: Answers[Answer], graph: Graph) -> str:
    """Draw the answers to a question of ``PLOTTED``, ``ENGRAVED`` or ``ON_BOARD`` as SVG.

    Raises ``OrchqError`` when the question is not drawn, when there is nothing to draw, and when
    matplotlib or verovio is not installed.
    """
    check_drawn(answers.question)
    if not answers:
        raise OrchqError(f"there are no answers to {answers.question} to draw")
    if answers.question in ON_BOARD:
        return board_svg(answers, graph)
    if answers.question in ENGRAVED:
        return on_any_ground(ENGRAVED[answers.question](answers, graph))
    instrument = graph.ask.names.instrument(str(answers.parameters["on"]))
    draw = PLOTTED[answers.question]
    figure, axes = blank(_HEAD + _ROW * _rows(answers, instrument))
    draw(axes, answers, graph, instrument)
    axes.set_title(f"{answers.question}: {as_asked(answers)}", loc="left", fontsize=10)
    return written(figure, one_line(answers.asked.asks))


def check_drawn(question: str) -> None:
    """Refuse a question whose answers cannot be drawn.

    Raises ``OrchqError``.
    """
    if question not in PLOTTED and question not in ENGRAVED and question not in ON_BOARD:
        drawn = ", ".join(sorted((*PLOTTED, *ENGRAVED, *ON_BOARD)))
        raise OrchqError(f"{question} cannot be drawn; these can: {drawn}")


def _rows(answers: Answers[Answer], instrument: Instrument) -> int:
    if answers.question == "strings":
        return 2 * len(instrument.standard.strings)
    return len(answers)


def _scale(axes: Any, graph: Graph) -> Mapping[str, int]:
    """Put the degrees of loudness along the drawing; return their places."""
    dynamics = [dynamic.label for dynamic in graph.dynamics.values()]
    axes.set_xticks(range(len(dynamics)), dynamics, fontstyle="italic")
    axes.set_xlim(-0.5, len(dynamics) - 0.5)
    axes.grid(axis="x", color=LINE, alpha=0.3, linewidth=0.6)
    return {label: place for place, label in enumerate(dynamics)}


def _bar(
    axes: Any, row: int, ends: tuple[str | None, str | None], places: Mapping[str, int], how: Any
) -> None:
    """A bar from the softest to the loudest; an end that is left open has no mark."""
    colour, style = how
    softest, loudest = ends
    left = places[softest] if softest else -0.5
    right = places[loudest] if loudest else len(places) - 0.5
    axes.plot([left, right], [row, row], color=colour, linestyle=style, linewidth=4)
    marks = [places[end] for end in ends if end]
    axes.plot(marks, [row] * len(marks), "o", color=colour, markersize=6)


def _draw_dynamics(
    axes: Any, answers: Answers[Answer], graph: Graph, _instrument: Instrument
) -> None:
    places = _scale(axes, graph)
    labels = []
    for row, answer in enumerate(answers):
        assert isinstance(answer, DynamicAnswer)
        how = (DOUBTED, "--") if answer.basis in ("memory", "derived") else (SURE, "-")
        _bar(axes, row, (answer.softest, answer.loudest), places, how)
        labels.append(f"{answer.technique or 'as a whole'} ({answer.basis})")
    _names(axes, labels)


def _draw_techniques(
    axes: Any, answers: Answers[Answer], graph: Graph, _instrument: Instrument
) -> None:
    places = _scale(axes, graph)
    labels = []
    for row, answer in enumerate(answers):
        assert isinstance(answer, TechniqueAnswer)
        ends = (answer.softest, answer.loudest)
        _bar(axes, row, ends, places, _VERDICTS[answer.verdict])
        labels.append(f"{answer.technique} ({answer.verdict})")
    axes.axvline(places[str(answers.parameters["at"])], color=LINE, linewidth=1)
    _names(axes, labels)


def _names(axes: Any, labels: Sequence[str]) -> None:
    axes.set_yticks(range(len(labels)), [one_line(label, 80) for label in labels])
    axes.set_ylim(len(labels) - 0.5, -0.5)


def _neck(axes: Any, instrument: Instrument) -> Mapping[int, int]:
    """Draw the strings from nut to bridge; return their rows by number."""
    strings = instrument.standard.strings
    for row in range(len(strings)):
        axes.plot([0, 1], [row, row], color=LINE, linewidth=0.8 + 0.4 * row, zorder=1)
    axes.set_ylim(len(strings) - 0.5, -0.7)
    axes.set_yticks(range(len(strings)), [f"{string.name} ({string.pitch})" for string in strings])
    _along(axes)
    return {string.number: row for row, string in enumerate(strings)}


def _along(axes: Any) -> None:
    """Name the places from nut to bridge."""
    axes.set_xlim(-0.03, 1.03)
    axes.set_xticks([0, 0.25, 0.5, 0.75, 1], ["nut", "1/4", "1/2", "3/4", "bridge"])


def _place(semitones: float) -> float:
    """How far along the string a height above the open string lies, the whole being 1."""
    return float(1 - 2 ** (-semitones / _OCTAVE))


def _draw_strings(
    axes: Any, answers: Answers[Answer], _graph: Graph, instrument: Instrument
) -> None:
    rows = _neck(axes, instrument)
    for answer in answers:
        assert isinstance(answer, StringAnswer)
        if answer.tuning is None:
            colour, mark = _GRADES.get(answer.grade or "", (LINE, "o"))
            _mark(axes, (_place(answer.semitones), rows[answer.number]), colour, mark, 9)
            finger = f", finger {answer.finger}" if answer.finger else ""
            words = f"{answer.semitones} semitones{finger} ({answer.grade or 'not graded'})"
            _write(axes, (_place(answer.semitones), rows[answer.number]), words)


def _draw_harmonics(
    axes: Any, answers: Answers[Answer], _graph: Graph, instrument: Instrument
) -> None:
    """Each harmonic on a line of its own: where a finger stops, and where one touches."""
    opened = {string.number: string.pitch.midi for string in instrument.standard.strings}
    labels = []
    for row, answer in enumerate(answers):
        assert isinstance(answer, HarmonicAnswer)
        low = opened[answer.number]
        touched = Pitch.parse(answer.touched).midi - low + answer.touched_cents / 100
        colour, mark = _SPEECH[answer.speech]
        point = _place(touched), row
        axes.plot([0, 1], [row, row], color=LINE, linewidth=0.8, zorder=1)
        if answer.kind == "artificial":
            stopped = _place(Pitch.parse(answer.base).midi - low)
            axes.plot([stopped, point[0]], [row, row], color=colour, linewidth=2, zorder=2)
            _mark(axes, (stopped, row), colour, "|", 12)
        _mark(axes, point, colour, mark, 7)
        words = f"{answer.touched} ({answer.node})"
        if answer.kind == "artificial":
            words = f"{answer.base} stopped, {words}"
        axes.annotate(words, (1.05, row), fontsize=7, va="center", annotation_clip=False)
        labels.append(f"{answer.string} string, {answer.kind}, {answer.speech}")
    _names(axes, labels)
    _along(axes)


def _mark(axes: Any, point: tuple[float, int], colour: str, mark: str, size: int) -> None:
    axes.plot(*point, mark, color=colour, markersize=size, zorder=3)


def _write(axes: Any, point: tuple[float, int], words: str) -> None:
    axes.annotate(words, point, xytext=(0, 7), textcoords="offset points", fontsize=7, ha="center")


def _engrave_sounds(answers: Answers[Answer], graph: Graph) -> str:
    instrument = graph.ask.names.instrument(str(answers.parameters["on"]))
    return sounds_svg([each for each in answers if isinstance(each, SoundsAnswer)], instrument)


def _engrave_notation(answers: Answers[Answer], _graph: Graph) -> str:
    (answer,) = answers
    assert isinstance(answer, NotationAnswer)
    if not answer.examples:
        raise OrchqError(f"the graph has no example of {answer.technique} to draw")
    return examples_svg(answer.examples)


PLOTTED: Mapping[str, Callable[[Any, Answers[Answer], Graph, Instrument], None]] = {
    "dynamics": _draw_dynamics,
    "harmonics": _draw_harmonics,
    "strings": _draw_strings,
    "techniques": _draw_techniques,
}
"""The questions whose answers are drawn on scales and strings."""

ENGRAVED: Mapping[str, Callable[[Answers[Answer], Graph], str]] = {
    "notation": _engrave_notation,
    "sounds": _engrave_sounds,
}
"""The questions whose answers are engraved as notes."""
