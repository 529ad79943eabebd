"""Questions to the shipped instruments, and their parts checked."""

from pathlib import Path

import pytest

import orchq
from orchq.errors import OrchqError
from orchq.knowledge.data_files import shipped_extensions

DATA = Path(__file__).with_name("data")

EXPECTED = {
    "bass-viol": {
        ("2", 1, "note-needs-extension", "info"),  # C#2: seven strings have it
        ("3", 1, "bow-mark-while-plucking", "violation"),
        ("4", 3, "note-above-compass", "warning"),
    },
    "classical-guitar": {
        ("2", 1, "note-below-lowest-string", "violation"),  # written D3: nothing asks for it
        ("3", 3, "note-above-compass", "info"),  # C6 a semitone, a third of a step, above B5
        ("4", 3, "open-string-mark-on-stopped-pitch", "violation"),
        ("5", 1, "technique-not-on-instrument", "violation"),
        ("7", 1, "stop-impossible", "violation"),  # E2 and F2 on the sixth string
    },
    "five-string-cello": {
        ("2", 3, "note-below-lowest-string", "violation"),
        ("3", 1, "string-cannot-sound-pitch", "violation"),
        ("4", 1, "arco-missing-after-pizzicato", "warning"),
    },
    "hardanger-fiddle": {
        ("2", 3, "note-needs-extension", "info"),  # G3: the low bass has it
        ("3", 3, "open-string-mark-on-stopped-pitch", "violation"),
    },
    "harp": {
        ("2", 1, "pedals-contradict", "violation"),  # C5 over Cb3
        ("3", 1, "chord-beyond-two-hands", "warning"),
        ("3", 3, "chord-beyond-two-hands", "warning"),
        ("4", 2.25, "pedal-change-too-quick", "warning"),
        ("4", 2.5, "pedal-change-too-quick", "warning"),
        ("4", 3.25, "pedal-change-too-quick", "violation"),
        ("5", 1, "no-pedal-gives-note", "warning"),
        ("5", 2, "note-above-compass", "violation"),
        ("5", 3, "technique-not-on-instrument", "violation"),
        ("5", 3, "note-needs-extension", "info"),  # Cb1: the lowest string can be tuned to it
    },
    "mandolin": {
        ("2", 1, "note-below-lowest-string", "violation"),
        ("3", 3, "note-above-compass", "info"),  # C#7 a semitone, a third of a step, above C7
        ("4", 1, "technique-not-on-instrument", "violation"),
    },
    "soprano-ukulele": {
        ("2", 1, "string-cannot-sound-pitch", "violation"),  # the fourth string begins at G4
        ("2", 3, "note-needs-extension", "info"),  # B3: the low G has it
        ("3", 3, "note-above-compass", "warning"),
        ("4", 1, "technique-not-on-instrument", "violation"),
    },
    "treble-viol": {
        ("2", 3, "note-below-lowest-string", "violation"),
        ("3", 4, "note-above-compass", "warning"),  # E6, two thirds of a step above D6
    },
    "viola-d-amore": {
        ("2", 3, "note-below-lowest-string", "violation"),
        ("3", 1, "bow-mark-while-plucking", "violation"),
        ("4", 1, "dynamic-outside-envelope", "warning"),  # spiccato at ff, a step above f
    },
}

# Where D4 lies: semitones above the open strings, counted by hand from the tunings. On the
# guitar 22 semitones lie above the last fret, on the bass viol 14 and more beyond the fingerboard.
D4 = {
    "viola-d-amore": {4: 0, 5: 5, 6: 12, 7: 17},
    "treble-viol": {4: 2, 5: 7, 6: 12},
    "bass-viol": {1: 0, 2: 5, 3: 10},
    "five-string-cello": {2: 5, 3: 12, 4: 19, 5: 26},
    "hardanger-fiddle": {3: 0, 4: 5},
    "classical-guitar": {2: 3, 3: 7, 4: 12, 5: 17},
    "mandolin": {3: 0, 4: 7},
    "harp": {25: 1},  # D natural on the D flat string; no neighbour has it
    "soprano-ukulele": {3: 2},
}

_VIOLS = {"treble-viol", "bass-viol"}
_SYMPATHETIC = {"viola-d-amore", "hardanger-fiddle"}
_FRETLESS = {*_SYMPATHETIC, "five-string-cello"}
_PLUCKED = {"classical-guitar", "mandolin", "soprano-ukulele"}


def test_every_shipped_instrument_has_a_fixture():
    assert set(EXPECTED) <= set(shipped_extensions())
    assert set(EXPECTED) == {file.stem for file in DATA.glob("*.musicxml")}


