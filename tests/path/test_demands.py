"""What a line asks of the hand, and the postures that are weighed for it."""

from fractions import Fraction

import pytest

from orchq.derive.hand import hand_model
from orchq.derive.path.passages import Passages
from orchq.derive.path.postures import Printed, table_of
from orchq.derive.staves import staves_of
from orchq.notation import Pitch
from orchq.score import Event, Note, Part, Score
from orchq.terms import OQ


def turning(line, knowledge):
    """The places of a line of quarter notes where it changes direction."""
    events = tuple(
        Event(
            f"score:e{place}", 0, "1", Fraction(place), Fraction(place), Fraction(1),
            (Note(f"score:e{place}n", Pitch.parse(name)),),
        )
        for place, name in enumerate(line.split())
    )  # fmt: skip
    part = Part("score:P1", "P1", 0, "Violin", OQ + "violin", events=events)
    [staff] = staves_of(Score("score:", "line", (part,)), knowledge)[part.iri]
    [asked] = Passages(staff, 90.0).read()
    return [place for place, each in enumerate(asked) if each.step.moment.turns]


@pytest.mark.parametrize(
    ("line", "places"),
    [
        ("G4 A4 B4 A4 G4", [2]),
        ("G4 A4 G4 A4", [1, 2]),
        ("G4 A4 B4 C5", []),
        # A note that is repeated before the line turns is no turn: the hand stays.
        ("G4 A4 A4 B4", []),
        ("G4 A4 A4 G4", []),
    ],
)
def test_a_line_turns_where_it_changes_direction(knowledge, line, places):
    assert turning(line, knowledge) == places


@pytest.mark.parametrize(
    ("pitch", "lowest"),
    [
        ("A4", "D4"),  # not on the G string: the A string has it open
        ("G#4", "G3"),
        ("E5", "A4"),  # not on the D string: the E string has it open
        ("D#5", "D4"),
        ("E6", "A4"),
    ],
)
def test_far_up_a_string_is_sought_only_where_no_string_near_has_the_note(knowledge, pitch, lowest):
    """Beyond the octave on a string the one next but one above is nearer, unless it is printed."""
    model = hand_model(knowledge, knowledge.instruments[OQ + "violin"], level="soloist")
    table, midi = table_of(model), Pitch.parse(pitch).midi
    strings = {each.string for row in table.at(((midi,), (Printed(),))).rows for each in row.taken}
    assert model.strings[max(strings)] == Pitch.parse(lowest).midi
    called = table.at(((midi,), (Printed(string=2),))).rows
    assert {each.string for row in called for each in row.taken} == {2}
