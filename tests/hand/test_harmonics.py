"""Harmonics against published tables, all of them computed."""

from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace

from orchq.derive.hand import HandModel, node_at, nodes
from orchq.derive.harmonic_limits import HarmonicLimits
from orchq.derive.harmonics import (
    Harmonic,
    HarmonicGrade,
    HarmonicNotation,
    artificial,
    better_way,
    natural_harmonics,
    resolve,
    ways_to_sound,
)
from orchq.notation import Pitch

Models = dict[str, HandModel]
Grants = dict[str, HarmonicLimits]
Table = Callable[[str], list[dict[str, str]]]


def _midi(name: str) -> int:
    return Pitch.parse(name).midi


def _tempered(text: str) -> tuple[int, int]:
    """Split ``Bb3+16`` into MIDI number and cents."""
    cut = max(text.rfind("+"), text.rfind("-"))
    return _midi(text[:cut]), int(text[cut:])


def _natural_lines() -> list[list[str]]:
    text = (Path(__file__).parent / "data" / "natural_harmonics.csv").read_text(encoding="utf-8")
    return [line.split(",") for line in text.splitlines() if not line.startswith("#")]


def test_nodes_of_partials_2_to_8(table: Table) -> None:
    rows = table("nodes.csv")
    assert [str(node) for node in nodes(8, whole_string=True)] == [row["node"] for row in rows]
    for node, row in zip(nodes(8, whole_string=True), rows, strict=True):
        for exact, name in ((node.touch, "touch"), (node.sound, "sound")):
            assert round(exact, 2) == float(row[name])
            assert round(exact) == int(row[f"nearest_{name}"])
            assert round((exact - round(exact)) * 100) == int(row[f"{name}_cents"])


@pytest.mark.parametrize("line", _natural_lines(), ids=lambda line: f"{line[1]}-{line[0]}")
def test_natural_harmonics_of_a_string(line: list[str]) -> None:
    opened, _, *expected = line
    found = [
        (
            str(each.node),
            (each.touched.midi, each.touched_cents),
            (each.sounding.midi, each.sounding_cents),
        )
        for each in natural_harmonics([_midi(opened)], 8)
    ]
    wanted = [(node, _tempered(t), _tempered(s)) for node, t, s in map(str.split, expected)]
    assert found == wanted


def test_the_table_of_natural_harmonics_is_complete() -> None:
    assert sum(len(line) - 2 for line in _natural_lines()) == 198


def test_berlioz_scale_of_touched_fourths(table: Table, models: Models, grants: Grants) -> None:
    rows = table("touch_fourth.csv")
    assert len(rows) == 15
    for row in rows:
        ways = artificial(_midi(row["stopped"]), 5, models["violin"], grants["violin"])
        best = ways[0]
        assert best.verdict == HarmonicGrade.GOOD
        assert {way.sounding.midi for way in ways} == {_midi(row["sounding"])}
        assert best.touched.midi == _midi(row["touched"])
        assert (best.kind == "natural") == (row["fingers"] == "open")


def test_berlioz_takes_first_and_fourth_finger(models: Models, grants: Grants) -> None:
    """In the lower positions; high up the frame shrinks and other fingers do as well."""
    for stopped in ("A3", "B3"):
        way = artificial(_midi(stopped), 5, models["violin"], grants["violin"])[0]
        assert way.fingers == ("1", "4")


def test_what_artificial_harmonics_sound(table: Table, models: Models, grants: Grants) -> None:
    for row in table("artificial.csv"):
        touch = int(row["touch"])
        for height in (1, 5, 8):
            low = models["violin"].strings[-1] + height
            way = artificial(low, touch, models["violin"], grants["violin"])[-1]
            assert way.partial == int(row["partial"])
            assert way.sounding.midi - low == int(row["sounds"])
            assert way.sounding.midi - way.touched.midi == int(row["above_touch"])