@pytest.mark.parametrize("name", EXPECTED)
def test_a_part_is_checked(name, graph):
    assert found_in(DATA / f"{name}.musicxml", graph) == EXPECTED[name]


def found_in(part, graph):
    """What is found, at every place of a finding."""
    return {
        (place.measure, float(place.beat), finding.rule, finding.severity)
        for finding in orchq.check(part, knowledge=graph).findings
        for place in finding.all_places
    }


@pytest.mark.parametrize("words", ["drop D", "6th string = D", "6. Saite nach D"])
def test_a_tuning_that_is_printed_has_the_note(words, graph, tmp_path):
    text = (DATA / "classical-guitar.musicxml").read_text(encoding="utf-8")
    printed = f"<direction><direction-type><words>{words}</words></direction-type></direction>"
    part = tmp_path / "part.musicxml"
    part.write_text(text.replace("<note>", f"{printed}<note>", 1), encoding="utf-8")
    found = {finding.rule for finding in orchq.check(part, knowledge=graph).findings}
    assert not found & {"note-below-lowest-string", "note-needs-extension"}


def test_a_guitar_part_that_states_no_transposition_sounds_an_octave_lower_too(graph, tmp_path):
    text = (DATA / "classical-guitar.musicxml").read_text(encoding="utf-8")
    start, end = text.index("        <transpose>"), text.index("      </attributes>")
    part = tmp_path / "part.musicxml"
    part.write_text(text[:start] + text[end:], encoding="utf-8")
    assert found_in(part, graph) == EXPECTED["classical-guitar"]


PLAYED = """
@prefix oq: <https://w3id.org/orchq/> .
@prefix ex: <https://example.org/plucked#> .
ex:score a oq:Excerpt ; oq:hasPart ex:part .
ex:part a oq:Part ; oq:partName "Plucked" ; oq:forInstrument <IRI> ; oq:isSection false ;
    oq:hasEvent ex:one , ex:two , ex:three .
ex:one a oq:Event ; oq:measureIndex 0 ; oq:beat 1 ; oq:onset 0 ; oq:duration 1 ;
    oq:marked oq:down-bow ; oq:hasNote ex:a .
ex:two a oq:Event ; oq:measureIndex 0 ; oq:beat 2 ; oq:onset 1 ; oq:duration 1 ;
    oq:marked oq:up-bow ; oq:hasNote ex:b , ex:c .
ex:three a oq:Event ; oq:measureIndex 0 ; oq:beat 3 ; oq:onset 2 ; oq:duration 1 ;
    oq:marked oq:spiccato ; oq:hasNote ex:d .
ex:a a oq:Note ; oq:pitch "A4" .
ex:b a oq:Note ; oq:pitch "G3" .
ex:c a oq:Note ; oq:pitch "D4" .
ex:d a oq:Note ; oq:pitch "A4" .
"""


@pytest.mark.parametrize(
    ("name", "beats"),
    [
        ("classical-guitar", {1, 3}),  # over a chord the sign shows which way to strum
        ("mandolin", {3}),  # the signs of the bow are those of the plectrum
        ("five-string-cello", set()),
    ],
)
def test_what_needs_a_bow_is_told_where_there_is_none(name, beats, graph, tmp_path):
    iri = next(i.iri for i in graph.instruments.values() if i.slug == name)
    part = tmp_path / "part.ttl"
    part.write_text(PLAYED.replace("IRI", iri), encoding="utf-8")
    report = orchq.check(part, knowledge=graph, rules=["technique-not-on-instrument"])
    assert {(f.beat, f.severity) for f in report.findings} == {(b, "violation") for b in beats}


@pytest.mark.parametrize(("name", "remarked"), [("mandolin", True), ("viola-d-amore", False)])
def test_frets_stop_no_microtone(name, remarked, graph, tmp_path):
    text = (DATA / f"{name}.musicxml").read_text(encoding="utf-8")
    part = tmp_path / "part.musicxml"
    part.write_text(text.replace("</step>", "</step><alter>0.5</alter>", 1), encoding="utf-8")
    remarks = orchq.check(part, knowledge=graph).remarks
    assert any("fret" in remark for remark in remarks) is remarked


@pytest.mark.parametrize("name", EXPECTED)
def test_without_the_extension_nothing_is_said(name):
    assert not orchq.check(DATA / f"{name}.musicxml").findings


@pytest.mark.parametrize("name", D4)
def test_where_d4_lies(name, ask, graph):
    label = next(i.label for i in graph.instruments.values() if i.slug.endswith(name))
    found = {a.number: a.semitones for a in ask.strings(on=label, pitch="D4") if not a.tuning}
    assert found == D4[name]


