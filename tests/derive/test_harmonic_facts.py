"""What the notation of harmonics means, told as triples."""

from collections import defaultdict
from collections.abc import Mapping
from fractions import Fraction

import pytest
from pyoxigraph import Literal, NamedNode

from orchq import load
from orchq.derive.derivation import derive
from orchq.notation import Pitch
from orchq.score import Event, HarmonicRole, Mark, Note, Part, Score
from orchq.terms import local_name, oq

KNOWLEDGE = load()
Facts = list[dict[str, str]]

ROLES: Mapping[str, HarmonicRole] = {"b": "base", "t": "touching", "s": "sounding"}


def _note(iri: str, text: str) -> Note:
    """A pitch; behind it ``*`` for a diamond, ``/3`` for a string, ``:b :t :s`` for its role."""
    text, _, role = text.partition(":")
    text, _, string = text.partition("/")
    return Note(
        iri,
        Pitch.parse(text.rstrip("*")),
        string=int(string) if string else None,
        role=ROLES.get(role),
        notehead="diamond" if text.endswith("*") else None,
    )


def _harmonics(
    notes: str,
    sign: str = "",
    *,
    slug: str = "violin",
    section: bool = False,
    tuning: str = "",
    word: str = "",
) -> Facts:
    event = Event(
        iri="x:e",
        measure_index=0,
        measure_number="1",
        offset=Fraction(0),
        onset=Fraction(0),
        duration=Fraction(1),
        notes=tuple(_note(f"x:n{place}", text) for place, text in enumerate(notes.split())),
        marks=frozenset({oq(sign).value} if sign else ()),
    )
    mark = Mark(
        "x:m", 0, "1", Fraction(0), Fraction(0), directives=(oq(word).value,) if word else ()
    )
    part = Part(
        iri="x:p",
        id="P1",
        index=0,
        name=slug,
        instrument=oq(slug).value,
        section=section,
        tuning=tuple((n, Pitch.parse(name)) for n, name in enumerate(tuning.split(), start=1)),
        events=(event,),
        marks=(mark,),
    )
    facts: dict[str, dict[str, str]] = defaultdict(dict)
    for quad in derive(Score("x:score", "", (part,)), KNOWLEDGE).quads:
        assert isinstance(quad.subject, NamedNode)
        assert isinstance(quad.object, NamedNode | Literal)
        if ".harmonic" in quad.subject.value:
            value = quad.object.value
            said = value if isinstance(quad.object, Literal) else local_name(value)
            facts[quad.subject.value][local_name(quad.predicate.value)] = said
    return [facts[name] for name in sorted(facts)]


NATURAL, ARTIFICIAL = "natural-harmonic", "artificial-harmonic"


@pytest.mark.parametrize(
    ("notes", "sign", "sounds"),
    [
        # Berlioz (djvu/29): the fourth touched over a stopped note sounds two octaves up.
        ("B3:b E4*:t", ARTIFICIAL, "B5"),
        ("B3 E4*", "", "B5"),
        ("B3 E4*:t B5:s", ARTIFICIAL, "B5"),
        ("B3 E4", ARTIFICIAL, "B5"),
        ("B3:b B5:s", ARTIFICIAL, "B5"),
        ("B5", ARTIFICIAL, "B5"),
        # Tavan (djvu/17): a sign over the stopped note alone stands for the double octave.
        ("B3", ARTIFICIAL, "B5"),
        # Wolfe, UNSW: touched fourth, fifth and octave of the open string.
        ("C4*", NATURAL, "G5"),
        ("C4*", "", "G5"),
        ("C4", NATURAL, "G5"),
        ("D4*/4:t D5:s", NATURAL, "D5"),
        ("G4/4", NATURAL, "G4"),
        ("E6", NATURAL, "E6"),
        ("E6:s", NATURAL, "E6"),
    ],
)
def test_notations_of_one_harmonic(notes: str, sign: str, sounds: str) -> None:
    (told,) = _harmonics(notes, sign)
    assert told["soundsPitch"] == sounds
    assert told["hasOutcome"] in ("resolved", "ambiguous")
    assert told["isArtificial"] == str(sign == ARTIFICIAL or notes == "B3 E4*").lower()


@pytest.mark.parametrize(
    ("notes", "sign", "outcome"),
    [
        ("C4*:t G5:s", NATURAL, "resolved"),
        ("C4*:t A5:s", NATURAL, "contradiction"),
        ("B3:b E4*:t C6:s", ARTIFICIAL, "contradiction"),
        ("B3:b B3*:t", ARTIFICIAL, "no-node"),
        ("B3:b A3*:t", ARTIFICIAL, "no-node"),
        ("F#3*", NATURAL, "no-node"),
        ("F#3", NATURAL, "no-node"),
        ("C9:s", NATURAL, "beyond-compass"),
        ("C#9*", NATURAL, "beyond-compass"),
        ("B3:b", ARTIFICIAL, "undetermined"),
        ("Ab3*:t", ARTIFICIAL, "undetermined"),
    ],
)
def test_outcomes(notes: str, sign: str, outcome: str) -> None:
    (told,) = _harmonics(notes, sign)
    assert told["hasOutcome"] == outcome


