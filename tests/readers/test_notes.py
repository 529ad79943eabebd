"""Signs at notes, and notes joined into events."""

import re
from fractions import Fraction

import pytest


def technical(content: str) -> str:
    return f"<notations><technical>{content}</technical></notations>"


def ornaments(content: str) -> str:
    return f"<notations><ornaments>{content}</ornaments></notations>"


def articulations(content: str) -> str:
    return f"<notations><articulations>{content}</articulations></notations>"


@pytest.mark.parametrize(
    ("notations", "expected"),
    [
        (technical("<down-bow/>"), {"down-bow"}),
        (technical("<up-bow/><open-string/>"), {"up-bow", "open-string"}),
        (technical("<thumb-position/>"), {"thumb-position"}),
        (technical("<snap-pizzicato/>"), {"snap-pizzicato"}),
        (technical("<fingernails/>"), {"fingernail-pizzicato"}),
        (technical("<stopped/>"), {"left-hand-pizzicato"}),
        (technical('<stopped smufl="pluckedLeftHandPizzicato"/>'), {"left-hand-pizzicato"}),
        (technical('<other-technical smufl="stringsJeteAbove"/>'), {"ricochet"}),
        (technical("<other-technical>flautando</other-technical>"), {"flautando"}),
        (technical("<double-tongue/>"), {"double-tongue"}),
        (technical("<pluck>p</pluck>"), set()),
        (technical("<harmonic/>"), {"natural-harmonic"}),
        (technical("<harmonic><natural/></harmonic>"), {"natural-harmonic"}),
        (
            technical("<harmonic><artificial/><touching-pitch/></harmonic>"),
            {"artificial-harmonic"},
        ),
        (articulations("<staccato/><accent/>"), {"staccato", "accent"}),
        (articulations("<detached-legato/>"), {"portato"}),
        (articulations("<spiccato/>"), {"staccatissimo"}),
        (articulations('<other-articulation smufl="ornamentTrill"/>'), {"trill"}),
        (ornaments("<trill-mark/><accidental-mark>sharp</accidental-mark>"), {"trill"}),
        (ornaments('<tremolo type="single">1</tremolo>'), {"tremolo-measured"}),
        (ornaments("<tremolo>2</tremolo>"), {"tremolo-measured"}),
        (ornaments('<tremolo type="single">3</tremolo>'), {"tremolo-unmeasured"}),
        (ornaments('<tremolo type="unmeasured">0</tremolo>'), {"tremolo-unmeasured"}),
        (ornaments('<tremolo type="start">3</tremolo>'), {"fingered-tremolo"}),
        (ornaments('<tremolo type="stop">3</tremolo>'), {"fingered-tremolo"}),
        ('<notations><slide type="start"/></notations>', {"glissando"}),
        ('<notations><slide type="stop"/></notations>', set()),
        ('<notations><glissando type="start"/></notations>', {"glissando"}),
        ("<notations><arpeggiate/></notations>", {"arpeggiate"}),
        ('<notations><non-arpeggiate type="top"/></notations>', {"non-arpeggiate"}),
        ("<play><mute>on</mute></play>", {"con-sordino"}),
        ("<play><mute>off</mute></play>", {"senza-sordino"}),
    ],
)
def test_signs_of_an_event(part, note, slugs, notations, expected):
    (event,) = part(note("A4", 16, notations)).events
    assert slugs(event) == expected


def test_pizzicato_as_an_attribute_of_the_note(part, note, slugs):
    plucked = note("A4", 8).replace("<note>", '<note pizzicato="yes">')
    read = part(plucked + note("A4", 8))
    assert [slugs(event) for event in read.events] == [{"pizzicato"}, set()]


@pytest.mark.parametrize("strokes", [1, 3])
def test_tremolo_strokes_are_counted(part, note, strokes):
    (event,) = part(note("A4", 16, ornaments(f"<tremolo>{strokes}</tremolo>"))).events
    assert event.strokes == strokes


