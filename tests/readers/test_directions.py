"""Words and signs beside the staff."""

from fractions import Fraction

import pytest

from orchq.notation import Pitch


@pytest.mark.parametrize(
    ("printed", "expected"),
    [
        ("<words>pizz.</words>", ["pizzicato"]),
        ("<words>arco</words>", ["arco"]),
        ("<words>sul pont</words><words>icello</words>", ["sul-ponticello"]),
        ("<words>con</words><words>sord.</words>", ["con-sordino"]),
        ("<words>sul </words><words>G</words>", ["on-g-string"]),
        ("<words>4</words><words>e</words><words> Corde</words>", ["on-string-4"]),
        ("<words>4&lt;sup&gt;e&lt;/sup&gt; Corde</words>", ["on-string-4"]),
        ("<words>sempre \ue52b</words>", ["expression-sempre", "pp"]),
        ("<words>poco \u266d sul tasto \u266f</words>", ["sul-tasto"]),
        ("<symbol>stringsMuteOn</symbol>", ["con-sordino"]),
        ('<other-direction smufl="stringsMuteOff"/>', ["senza-sordino"]),
        ("<other-direction>col legno battuto</other-direction>", ["col-legno-battuto"]),
        ('<string-mute type="on"/>', ["con-sordino"]),
        ('<string-mute type="off"/>', ["senza-sordino"]),
        ("<dynamics><mf/></dynamics>", ["mf"]),
        ("<dynamics><f/><p/></dynamics>", ["fp"]),
        ("<dynamics><sf/><mp/></dynamics>", ["sf", "mp"]),
        ("<dynamics><p/><other-dynamics> dolce</other-dynamics></dynamics>",
         ["p", "expression-dolce"]),
        ("<dynamics><other-dynamics>(</other-dynamics><pp/></dynamics>", ["pp"]),
        ("<dynamics><other-dynamics>sff</other-dynamics></dynamics>", ["sff"]),
        ("<words>cresc.</words>", ["crescendo"]),
        ("<words>dim.</words>", ["diminuendo"]),
        ("<words>unis.</words>", ["unison"]),
    ],
)  # fmt: skip
def test_directive_of_a_printed_direction(part, note, direction, slugs, printed, expected):
    read = part(direction(printed) + note("A4", 16))
    found = [slug for mark in read.marks for slug in slugs(mark)]
    assert [slug for slug in found if not slug.endswith("degree")] == expected


def test_words_in_neighbouring_direction_types_are_one_text(part, note, direction):
    read = part(direction("<words>sul </words>", "<words>tasto</words>") + note("A4", 16))
    assert [mark.text for mark in read.marks] == ["sul tasto"]


def test_words_on_both_sides_of_another_sign_are_two_texts(part, note, direction):
    kinds = ("<words>pizz.</words>", "<dynamics><p/></dynamics>", "<words>dolce</words>")
    read = part(direction(*kinds) + note("A4", 16))
    assert [mark.text for mark in read.marks] == ["pizz.", "p", "dolce"]


def test_words_nobody_knows_stay_as_text(part, note, direction):
    read = part(direction("<words>D.C. al Fine</words>") + note("A4", 16))
    assert [(mark.text, mark.directives) for mark in read.marks] == [("D.C. al Fine", ())]


def test_brackets_alone_and_rehearsal_letters_are_no_marks(part, note, direction):
    letters = direction("<rehearsal>G</rehearsal>") + direction("<words>( ]</words>")
    assert part(letters + note("A4", 16)).marks == ()


def test_figure_of_a_divisi(part, note, direction, slugs):
    mark = part(direction("<words>div. a 3</words>") + note("A4", 16)).marks[0]
    assert (slugs(mark), mark.number) == (["divisi"], 3)


# ------------------------------------------------------------------------------- sound


@pytest.mark.parametrize(
    ("words", "sound", "expected"),
    [
        ("pizz.", 'pizzicato="yes"', [["pizzicato"]]),
        ("dolce", 'pizzicato="yes"', [["expression-dolce"], ["pizzicato"]]),
        ("arco", 'pizzicato="no"', [["arco"]]),
        ("Lento", 'pizzicato="no"', [["tempo-lento"], ["arco"]]),
    ],
)
def test_sound_pizzicato_adds_only_what_the_words_leave_out(
    part, note, direction, slugs, words, sound, expected
):
    read = part(direction(f"<words>{words}</words>", after=f"<sound {sound}/>") + note("A4", 16))
    assert [slugs(mark) for mark in read.marks] == expected