@pytest.mark.parametrize(
    ("notes", "sign", "word"),
    [
        ("A4", NATURAL, ""),  # the circle is also the sign of an open string
        ("B3", "", "harmonics"),  # the word leaves the kind open
        ("F#3:b B3*:t", ARTIFICIAL, ""),  # a rule about low notes speaks of the stopped one
        ("C8:b F8*:t", ARTIFICIAL, ""),  # and one about high notes
        ("A4", "", ""),
    ],
)
def test_where_nothing_is_told(notes: str, sign: str, word: str) -> None:
    assert _harmonics(notes, sign, word=word) == []


def test_a_word_does_not_hide_what_is_touched() -> None:
    (told,) = _harmonics("C4*", word="harmonics")
    assert told["soundsPitch"] == "G5"


def test_a_circle_over_a_pitch_of_no_open_string_asks_for_a_stopped_one() -> None:
    """F7 is no partial of an open string; over F5 it speaks."""
    (told,) = _harmonics("F7", NATURAL)
    assert (told["soundsPitch"], told["isArtificial"]) == ("F7", "true")


def test_of_two_heads_under_a_circle_one_may_be_stopped() -> None:
    """Ab3 is no harmonic that speaks; D5 is the octave of the D string."""
    (told,) = _harmonics("Ab3 D5", NATURAL)
    assert told["notatedAs"] == "D5"
    assert _harmonics("Ab3 E5", NATURAL) == []  # the circle is that of the open E string


def test_a_circle_over_two_harmonics() -> None:
    told = _harmonics("C4 G4", NATURAL, slug="viola")
    assert [each["soundsPitch"] for each in told] == ["C4", "G4"]


def test_each_diamond_belongs_to_the_stopped_note_under_it() -> None:
    told = _harmonics("F#4 B3 B4* E4*")
    assert [each["notatedAs"] for each in told] == ["E4 touched over B3", "B4 touched over F#4"]
    assert [each["soundsPitch"] for each in told] == ["B5", "F#6"]


def test_a_diamond_far_above_a_stopped_note_is_natural() -> None:
    (told,) = _harmonics("C4 E6*")
    assert (told["notatedAs"], told["isArtificial"]) == ("E6 touched", "false")


def test_a_diamond_over_an_open_string_is_natural() -> None:
    (told,) = _harmonics("G3 C4*")
    assert (told["soundsPitch"], told["isArtificial"]) == ("G5", "false")


def test_the_printed_string_decides() -> None:
    """D5 is touched as the fourth above A4 and as the octave of D4."""
    for string, sounds in (("2", "A6"), ("3", "D5")):
        (told,) = _harmonics(f"D5*/{string}", NATURAL)
        assert told["soundsPitch"] == sounds


def test_retuned_strings_decide() -> None:
    assert _harmonics("D4*", NATURAL, tuning="E5 A4 D4 A3")[0]["soundsPitch"] == "A5"


@pytest.mark.parametrize(
    ("notes", "slug", "section", "verdict"),
    [
        # Berlioz (djvu/51): thumb on A4, third finger on D5.
        ("A4:b D5*:t", "cello", False, "good"),
        ("D2:b A2*:t", "cello", False, "impossible"),
        # 118 mm, between the 108 and 124 mm from memory that viola players of the two levels span.
        ("C#3:b G#3*:t", "viola", True, "impractical"),
        ("C#3:b G#3*:t", "viola", False, "uncertain"),
        # Berlioz (djvu/29): thirds speak much less well.
        ("B4:b D#5*:t", "violin", False, "unreliable"),
        ("B4:b D5*:t", "violin", False, "unreliable"),
        # Wolfe, UNSW: not reliable above about the eighth partial.
        ("A3*", "violin", False, "uncertain"),
        ("Ab3*", "violin", False, "unreliable"),
        # Berlioz (djvu/62) denies them, the Encyclopaedia Britannica grants them.
        ("D3:b G3*:t", "double-bass", False, "uncertain"),
    ],
)
def test_verdicts(notes: str, slug: str, section: bool, verdict: str) -> None:
    (told,) = _harmonics(notes, slug=slug, section=section)
    assert told["hasVerdict"] == verdict


@pytest.mark.parametrize(
    ("notes", "better"),
    [
        # Berlioz (djvu/29): the twelfth of an open string is fuller as a natural harmonic.
        ("B4:b E5*:t", "touch B5 on the E string"),
        ("C4:b G4*:t", "touch C4 on the G string"),
        ("B3:b E4*:t", None),  # the fifth partial of the G string is no fuller
        ("B4:b D#5*:t", None),
        ("C5:b F5*:t", None),
    ],
)
def test_a_natural_harmonic_for_the_same_pitch(notes: str, better: str | None) -> None:
    (told,) = _harmonics(notes, ARTIFICIAL)
    assert told.get("betterAs") == better


def test_a_better_way_is_named_by_the_string_as_tuned() -> None:
    (told,) = _harmonics("C5:b F5*:t", tuning="F5 A4 D4 G3")
    assert told["betterAs"] == "touch C6 on the F string"