def test_string_and_finger(part, note):
    read = part(
        note("A4", 4, technical("<string>3</string><fingering>4</fingering>"))
        + note("A4", 4, technical("<fingering>t</fingering>"))
        + note("A4", 4, technical("<string>0</string><fingering/>"))
    )
    heads = [event.notes[0] for event in read.events]
    assert [(head.string, head.finger) for head in heads] == [(3, "4"), (None, "T"), (None, None)]


@pytest.mark.parametrize("role", ["base", "touching", "sounding"])
def test_role_of_a_harmonic(part, note, role):
    sign = technical(f"<harmonic><artificial/><{role}-pitch/></harmonic>")
    (event,) = part(note("A4", 16, sign)).events
    assert event.notes[0].role == role


@pytest.mark.parametrize(
    ("printed", "shape"),
    [
        ("<notehead>diamond</notehead>", "diamond"),
        ('<notehead smufl="noteheadDiamondWhite">other</notehead>', "diamond"),
        ("<notehead>normal</notehead>", None),
        ("<notehead>x</notehead>", "x"),
    ],
)
def test_notehead(part, note, printed, shape):
    (event,) = part(note("A4", 16, printed)).events
    assert event.notes[0].notehead == shape


def test_dynamics_in_notations_are_marks(part, note, slugs):
    notations = "<notations><dynamics><sfp/></dynamics></notations>"
    read = part(note("A4", 8) + note("A4", 8, notations))
    assert [(slugs(mark), mark.offset) for mark in read.marks] == [(["sfp"], 2)]


def test_unknown_signs_are_remarked(read, document, note):
    music = (
        '<measure number="1">'
        + note("A4", 4, technical("<other-technical>whistling</other-technical>"))
        + "</measure>"
    )
    score = read(document(("Violin", music)))
    assert any("whistling" in remark for remark in score.remarks)


# ------------------------------------------------------------------------------ chords


def test_notes_of_a_chord_are_one_event(part, note):
    read = part(
        note("G3", 8)
        + note("D4", 8, first="<chord/>", last=technical("<up-bow/>"))
        + note("B4", 8, first="<chord/>")
        + note("A4", 8)
    )
    first, second = read.events
    assert [str(head.pitch) for head in first.notes] == ["G3", "D4", "B4"]
    assert len(first.marks) == 1
    assert (second.offset, second.duration) == (2, 2)


def test_chord_note_without_a_first_note_stands_where_the_rest_began(part, note):
    rest = "<note><rest/><duration>4</duration></note>"
    read = part(rest + note("D4", 4, first="<chord/>") + note("A4", 4))
    assert [(str(e.notes[0].pitch), e.offset) for e in read.events] == [("D4", 0), ("A4", 1)]


def test_ties_by_sound_or_by_sign(part, note):
    read = part(
        note("A4", 4, '<tie type="start"/>')
        + note("A4", 4, '<notations><tied type="stop"/><tied type="start"/></notations>')
        + note("A4", 4, '<tie type="stop"/>')
        + note("A4", 4, '<notations><tied type="let-ring"/></notations>')
    )
    heads = [event.notes[0] for event in read.events]
    assert [(head.tied_back, head.tie_forward) for head in heads] == [
        (False, True),
        (True, True),
        (True, False),
        (False, False),
    ]


def test_grace_notes_take_no_time(part, note):
    grace = note("B4", None, first='<grace slash="yes"/>')
    read = part(note("A4", 8) + grace + note("D5", None, first="<grace/><chord/>") + note("A4", 8))
    assert [(e.offset, e.duration, e.grace, len(e.notes)) for e in read.events] == [
        (0, 2, False, 1),
        (2, 0, True, 2),
        (2, 2, False, 1),
    ]


# --------------------------------------------------------------- cues and hidden notes