def test_sound_by_itself_in_the_measure(part, note, slugs):
    read = part(note("A4", 8) + '<sound pizzicato="yes" tempo="90"/>' + note("A4", 8))
    assert [(slugs(mark), mark.tempo, mark.offset) for mark in read.marks] == [
        ([], 90, 2),
        (["pizzicato"], None, 2),
    ]


def test_play_tells_mute_and_other_techniques_once(part, note, direction, slugs):
    play = "<sound><play><mute>on</mute><other-play>sul ponticello</other-play></play></sound>"
    read = part(direction("<words>con sord.</words>", after=play) + note("A4", 16))
    assert [slugs(mark) for mark in read.marks] == [["con-sordino"], ["sul-ponticello"]]


# ------------------------------------------------------------------------------- tempo


@pytest.mark.parametrize(
    ("printed", "quarters"),
    [
        ("<beat-unit>quarter</beat-unit><per-minute>120</per-minute>", 120),
        ("<beat-unit>half</beat-unit><beat-unit-dot/><per-minute>60</per-minute>", 180),
        ("<beat-unit>eighth</beat-unit><per-minute>c. 80</per-minute>", 40),
        ("<beat-unit>quarter</beat-unit><per-minute>66.5</per-minute>", Fraction(133, 2)),
        ("<beat-unit>quarter</beat-unit><per-minute>96-104</per-minute>", 96),
    ],
)
def test_metronome_mark_in_quarters(part, note, direction, printed, quarters):
    read = part(direction(f"<metronome>{printed}</metronome>") + note("A4", 16))
    assert [mark.tempo for mark in read.marks] == [quarters]


def test_metronome_mark_joins_its_tempo_word_and_beats_the_sound(part, note, direction, slugs):
    metronome = "<metronome><beat-unit>half</beat-unit><per-minute>60</per-minute></metronome>"
    kinds = ("<words>Allegro </words>", metronome)
    read = part(direction(*kinds, after='<sound tempo="99"/>') + note("A4", 16))
    assert [(slugs(mark), mark.tempo) for mark in read.marks] == [(["tempo-allegro"], 120)]


def test_tempo_of_a_sound_belongs_to_the_words(part, note, direction, slugs):
    read = part(direction("<words>Adagio</words>", after='<sound tempo="52.5"/>') + note("A4", 16))
    assert [(slugs(m), m.tempo) for m in read.marks] == [(["tempo-adagio"], Fraction(105, 2))]


@pytest.mark.parametrize(
    ("words", "quarters"),
    [("\u2669 = 72", 72), ("(\ueca3\uecb7 = 40)", 120), ("q =165", 165), ("Tempo I", None)],
)
def test_tempo_printed_as_words(part, note, direction, words, quarters):
    read = part(direction(f"<words>{words}</words>") + note("A4", 16))
    assert [mark.tempo for mark in read.marks] == [quarters]


def test_equation_of_two_note_values_sets_no_tempo(part, note, direction):
    units = "<beat-unit>half</beat-unit><beat-unit>quarter</beat-unit>"
    assert part(direction(f"<metronome>{units}</metronome>") + note("A4", 16)).marks == ()


# ------------------------------------------------------------------------------- place


@pytest.mark.parametrize(
    ("offset", "place"),
    [
        (0, 2),
        (-1, 2),  # shifted for the eye by a sixteenth
        (1, 2),
        (-2, Fraction(3, 2)),  # really between two notes
        (-4, 1),
        (3, 3),
        (-40, 0),
    ],
)
def test_offset_is_taken_seriously_beyond_a_sixteenth(part, note, direction, offset, place):
    word = direction("<words>arco</words>", after=f"<offset>{offset}</offset>")
    read = part(note("A4") + note("A4") + word + note("A4") + note("A4"))
    assert [mark.offset for mark in read.marks] == [place]


@pytest.mark.parametrize("offset", [0, 1, 2, 6])
def test_what_is_printed_after_the_last_note_belongs_to_the_next_bar(part, note, direction, offset):
    word = direction("<words>arco</words>", after=f"<offset>{offset}</offset>")
    read = part(note("A4") * 4 + word)
    assert [mark.offset for mark in read.marks] == [4]


def test_staff_and_voice_of_a_direction(part, note, direction):
    voice = direction("<words>arco</words>", after="<voice>2</voice><staff>1</staff>")
    two = (
        note("A4", 16, "<voice>1</voice><staff>1</staff>")
        + "<backup><duration>16</duration></backup>"
        + voice
        + note("D4", 16, "<voice>2</voice><staff>1</staff>")
    )
    one = voice + note("A4", 16, "<voice>2</voice><staff>1</staff>")
    read = part(two, one)
    assert [(mark.staff, mark.voice) for mark in read.marks] == [(1, "2"), (1, None)]


