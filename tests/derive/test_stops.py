"""Stops as triples, checked against what a player would say of them."""

from collections import defaultdict
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyoxigraph import Literal, NamedNode

import orchq
from orchq.derive.derivation import derive
from orchq.derive.hand import hand_model, solver_for
from orchq.knowledge import Instrument
from orchq.notation import Pitch
from orchq.rules.checking import check_score
from orchq.score import Event, Mark, Part, Score
from orchq.terms import local_name, oq

from .conftest import KNOWLEDGE, make_event, make_mark

Facts = dict[str, dict[str, set[str]]]


def _instrument(slug: str) -> Instrument:
    return KNOWLEDGE.instruments[oq(slug).value]


def _event(onset: float, notes: str, duration: float = 1, *signs: str) -> Event:
    return make_event(onset, (onset, duration, notes), *signs)


def _score(
    *events: Event,
    slug: str = "violin",
    section: bool = False,
    marks: tuple[Mark, ...] = (),
    tuning: str = "",
) -> Score:
    part = Part(
        iri="x:p",
        id="P1",
        index=0,
        name=slug,
        instrument=oq(slug).value,
        section=section,
        tuning=tuple((n, Pitch.parse(name)) for n, name in enumerate(tuning.split(), start=1)),
        events=events,
        marks=marks,
    )
    return Score("x:score", "", (part,))


def _stops(score: Score, level: str | None = None) -> Facts:
    """What is said of each stop, by its event: local names and literals."""
    facts: Facts = defaultdict(lambda: defaultdict(set))
    for quad in derive(score, KNOWLEDGE, level=level).quads:
        assert isinstance(quad.subject, NamedNode)
        assert isinstance(quad.object, NamedNode | Literal)
        name = quad.subject.value
        if name.endswith(".stop"):
            value = quad.object.value
            said = value if isinstance(quad.object, Literal) else local_name(value)
            facts[name.removesuffix(".stop")][local_name(quad.predicate.value)].add(said)
    return facts


def _only(score: Score, level: str | None = None) -> dict[str, set[str]]:
    (stop,) = _stops(score, level).values()
    return stop


def test_what_is_said_of_an_easy_stop() -> None:
    stop = _only(_score(_event(0, "G3 B4 D4", 2)))
    assert stop["spelledOut"] == {"G3-D4-B4"}
    assert stop["noteCount"] == {"3"}
    assert stop["stoppedCount"] == {"1"}
    assert stop["isBowed"] == {"true"}
    assert stop["gradeAsWritten"] == {"grade-easy"}
    assert stop["soundsQuarters"] == stop["overheldQuarters"] == {"2.0"}
    assert not {"mayDivide", "repeatsStop", "isBarredByStrings", "exceedsStopCount"} & set(stop)


@pytest.mark.parametrize(
    ("notes", "tuning", "text"),
    [
        ("G3 A3", "", "both lie on the G string only"),
        ("G3 A3 E5", "", "G3 and A3 lie on the G string only"),
        ("G3 D4 E4", "", "G3, D4 and E4 lie on the G and D strings only"),
        ("A3 C4", "E5 A4 D4 A3", "both lie on the A string only"),
        ("G3 D4 A4 E5 B5", "", "5 notes on 4 strings"),
    ],
)
def test_strings_that_are_too_few_are_named(notes: str, tuning: str, text: str) -> None:
    stop = _only(_score(_event(0, notes), tuning=tuning))
    assert stop["becauseOf"] == {text}
    assert stop["isBarredByStrings"] == {"true"}
    assert "restsOn" not in stop


def test_what_rests_on_measured_hands_is_not_barred_by_strings() -> None:
    stop = _only(_score(_event(0, "Bb3 Bb4 Bb5")))
    assert stop["gradeAsWritten"] == {"grade-impossible"}
    assert "isBarredByStrings" not in stop
    frames = {local_name(limit.iri) for limit in KNOWLEDGE.limits if limit.kind == "HandFrame"}
    assert stop["restsOn"]
    assert stop["restsOn"] <= frames