def test_how_artificial_harmonics_speak(table: Table, models: Models, grants: Grants) -> None:
    """Fourth and fifth well (the fifth high up), thirds worse, sixth and octave out of reach."""
    violin, granted = models["violin"], grants["violin"]
    told = {"well": HarmonicGrade.GOOD, "poorly": HarmonicGrade.UNRELIABLE}
    for row in table("artificial.csv"):
        ways = artificial(_midi("D4"), int(row["touch"]), violin, granted)
        on_g = next(way for way in ways if way.string == 4)
        if row["speaks"] in told:
            assert on_g.verdict == told[row["speaks"]], row
    for touch in (9, 12):
        low = artificial(_midi("Ab3"), touch, violin, granted)[0]
        assert (low.verdict, low.code) == (HarmonicGrade.IMPOSSIBLE, "out-of-reach")


def test_a_touched_fifth_wants_a_high_position(models: Models, grants: Grants) -> None:
    """Sametini, in Martens, Violin Mastery: the fifth asks for a wide stretch."""
    verdicts = [
        next(
            way.verdict
            for way in artificial(55 + height, 7, models["violin"], grants["violin"])
            if way.string == 4
        )
        for height in range(1, 13)
    ]
    assert verdicts[0] > HarmonicGrade.GOOD
    assert verdicts[-1] == HarmonicGrade.GOOD
    assert verdicts == sorted(verdicts, reverse=True)


@pytest.mark.parametrize(
    ("touch", "highest", "node"),
    [
        (12, 8, "1/2"), (7, 8, "1/3"), (5, 8, "1/4"), (4, 8, "1/5"), (3, 8, "1/6"),
        (6, 8, "2/7"), (8, 8, "3/8"), (2, 9, "1/9"), (9, 8, "2/5"), (2, 8, "1/8"),
    ],
)  # fmt: skip
def test_what_a_touch_means(touch: int, highest: int, node: str) -> None:
    """J. Wolfe, Strings, standing waves and harmonics (UNSW); the last two are computed."""
    assert str(node_at(touch, highest)) == node


def test_no_node_under_the_finger() -> None:
    assert node_at(1, 8) is None
    assert node_at(0, 16) is None


def test_partials_beyond_what_is_granted(models: Models, grants: Grants) -> None:
    """Wolfe (UNSW): above about the eighth partial harmonics are not reliable."""
    cello, granted = models["cello"], grants["cello"]
    opened = cello.strings[0]
    verdicts = {
        touch: artificial(opened, touch, cello, granted)[0].verdict for touch in (12, 3, 6, 1)
    }
    assert verdicts == {
        12: HarmonicGrade.GOOD,
        3: HarmonicGrade.GOOD,
        6: HarmonicGrade.UNCERTAIN,
        1: HarmonicGrade.UNRELIABLE,
    }


def test_many_partials_of_a_long_string() -> None:
    on_e = natural_harmonics([28], 12)
    assert max(each.partial for each in on_e) == 12
    assert {each.sounding.name for each in on_e if each.partial == 9} == {"F#4"}


def _told(ways: tuple[Harmonic, ...]) -> set[tuple[str, int, str]]:
    return {(way.kind, way.string, way.touched.name) for way in ways}


def test_ways_to_sound_a_pitch(models: Models, grants: Grants) -> None:
    """A6 on the violin: two nodes of the A string, one of the D string, and over a stopped A4."""
    ways = ways_to_sound(_midi("A6"), models["violin"], grants["violin"])
    assert all(way.sounding.midi == _midi("A6") for way in ways)
    assert {("natural", 2, "D5"), ("natural", 2, "A6"), ("natural", 3, "F4")} <= _told(ways)
    assert ("artificial", 3, "D5") in _told(ways)
    assert list(ways) == sorted(ways, key=lambda way: way.verdict)
    assert (ways[0].kind, ways[0].string, ways[0].partial) == ("natural", 2, 4)