# --------------------------------------------------------------------------- scordatura


def accord(string: int, pitch: str) -> str:
    return (
        f'<accord string="{string}"><tuning-step>{pitch[0]}</tuning-step>'
        f"<tuning-octave>{pitch[1]}</tuning-octave></accord>"
    )


def test_scordatura_counts_strings_from_the_highest(part, note, direction, slugs):
    printed = f"<scordatura>{accord(4, 'A3')}{accord(3, 'D4')}</scordatura>"
    mark = part(direction(printed) + note("A4", 16)).marks[0]
    assert slugs(mark) == ["scordatura"]
    assert [(number, str(pitch)) for number, pitch in mark.retuned] == [(3, "D4"), (4, "A3")]


def test_scordatura_of_a_double_bass_may_be_written_an_octave_higher(part, note, direction):
    printed = f"<scordatura>{accord(4, 'D2')}</scordatura>"
    mark = part(direction(printed) + note("A2", 16), name="Contrabass").marks[0]
    assert [(number, str(pitch)) for number, pitch in mark.retuned] == [(4, "D1")]


# ------------------------------------------------------------------------ pedal diagrams


def test_a_pedal_diagram_is_a_mark(part, note, direction):
    pedals = "".join(
        f"<pedal-tuning><pedal-step>{step}</pedal-step><pedal-alter>{alter}</pedal-alter>"
        "</pedal-tuning>"
        for step, alter in [("D", "-1"), ("C", "1"), ("B", "0"), ("H", "0"), ("E", "0.5")]
    )
    (mark,) = part(direction(f"<harp-pedals>{pedals}</harp-pedals>") + note("A4", 16)).marks
    assert mark.pedals == (("D", -1), ("C", 1), ("B", 0))
    assert not part(direction("<harp-pedals/>") + note("A4", 16)).marks


@pytest.mark.parametrize(
    ("text", "retuned"),
    [
        ("Scordatura: G = F#", [(4, "F#3")]),
        ("scord. IV \u2192 F", [(4, "F3")]),
        ("Scordatura (G string to A)", [(4, "A3")]),
        ("Scordatura: A E A E", [(1, "E5"), (2, "A4"), (3, "E4"), (4, "A3")]),
        ("Scordatura E\u2013A\u2013D\u2013F", [(1, "E5"), (2, "A4"), (3, "D4"), (4, "F3")]),
        ("scordatura", []),
        ("Scordatura: G D A", []),
    ],
)
def test_scordatura_in_words(part, note, direction, slugs, text, retuned):
    mark = part(direction(f"<words>{text}</words>") + note("A4", 16)).marks[0]
    assert slugs(mark) == ["scordatura"]
    assert [(number, str(pitch)) for number, pitch in mark.retuned] == retuned


@pytest.mark.parametrize(
    ("text", "retuned"),
    [
        ("IV. Saite nach Fis", [(4, "F#3")]),
        ("G-Saite nach As", [(4, "G#3")]),
        ("4. Saite auf A", [(4, "A3")]),
        ("1. Saite nach Es", [(1, "D#5")]),
        ("4th string to F#", [(4, "F#3")]),
        ("4th string = F", [(4, "F3")]),
        ("E string tuned down to D (then back)", [(1, "D5")]),
        ("IV = F#", [(4, "F#3")]),
        ("sol in fa#", [(4, "F#3")]),
        ("muta la corda di sol in fa diesis", [(4, "F#3")]),
        ("corde de sol en fa\u266f", [(4, "F#3")]),
    ],
)
def test_a_string_and_its_note_say_that_it_is_retuned(part, note, direction, slugs, text, retuned):
    mark = part(direction(f"<words>{text}</words>") + note("A4", 16)).marks[0]
    assert slugs(mark) == ["scordatura"]
    found = [(number, pitch.midi) for number, pitch in mark.retuned]
    assert found == [(number, Pitch.parse(pitch).midi) for number, pitch in retuned]


@pytest.mark.parametrize(
    "text",
    [
        "sul G",
        "IV. Saite",
        "4th string = G",  # its own note
        "A string to D string",
        "from the E string to D",
        "sol in fa",
        "IV = II",
        "A string to E",  # farther than a third
        "7. Saite nach H",  # no such string
    ],
)
def test_other_words_retune_nothing(part, note, direction, text):
    marks = part(direction(f"<words>{text}</words>") + note("A4", 16)).marks
    assert not any(mark.retuned for mark in marks)