@pytest.mark.parametrize(
    ("signs", "grade"),
    [
        ((), "grade-impossible"),
        (("pizzicato",), "grade-easy"),
        (("snap-pizzicato",), "grade-easy"),
        (("col-legno-battuto",), "grade-impossible"),
        (("arpeggiate",), "grade-easy"),
    ],
)
def test_strings_apart_are_plucked_but_neither_bowed_nor_struck(
    signs: tuple[str, ...], grade: str
) -> None:
    assert _only(_score(_event(0, "Ab3 C5", 1, *signs)))["gradeAsWritten"] == {grade}


@pytest.mark.parametrize("sign", ["pizzicato", "col-legno-battuto"])
def test_what_is_not_bowed_is_not_overheld(sign: str) -> None:
    stop = _only(_score(_event(0, "G3 D4 B4", 4, sign)))
    assert stop["isBowed"] == {"false"}
    assert "overheldQuarters" not in stop


def test_four_notes_of_berlioz_struck_and_broken() -> None:
    """Berlioz (djvu/14): extremely hard when struck; broken, the hand moves between notes."""
    struck = _only(_score(_event(0, "D4 G4 D5 B5")))
    broken = _only(_score(_event(0, "D4 G4 D5 B5", 1, "arpeggiate")))
    assert struck["gradeAsWritten"] <= {"grade-hard", "grade-impractical"}
    assert broken["gradeAsWritten"] == broken["gradeBroken"] == struck["gradeBroken"]
    assert broken["gradeAsWritten"] <= {"grade-easy", "grade-usable"}


def test_a_divisi_is_shared_out_evenly() -> None:
    """Four notes in two parts are two double stops, whatever three and one would be."""
    score = _score(_event(0, "G3 D4 B4 G5"), section=True, marks=(make_mark(0, "divisi"),))
    assert _only(score)["noteCount"] == {"2"}


def test_the_worst_placed_player_of_a_divisi_is_told() -> None:
    marks = (make_mark(0, "divisi", number=2),)
    stop = _only(_score(_event(0, "G3 A3 F4"), section=True, marks=marks))
    assert stop["spelledOut"] == {"A3-F4"}
    assert "isBarredByStrings" not in stop
    stop = _only(_score(_event(0, "G3 A3 B3"), section=True, marks=marks))
    assert stop["isBarredByStrings"] == {"true"}


@pytest.mark.parametrize(
    ("second", "repeats"),
    [
        (_event(1, "G3 D4"), True),
        (_event(2, "G3 D4"), False),
        (_event(1, "G3 E4"), False),
        (_event(1, "G3 D4", 2), False),
        (_event(1, "G3 D4", 1, "arpeggiate"), False),
        (_event(1, "G3 D4", 1, "pizzicato"), False),
    ],
)
def test_a_stop_repeats_what_is_alike_and_follows_at_once(second: Event, repeats: bool) -> None:
    facts = _stops(_score(_event(0, "G3 D4"), second))
    assert "repeatsStop" not in facts["x:e0"]
    assert ("repeatsStop" in facts[second.iri]) == repeats


def test_a_new_dynamic_makes_a_new_stop() -> None:
    marks = (make_mark(0, "f"), make_mark(1, "p"))
    facts = _stops(_score(_event(0, "G3 D4"), _event(1, "G3 D4"), marks=marks))
    assert "repeatsStop" not in facts["x:e1"]


def test_notes_below_the_strings_are_left_to_their_rule() -> None:
    assert _stops(_score(_event(0, "F3 D4"))) == {}


def test_retuned_strings_decide() -> None:
    assert "isBarredByStrings" in _only(_score(_event(0, "A3 C4")))
    assert "isBarredByStrings" not in _only(_score(_event(0, "A3 C4"), tuning="E5 A4 C4 G3"))


def test_counts_of_the_double_bass() -> None:
    """Berlioz (djvu/62): two or three notes of which one is stopped; from memory, two are."""
    allowed = _only(_score(_event(0, "D2 B2"), slug="double-bass"))
    denied = _only(_score(_event(0, "F1 C2 F2"), slug="double-bass"))
    student = _only(_score(_event(0, "F1 Bb1"), slug="double-bass"), oq("student").value)
    assert "exceedsStopCount" not in allowed
    assert denied["exceedsStopCount"] == {"true"}
    counts = {"limit-stops-double-bass-berlioz", "limit-stops-double-bass-memory"}
    assert denied["restsOn"] == counts
    assert student["restsOn"] == {"limit-stops-double-bass-berlioz"}