def test_no_better_way(models: Models, grants: Grants) -> None:
    """C7 lies on no open string in tune: on the D string it is 31 cents flat."""
    violin, granted = models["violin"], grants["violin"]
    asked = artificial(_midi("C5"), 5, violin, granted)[0]
    assert asked.verdict == HarmonicGrade.GOOD
    assert better_way(asked, violin, granted) is None
    natural = ways_to_sound(_midi("B6"), violin, granted)[0]
    assert better_way(natural, violin, granted) is None


def test_a_worse_natural_harmonic_has_a_better_way(models: Models, grants: Grants) -> None:
    violin, granted = models["violin"], grants["violin"]
    weak = next(
        each
        for each in ways_to_sound(_midi("A6"), violin, granted)
        if (each.kind, each.partial) == ("natural", 6)
    )
    better = better_way(weak, violin, granted)
    assert better is not None
    assert (better.string, better.partial) == (2, 4)


@pytest.mark.parametrize(
    ("printed", "outcome", "sounds", "kinds"),
    [
        # stopped note and diamond
        ({"base": "B4", "touched": "E5"}, "resolved", {"B6"}, {"artificial"}),
        ({"base": "B4", "touched": "E5", "sounding": "B6"}, "resolved", {"B6"}, {"artificial"}),
        ({"base": "B4", "touched": "E5", "sounding": "B5"}, "contradiction", {"B6"},
         {"artificial"}),
        # the base is an open string: natural, and artificial on the strings below
        ({"base": "A4", "touched": "D5", "string": 2}, "resolved", {"A6"}, {"natural"}),
        ({"base": "A4", "touched": "D5", "kind": "artificial"}, "resolved", {"A6"}, {"artificial"}),
        # diamond alone
        ({"touched": "B5", "string": 1}, "resolved", {"B6"}, {"natural"}),
        ({"touched": "D5"}, "ambiguous", {"D5", "A6"}, {"natural"}),
        ({"touched": "D5", "sounding": "A6"}, "resolved", {"A6"}, {"natural"}),
        # small circle
        ({"sounding": "B6", "kind": "natural"}, "resolved", {"B6"}, {"natural"}),
        ({"sounding": "C7", "kind": "artificial"}, "resolved", {"C7"}, {"artificial"}),
        # touched and sounding over a stopped note that is not printed
        ({"touched": "E5", "sounding": "B6", "kind": "artificial"}, "resolved", {"B6"},
         {"artificial"}),
        # nothing to go by
        ({"base": "B4"}, "undetermined", set(), set()),
        ({"touched": "G3"}, "no-node", set(), set()),
        ({"base": "B4", "touched": "B4"}, "no-node", set(), set()),
    ],
)  # fmt: skip
def test_resolving_a_notation(
    models: Models,
    grants: Grants,
    printed: dict[str, str],
    outcome: str,
    sounds: set[str],
    kinds: set[str],
) -> None:
    pitched = {
        name: _midi(value) if name in ("base", "touched", "sounding") else value
        for name, value in printed.items()
    }
    notation = HarmonicNotation(**pitched)  # type: ignore[arg-type]
    found = resolve(notation, models["violin"], grants["violin"])
    assert found.outcome == outcome
    names = {way.sounding.name for way in found.readings}
    assert names >= sounds if outcome == "ambiguous" else names == sounds
    assert {way.kind for way in found.readings} == kinds


def test_refused_artificial_harmonics(models: Models, grants: Grants) -> None:
    refused = replace(grants["cello"], artificial="refused", limits=(("artificial", "limit:no"),))
    way = artificial(_midi("A4"), 5, models["cello"], refused)[0]
    assert (way.verdict, way.code, way.limits) == (
        HarmonicGrade.IMPRACTICAL,
        "refused",
        ("limit:no",),
    )


def test_beyond_the_fingerboard(models: Models, grants: Grants) -> None:
    way = artificial(_midi("A7"), 5, models["violin"], grants["violin"])[0]
    assert (way.verdict, way.code) == (HarmonicGrade.IMPOSSIBLE, "beyond-fingerboard")