@pytest.mark.parametrize(
    ("text", "pitch"),
    [("4. Saite nach H", "B1"), ("C string to B", "B1"), ("C-Saite nach B", "Bb1")],
)
def test_german_h_is_b_natural(part, note, direction, text, pitch):
    (mark,) = part(direction(f"<words>{text}</words>") + note("A2", 16), name="Violoncello").marks
    assert [(n, each.midi) for n, each in mark.retuned] == [(4, Pitch.parse(pitch).midi)]


def test_solo_tuning_is_no_call_for_one_player(part, note, direction, slugs):
    (mark,) = part(direction("<words>solo tuning</words>") + note("A4", 16)).marks
    assert slugs(mark) == ["solo-tuning"]
    assert mark.retuned == ()


def test_letters_are_notes_only_where_a_tuning_is_asked_for(part, note, direction):
    mark = part(direction("<words>G = F#</words>") + note("A4", 16)).marks[0]
    assert mark.retuned == ()


def test_staff_tuning_counts_lines_from_the_lowest_and_the_usual_one_says_nothing(part, note):
    def details(lowest: str) -> str:
        lines = "".join(
            f'<staff-tuning line="{line}"><tuning-step>{pitch[0]}</tuning-step>'
            f"<tuning-octave>{pitch[1]}</tuning-octave></staff-tuning>"
            for line, pitch in enumerate((lowest, "D4", "A4", "E5"), 1)
        )
        return f"<attributes><staff-details>{lines}</staff-details></attributes>"

    read = part(details("G3") + note("A4", 16), details("F3") + note("A4", 16))
    (mark,) = read.marks
    assert mark.measure_index == 1
    assert [(number, str(pitch)) for number, pitch in mark.retuned][3] == (4, "F3")


@pytest.mark.parametrize(
    ("content", "offset"),
    [
        ("{half}<note><rest/><duration>8</duration>{sign}</note>", 2),
        ("{half}{held}", 2),
        ("{half}{half}<barline><fermata/></barline>", 4),
    ],
    ids=["on a rest", "on a note", "on the barline"],
)
def test_a_fermata_is_a_mark_where_it_stands(part, note, slugs, content, offset):
    sign = "<notations><fermata/></notations>"
    half, held = note("A4", 8), note("A4", 8, last=sign)
    read = part(content.format(half=half, held=held, sign=sign))
    found = [(mark.offset, slugs(mark)) for mark in read.marks]
    assert found == [(offset, ["tempo-fermata"])]
    assert all(not event.marks for event in read.events)


def test_a_caesura_stops_the_time_like_a_fermata(part, note, slugs):
    sign = "<notations><articulations><caesura/></articulations></notations>"
    read = part(note("A4", 16, last=sign))
    assert [slugs(mark) for mark in read.marks] == [["tempo-fermata"]]


BEGINS, STOPS = '<bracket type="start" number="2"/>', '<bracket type="stop" number="2"/>'
DASHES, DASHES_STOP = '<dashes type="start"/>', '<dashes type="stop"/>'


@pytest.mark.parametrize(
    ("begins", "stops", "slugs_found"),
    [
        ([("<words>sul G</words>", BEGINS)], [(STOPS,)], ["on-g-string", "loco"]),
        ([("<words>sul G</words>",), (BEGINS,)], [(STOPS,)], ["on-g-string", "loco"]),
        ([("<words>4e Corde</words>", DASHES)], [(DASHES_STOP,)], ["on-string-4", "loco"]),
        ([("<words>sul G</words>", BEGINS)], [(DASHES_STOP,)], ["on-g-string"]),
        ([("<words>cresc.</words>", DASHES)], [(DASHES_STOP,)], ["crescendo"]),
        (
            [("<words>sul G</words>", BEGINS)],
            [("<words>sul D</words>",), (STOPS,)],
            ["on-g-string", "on-d-string"],
        ),
    ],
    ids=[
        "a bracket",
        "a bracket in a direction of its own",
        "dashes",
        "another line stops",
        "a line that is no call's",
        "another call where the line stops",
    ],
)
def test_a_string_call_ends_with_its_line(part, note, direction, slugs, begins, stops, slugs_found):
    content = "".join(direction(*kinds) for kinds in begins) + note("A4", 8)
    content += "".join(direction(*kinds) for kinds in stops) + note("A4", 8)
    read = part(content)
    assert [slug for mark in read.marks for slug in slugs(mark)] == slugs_found