def test_a_student_is_asked_less_than_a_soloist() -> None:
    score = _score(_event(0, "A4 F5"), _event(1, "E5 C6"))
    grades = {
        level: [stop["gradeAsWritten"] for stop in _stops(score, oq(level).value).values()]
        for level in ("student", "soloist")
    }
    assert grades["student"] != grades["soloist"]


BOWED = sorted(KNOWLEDGE.instruments)


@given(st.sampled_from(BOWED), st.sets(st.integers(0, 40), min_size=2, max_size=5))
def test_violations_are_what_strings_alone_forbid(iri: str, heights: set[int]) -> None:
    """A finding is a violation if, and only if, no distinct strings are low enough.

    The lowest notes go to the lowest strings; the n-th must find n strings no higher than it.
    """
    instrument = KNOWLEDGE.instruments[iri]
    strings = [string.pitch.midi for string in instrument.standard.strings]
    midis = sorted(min(strings) + height for height in heights)
    names = " ".join(Pitch.from_midi(midi).name for midi in midis)
    score = _score(_event(0, names), slug=instrument.slug)
    report = check_score(score, KNOWLEDGE, file="x", rules=["stop-impossible"])
    barred = any(
        sum(string <= midi for string in strings) < count
        for count, midi in enumerate(midis, start=1)
    )
    violations = [f for f in report.findings if f.severity == "violation"]
    assert bool(violations) == barred
    assert all(e.basis == "physics" for f in violations for e in f.evidence)


@given(st.sampled_from(BOWED), st.sets(st.integers(0, 24), min_size=2, max_size=4))
def test_the_grade_is_that_of_the_solver_in_pairs_where_nothing_hurries(
    iri: str, heights: set[int]
) -> None:
    instrument = KNOWLEDGE.instruments[iri]
    model = hand_model(KNOWLEDGE, instrument, level=oq("soloist").value)
    midis = [min(model.strings) + height for height in heights]
    stop = solver_for(model).solve(midis)
    names = " ".join(Pitch.from_midi(midi).name for midi in midis)
    said = _only(_score(_event(0, names), slug=instrument.slug))
    assert said["gradeAsWritten"] == {f"grade-{stop.paired.grade.label}"}
    assert said["gradeBroken"] == {f"grade-{stop.broken.grade.label}"}


def test_an_instrument_without_hand_limits_is_checked_all_the_same(tmp_path: Path) -> None:
    """An extension may name strings and nothing yet of the hand: stops are then not graded."""
    extension = tmp_path / "kit.ttl"
    extension.write_text("""
@prefix oq: <https://w3id.org/orchq/> .
@prefix my: <https://example.org/kit#> .
my:lutes a oq:InstrumentFamily .
my:kit a oq:Instrument ; oq:belongsToFamily my:lutes ; oq:hasStandardTuning my:tuning .
my:tuning a oq:Tuning ; oq:hasString my:one , my:two .
my:one a oq:String ; oq:stringNumber 1 ; oq:openPitch "A4" .
my:two a oq:String ; oq:stringNumber 2 ; oq:openPitch "D4" .
""")
    excerpt = tmp_path / "tune.ttl"
    excerpt.write_text("""
@prefix oq: <https://w3id.org/orchq/> .
@prefix my: <https://example.org/kit#> .
my:part a oq:Part ; oq:forInstrument my:kit ; oq:hasEvent my:chord , my:circle .
my:chord a oq:Event ; oq:measureIndex 0 ; oq:onset 0 ; oq:duration 1 ; oq:hasNote my:n1 , my:n2 .
my:circle a oq:Event ; oq:measureIndex 0 ; oq:onset 1 ; oq:duration 1 ; oq:hasNote my:n3 ;
    oq:marked oq:natural-harmonic .
my:n1 a oq:Note ; oq:pitch "E4" .
my:n2 a oq:Note ; oq:pitch "C3" .
my:n3 a oq:Note ; oq:pitch "A5" .
""")
    report = orchq.check(excerpt, knowledge=orchq.load([extension]))
    assert [part.instrument for part in report.parts] == ["kit"]
    assert ("note-below-lowest-string", "violation") in {
        (finding.rule, finding.severity) for finding in report.findings
    }
