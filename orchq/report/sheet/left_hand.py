"""What the left hand does: harmonics along the strings, and double stops by interval."""

from collections.abc import Mapping, Sequence

from msgspec import Struct

from orchq.derive.harmonics import natural_harmonics
from orchq.derive.states import ARCO
from orchq.errors import OrchqError
from orchq.notation import Pitch
from orchq.questions.answers import NOTHING
from orchq.questions.grips import HarmonicAnswer
from orchq.questions.judging import Hands
from orchq.report.board_map import TouchedNode, board_map_svg
from orchq.report.sheet.sheet_tables import SheetTables
from orchq.report.tables import Table, TableRow

INTERVALS: Mapping[int, str] = {
    1: "m2",
    2: "M2",
    3: "m3",
    4: "M3",
    5: "P4",
    6: "TT",
    7: "P5",
    8: "m6",
    9: "M6",
    10: "m7",
    11: "M7",
    12: "P8",
    13: "m9",
    14: "M9",
    15: "m10",
    16: "M10",
}
"""The short names of intervals by semitones: minor, major, perfect, tritone."""

_ABOVE = 12
"""Semitones above the last string but one to which lower notes of double stops are listed."""


class NodePlace(Struct, frozen=True):
    """Where strings are touched: ``place`` is the part of their length from the nut."""

    partial: int
    node: str
    place: float
    speech: str


class NaturalHarmonics(Struct, frozen=True):
    """Natural harmonics: a row for each node towards the nut, a column for each string.

    ``nodes`` are all from nut to bridge, ``touched`` those of the strings that speak well.
    """

    table: Table
    nodes: tuple[NodePlace, ...]
    touched: tuple[TouchedNode, ...]


def harmonics(content: SheetTables) -> NaturalHarmonics:
    """Natural harmonics of all strings.

    Raises ``OrchqError`` when the graph lacks what they are computed from.
    """
    instrument, ask = content.instrument, content.ask
    strings = instrument.standard.strings
    granted = Hands(ask, content.stand).limits(instrument).highest_partial
    opened = [string.pitch.midi for string in strings]
    sounding = {each.sounding.midi for each in natural_harmonics(opened, granted)}
    found: dict[tuple[int, str], dict[str, HarmonicAnswer]] = {}
    for midi in sorted(sounding):
        answers = ask.harmonics(on=instrument.iri, pitch=midi, kind="natural", **content.follows)
        for answer in answers:
            found.setdefault((answer.partial, answer.node), {})[answer.base] = answer
    rows, places = [], []
    touched: list[TouchedNode] = []
    for (partial, node), ways in sorted(found.items(), key=lambda each: _along(*each[0])):
        place = _along(partial, node)[1]
        (speech,) = {way.speech for way in ways.values()}
        places.append(NodePlace(partial, node, place, speech))
        if speech == "good":
            touched += [TouchedNode(way.number, place, way.sounding) for way in ways.values()]
        if place <= 1 / 2:
            cells = (_way(ways.get(string.pitch.name)) for string in strings)
            evidence = [evidence for way in ways.values() for evidence in way.evidence]
            rows.append(
                TableRow((str(partial), node, *cells, speech), content.citations.cite(evidence))
            )
    heads = ("partial", "place", *(f"{string.name} string" for string in strings), "speaks")
    return NaturalHarmonics(
        Table("Natural harmonics", heads, tuple(rows)), tuple(places), tuple(touched)
    )


def board_map(content: SheetTables, touched: Sequence[TouchedNode]) -> str:
    """The fingerboard as a map, empty where the graph does not describe the hand."""
    instrument = content.instrument
    try:
        model = Hands(content.ask, content.stand).model(instrument)
    except OrchqError:
        return ""
    names = ", ".join(string.name for string in reversed(instrument.standard.strings))
    words = (
        f"Fingerboard with the strings {names}: notes without signs, positions by Roman numbers,"
        " and natural harmonics that speak well with what sounds; the tables repeat it in words"
    )
    return board_map_svg(model, instrument.standard.strings, touched, words)


def _along(partial: int, node: str) -> tuple[int, float]:
    count, parts = map(int, node.split("/"))
    return partial, count / parts


def _way(way: HarmonicAnswer | None) -> str:
    """What is touched and what sounds, each with the cents by which it is off."""
    if way is None:
        return NOTHING
    return f"{_off(way.touched, way.touched_cents)} sounds {_off(way.sounding, way.sounding_cents)}"


def _off(pitch: str, cents: int) -> str:
    return f"{pitch} {cents:+d}" if cents else pitch


def double_stops(content: SheetTables) -> Table:
    """How hard each interval is over each lower note: struck, or plucked where there is no bow.

    Raises ``OrchqError`` when the graph lacks what the hand is computed from.
    """
    instrument = content.instrument
    lowest = instrument.standard.lowest.pitch.midi
    upper = sorted(string.pitch.midi for string in instrument.standard.strings)[-2:]
    bowed = content.ask.knowledge.techniques[ARCO].is_on(instrument)
    rows = []
    every = []
    for low in range(lowest, upper[0] + _ABOVE + 1):
        cells = []
        for interval in INTERVALS:
            pitches = f"{Pitch.from_midi(low)} {Pitch.from_midi(low + interval)}"
            (answer,) = content.ask.stops(on=instrument.iri, pitches=pitches, **content.follows)
            every += [each for each in answer.evidence if each.basis != "physics"]
            cells.append((answer.struck if bowed else answer.plucked).grade)
        rows.append(TableRow((Pitch.from_midi(low).name, *cells)))
    cites = content.citations.cite(dict.fromkeys(every))
    return Table(
        "Double stops",
        ("lower note", *INTERVALS.values()),
        (TableRow(rows[0].cells, cites), *rows[1:]),
    )