@pytest.mark.parametrize("name", sorted(_FRETLESS | _VIOLS))
def test_where_no_hand_is_stated_that_is_said(name, ask, graph):
    label = next(i.label for i in graph.instruments.values() if i.slug.endswith(name))
    with pytest.raises(OrchqError, match="has no hand frame for"):
        ask.stops(on=label, pitches="D4 A4")
    with pytest.raises(OrchqError, match="has no hand frame for"):
        ask.harmonics(on=label, pitch="A4", kind="artificial")


@pytest.mark.parametrize(
    ("name", "places"),
    [
        # The octave and the twelfth of an open string: half way, and at either third.
        ("soprano-ukulele", {("A", "A5", "1/2")}),
        (
            "classical-guitar",
            {("A", "A4", "1/4"), ("A", "A4", "3/4"), ("D", "A4", "1/3"), ("D", "A4", "2/3")},
        ),
        ("viola-d-amore", {("A", "A4", "1/2"), ("A", "A4", "1/4")}),
    ],
)
def test_natural_harmonics_lie_at_nodes_whatever_stops_the_string(name, places, ask, graph):
    label = next(i.label for i in graph.instruments.values() if i.slug.endswith(name))
    pitch = next(iter(places))[1]
    answers = ask.harmonics(on=label, pitch=pitch, kind="natural")
    assert places <= {(answer.string, answer.sounding, answer.node) for answer in answers}


def test_above_the_last_fret_a_viol_is_stopped_on_its_fingerboard_and_a_guitar_is_not(ask):
    # A string of either goes up to its 7th and its 19th fret; the viol's goes on to the octave.
    viol = ask.strings(on="bass viol", pitch="E4")
    assert [answer.semitones for answer in viol] == [2, 7, 12]
    assert any("last fret" in remark for remark in viol.remarks)
    guitar = ask.strings(on="classical guitar", pitch="C6")
    assert not guitar.answers


def test_a_re_entrant_tuning_is_lowest_on_a_string_in_the_middle(ask, graph):
    ukulele = next(i for i in graph.instruments.values() if i.slug == "soprano-ukulele")
    assert [string.name for string in ukulele.standard.strings] == ["A", "E", "C", "G"]
    assert ukulele.standard.lowest.number == 3
    assert [answer.reentrant for answer in ask.stringing(on="ukulele")] == [True, True, False]


def test_what_is_never_stopped_has_no_stops(ask):
    with pytest.raises(OrchqError, match="the strings of the harp are not stopped"):
        ask.stops(on="harp", pitches="D4 A4")
    with pytest.raises(OrchqError, match="the strings of the harp are not stopped"):
        ask.harmonics(on="harp", pitch="A4", kind="natural")


def test_a_pitch_lies_where_a_pedal_gives_it(ask):
    # Arithmetic: B sharp is C, and C double flat is no pedal position.
    assert [answer.number for answer in ask.strings(on="harp", pitch="C4")] == [26, 27]
    assert not ask.strings(on="harp", pitch="C#1")
    assert [answer.string for answer in ask.strings(on="harp", pitch="C1")] == ["C"]


def test_kinds_follow_from_what_the_instruments_state(ask):
    kinds = {answer.instrument: set(answer.kinds) for answer in ask.instruments()}
    assert kinds["classical guitar"] == {"plucked", "fretted", "artificial harmonics"}
    assert kinds["mandolin"] == {"plucked", "fretted"}
    assert kinds["harp"] == {"plucked", "pedals", "without fingerboard"}
    assert {"bowed", "fretted"} <= kinds["treble viol"] & kinds["bass viol"]
    assert "sympathetic strings" in kinds["viola d'amore"] & kinds["Hardanger fiddle"]
    assert {"bowed", "fretless"} <= kinds["five-string cello"]
    assert kinds["soprano ukulele"] == {"plucked", "fretted"}


@pytest.mark.parametrize(
    ("kind", "slugs"),
    [
        ("bowed", _FRETLESS | _VIOLS),
        ("plucked", _PLUCKED | {"harp"}),
        ("fretted", _PLUCKED | _VIOLS),
        ("fretless", _FRETLESS),
        ("artificial harmonics", _FRETLESS | _VIOLS | {"classical-guitar"}),
        ("sympathetic strings", _SYMPATHETIC),
    ],
)
def test_instruments_are_found_by_what_they_are(ask, graph, kind, slugs):
    slug_of = {instrument.label: instrument.slug for instrument in graph.instruments.values()}
    found = {slug_of[answer.instrument] for answer in ask.instruments(kind=kind)}
    assert found & set(EXPECTED) == slugs
