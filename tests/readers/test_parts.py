"""Which part is for which instrument, and who plays it."""

import pytest

from orchq.terms import OQ

DISPLAYED = (
    "<part-name/><part-name-display><display-text>Vio</display-text>"
    "<display-text>la</display-text></part-name-display>"
)
EMPTY = '<measure number="1"/>'


def listed(name: str = "", **tags: str) -> str:
    """The content of a ``<score-part>`` with one player."""
    player = "".join(f"<{tag}>{text}</{tag}>" for tag, text in tags.items() if tag != "inside")
    player = player.replace("instrument_sound", "instrument-sound").replace(
        "instrument_name", "instrument-name"
    )
    return (
        f"<part-name>{name}</part-name>"
        f'<score-instrument id="I1">{player}{tags.get("inside", "")}</score-instrument>'
    )


@pytest.fixture
def first(read, document):
    def call(name: str):
        return read(document((name, EMPTY))).parts[0]

    return call


@pytest.mark.parametrize(
    ("name", "instrument"),
    [
        ("Violin I", "violin"),
        ("Violino secondo", "violin"),
        ("Bratsche", "viola"),
        ("Cello ad lib.", "cello"),
        ("Violoncelle", "cello"),
        ("Kontrabass", "double-bass"),
        ("1st\n Violin", "violin"),
        (listed("I", instrument_sound="strings.viola"), "viola"),
        (listed("", instrument_name="Violoncello"), "cello"),
        (listed("MusicXML Part", instrument_name="Violin"), "violin"),
        ("<part-name/><part-abbreviation>Vla.</part-abbreviation>", "viola"),
        (DISPLAYED, "viola"),
        ("Flute", None),
        ("Viola d'amore", None),
        ("Flute and Violin", None),
        (listed("Alto", instrument_sound="voice.alto"), None),
        (listed("Oboe", instrument_name="Violin"), None),
    ],
)
def test_instrument_of_a_part(first, name, instrument):
    part = first(name)
    assert part.instrument == (instrument and OQ + instrument)


def test_name_of_the_group_stands_in_for_a_missing_name(read):
    content = (
        "<score-partwise><part-list>"
        '<part-group number="1" type="start"><group-name>Violins</group-name></part-group>'
        '<score-part id="P1"><part-name>1</part-name></score-part>'
        '<part-group number="1" type="stop"/>'
        '<score-part id="P2"><part-name/></score-part>'
        f'</part-list><part id="P1">{EMPTY}</part><part id="P2">{EMPTY}</part></score-partwise>'
    )
    parts = read(content).parts
    assert [(part.name, part.instrument) for part in parts] == [
        ("Violins", OQ + "violin"),
        ("P2", None),
    ]
    assert parts[0].section


def test_two_instruments_in_one_name_are_read_as_the_first(read, document):
    score = read(document(("Violoncello e Contrabbasso", EMPTY)))
    assert score.parts[0].instrument == OQ + "cello"
    assert any("two instruments" in remark for remark in score.remarks)


def test_several_instruments_of_one_player_are_remarked(read, document):
    second = (
        '<score-instrument id="I2"><instrument-name>Tambourine</instrument-name></score-instrument>'
    )
    score = read(document((listed("Violin", instrument_name="Violin") + second, EMPTY)))
    assert score.parts[0].instrument == OQ + "violin"
    assert any("several instruments" in remark for remark in score.remarks)


def test_order_and_identifiers_are_those_of_the_parts(read, document):
    parts = read(document(("Flute", EMPTY), ("Viola", EMPTY))).parts
    assert [(part.id, part.index, part.name) for part in parts] == [
        ("P1", 0, "Flute"),
        ("P2", 1, "Viola"),
    ]


def test_part_that_is_not_listed_is_kept_and_remarked(read):
    content = f'<score-partwise><part-list/><part id="Q">{EMPTY}</part></score-partwise>'
    score = read(content)
    assert [(part.id, part.instrument) for part in score.parts] == [("Q", None)]
    assert any("list of parts" in remark for remark in score.remarks)


# ------------------------------------------------------------------- section or soloist

ENSEMBLE = "<ensemble>{}</ensemble>"


@pytest.mark.parametrize(
    ("name", "section", "players"),
    [
        ("Violin", False, None),
        ("Violins I", True, None),
        ("Violini", True, None),
        ("Violoncelli e Bassi", True, None),
        ("Solo Violin", False, 1),
        ("Violin 1 solo", False, 1),
        (listed("Viola", inside=ENSEMBLE.format(8)), True, 8),
        (listed("Viola", inside=ENSEMBLE.format("")), True, None),
        (listed("Violas", inside=ENSEMBLE.format(1)), False, 1),
        (listed("Violas", inside="<solo/>"), False, 1),
    ],
)
def test_who_plays_by_the_part_list(first, name, section, players):
    part = first(name)
    assert (part.section, part.players) == (section, players)


QUARTET = ["Violin I", "Violin II", "Viola", "Violoncello"]


@pytest.mark.parametrize(
    ("names", "sections"),
    [
        (QUARTET, 0),
        ([*QUARTET, "Contrabass"], 5),
        (["Violin", "Viola", "Violoncello", "Contrabass"], 0),
        (["Flute", "Oboe", "Violin", "Violoncello"], 2),
        (["Clarinet", *QUARTET], 0),
        ([*QUARTET, listed("Piano", instrument_sound="keyboard.piano")], 0),
        (
            [
                listed("Soprano", instrument_sound="voice.soprano"),
                listed("Harp", instrument_sound="pluck.harp"),
                *QUARTET,
            ],
            0,
        ),
        (["Flute", "Timpani", *QUARTET[:3], "Solo Violoncello"], 3),
    ],
)
def test_who_plays_by_the_kind_of_score(read, document, names, sections):
    score = read(document(*((name, EMPTY) for name in names)))
    assert sum(part.section for part in score.parts) == sections