def test_cues_are_marked_and_not_counted(part, note):
    small = '<type size="cue">quarter</type>'
    read = part(
        note("A4", 4, first="<cue/>")
        + note("A4", 4, small)
        + note("A4", None, small, first="<grace/>")
        + note("A4", 4, '<type size="full">quarter</type>')
    )
    assert [event.cue for event in read.events] == [True, True, False, False]
    assert read.note_count == 2


def test_small_note_over_a_harmonic_shows_where_it_sounds(part, note):
    chord = (
        note("A4", 16)
        + note("D5", 16, "<notehead>diamond</notehead>", first="<chord/>")
        + note("A6", 16, '<type size="cue">whole</type>', first="<chord/>")
    )
    (event,) = part(chord).events
    assert [head.role for head in event.notes] == [None, None, "sounding"]


def test_small_note_in_a_plain_chord_is_not_played(part, note):
    small = '<type size="cue">whole</type>'
    chord = note("A4", 16) + note("E5", 16, small, first="<chord/>")
    (event,) = part(chord).events
    assert [str(head.pitch) for head in event.notes] == ["A4"]


def test_hidden_notes_and_notes_without_pitch_take_time_only(part, note):
    hidden = note("C6", 4).replace("<note>", '<note print-object="no">')
    knock = (
        "<note><unpitched><display-step>E</display-step><display-octave>4</display-octave>"
        "</unpitched><duration>4</duration></note>"
    )
    read = part(hidden + knock + note("A4", 8))
    assert [(str(e.notes[0].pitch), e.offset) for e in read.events] == [("A4", 2)]


def test_note_without_duration_is_measured_by_its_shape(part, note):
    triplet = (
        "<type>quarter</type><time-modification><actual-notes>3</actual-notes>"
        "<normal-notes>2</normal-notes></time-modification>"
    )
    read = part(note("A4", None, "<type>half</type><dot/>") + note("A4", None, triplet))
    assert [event.duration for event in read.events] == [3, Fraction(2, 3)]


# ------------------------------------------------------------------------- identifiers


def test_iris_tell_part_measure_voice_and_place(part, note):
    second = (
        "<backup><duration>16</duration></backup>"
        + note("D4", 16, "<voice>2</voice>")
        + note("G3", 16, "<voice>2</voice>", first="<chord/>")
    )
    read = part(note("A4", 16), note("A4", 8) + note("A4", 8) + second)
    base = read.iri
    assert re.fullmatch(r"ni:///sha-256-96;[\w-]{16}#P1", base)
    assert [event.iri for event in read.events] == [
        f"{base}.m0.v1.1",
        f"{base}.m1.v1.1",
        f"{base}.m1.v2.1",
        f"{base}.m1.v1.2",
    ]
    assert read.events[2].notes[1].iri == f"{base}.m1.v2.1.n2"


def test_iris_are_safe_and_distinct_whatever_the_file_says(read, note):
    voice = "<voice>a b</voice>"
    music = (
        '<measure number="1">' + note("A4", 4, voice)
        + note("A4", 4, "<voice>a-b</voice>") + "</measure>"
    )  # fmt: skip
    ids = ("P 1&gt;", "P-1", "\u2669")
    listed = "".join(f'<score-part id="{i}"><part-name>Viola</part-name></score-part>' for i in ids)
    parts = "".join(f'<part id="{i}">{music}</part>' for i in ids)
    content = f"<score-partwise><part-list>{listed}</part-list>{parts}</score-partwise>"
    score = read(content, name="Nr. 1 <x>.xml")
    iris = [part.iri for part in score.parts]
    iris += [event.iri for part in score.parts for event in part.events]
    iris += [head.iri for part in score.parts for event in part.events for head in event.notes]
    assert len(set(iris)) == len(iris) == 3 + 6 + 6
    assert all(iri.startswith(f"{score.iri}#") for iri in iris)
    assert not set(' <>"{}|\\^`') & set("".join(iris))