@pytest.mark.parametrize(
    ("word", "section"), [("div.", True), ("unis.", True), ("non div.", True), ("tutti", False)]
)
def test_part_that_divides_is_a_section(part, note, direction, word, section):
    read = part(direction(f"<words>{word}</words>") + note("A4", 16))
    assert read.section is section


def test_solo_part_that_prints_divisi_stays_one_player(part, note, direction):
    read = part(direction("<words>div.</words>") + note("A4", 16), name="Solo Violin")
    assert (read.section, read.players) == (False, 1)


# ----------------------------------------------------------------- parts not checked


def test_other_parts_keep_their_tempo_only(read, document, note, direction):
    metronome = "<metronome><beat-unit>quarter</beat-unit><per-minute>60</per-minute></metronome>"
    time = "<attributes><divisions>2</divisions></attributes>"
    flute = (
        f'<measure number="1">{time}{note("A4", 2)}{direction("<words>dolce</words>")}'
        f"{direction('<words>rit.</words>')}{note('C5', 2, first='<chord/>')}"
        f'<backup><duration>1</duration></backup><sound tempo="50"/></measure>'
        f'<measure number="2">{note("A4", 4)}{direction(metronome)}{note("A4", 4)}</measure>'
    )
    violin = (
        f'<measure number="1">{time}{note("A4", 6)}</measure>'
        f'<measure number="2">{note("A4", 8)}</measure>'
    )
    other = read(document(("Flute", flute), ("Violin", violin))).parts[0]
    assert (other.instrument, other.events, other.measures) == (None, (), ())
    assert [(m.measure_index, m.offset, m.onset, m.tempo, m.text) for m in other.marks] == [
        (0, 1, 1, None, "rit."),
        (0, 0.5, 0.5, 50, ""),
        (1, 2, 5, 60, "quarter = 60"),
    ]


@pytest.mark.parametrize(
    ("before", "title"),
    [
        ("<work><work-title>Quartet</work-title></work>", "Quartet"),
        ("<movement-title>Adagio</movement-title>", "Adagio"),
        (
            "<work><work-title>Quartet</work-title></work><movement-title>Adagio</movement-title>",
            "Quartet: Adagio",
        ),
        ("", "score"),
    ],
)
def test_title(read, document, before, title):
    assert read(document(("Violin", EMPTY), before=before)).title == title


# ----------------------------------------------------------- names that other music uses

SUNG = (
    '<measure number="1"><note><pitch><step>{}</step><octave>3</octave></pitch>'
    "<duration>4</duration>{}</note></measure>"
)
LYRIC = "<lyric><text>A</text></lyric>"


def program(name: str, number: int) -> str:
    said = f"<midi-program>{number}</midi-program>"
    return f"<part-name>{name}</part-name><midi-instrument>{said}</midi-instrument>"


@pytest.mark.parametrize(
    ("names", "instruments"),
    [
        # A choir, alone and above strings; voices have no program here, as in many files.
        (["Soprano", "Alto", "Tenor", "Basso"], [None] * 4),
        (
            ["Soprano", "Alto", "Tenor", "Basses", "Violin", "Viola", "Bassi"],
            [None, None, None, None, "violin", "viola", "double-bass"],
        ),
        (["Soprano", "Alto", "Viola"], [None, None, "viola"]),
        # French strings, and the old way of naming the lowest part.
        (["Violons", "Altos I", "Altos II", "Basses"], ["violin", *["viola"] * 2, "double-bass"]),
        (["Alto", "Violoncelle"], ["viola", "cello"]),
        (["Violino", "Basso"], ["violin", "double-bass"]),
        (["Violino", "Alto", "Basso"], ["violin", "viola", "double-bass"]),
        # A wind band.
        (["Tromboni", "Bassi"], [None, None]),
        (["Euphonium", "Basses", "Percussion"], [None, None, None]),
        # What the file says of the sound.
        ([program("Alto", 42)], ["viola"]),
        ([program("Bassi", 49)], ["double-bass"]),
        (["Violin", program("Alto", 53)], ["violin", None]),
        ([listed("Alto", instrument_sound="strings.viola")], ["viola"]),
        (["Violin", listed("Alto", instrument_sound="wind.reed.saxophone.alto")], ["violin", None]),
        (["Bassi e Violoncelli"], ["double-bass"]),
    ],
)  # fmt: skip
def test_who_is_meant_by_names_of_voices_and_winds(read, document, names, instruments):
    score = read(document(*((name, EMPTY) for name in names)))
    assert [part.instrument and part.instrument.removeprefix(OQ) for part in score.parts] == (
        instruments
    )


def test_a_part_that_may_be_a_voice_is_remarked(read, document):
    (remark,) = read(document(("Alto", EMPTY))).remarks
    assert remark.startswith("Alto: ")
    assert "not checked" in remark
    assert read(document(("Violin", EMPTY), ("Alto", EMPTY))).remarks == ()


def test_a_part_with_words_to_sing_is_a_voice(read, document):
    def parts(lyric):
        return read(
            document(("Violin", SUNG.format("A", lyric)), ("Alto", SUNG.format("B", lyric)))
        )

    assert [bool(part.events) for part in parts("").parts] == [True, True]
    score = parts(LYRIC)
    violin, alto = score.parts
    assert (violin.instrument, alto.instrument) == (OQ + "violin", None)
    assert not alto.events
    assert any("sung" in remark for remark in score.remarks)
