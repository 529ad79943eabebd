"""Small scores whose rows can be counted by hand: quarter notes of four divisions, 4/4."""

from pathlib import Path

import pytest

from orchq.knowledge import load
from orchq.readers import read_score
from orchq.survey import measured

KNOWLEDGE = load()
QUARTER, HALF, WHOLE, EIGHTH = 4, 8, 16, 2


def heads(pitches, length, *, slur="", notations=""):
    """A note or chord; ``slur`` is ``start`` or ``stop``."""
    if slur:
        notations += f'<slur type="{slur}"/>'
    noted = f"<notations>{notations}</notations>" if notations else ""
    made = ""
    for number, pitch in enumerate(pitches.split()):
        chord = "<chord/>" if number else ""
        alter = "<alter>1</alter>" if "#" in pitch else ""
        made += (
            f"<note>{chord}<pitch><step>{pitch[0]}</step>{alter}<octave>{pitch[-1]}</octave>"
            f"</pitch><duration>{length}</duration>{'' if number else noted}</note>"
        )
    return made


def line(pitches, length):
    """Notes of one length, one after another."""
    return "".join(heads(pitch, length) for pitch in pitches.split())


def rest(length):
    return f"<note><rest/><duration>{length}</duration></note>"


def says(kind, after=""):
    return f"<direction><direction-type>{kind}</direction-type>{after}</direction>"


def words(text):
    return says(f"<words>{text}</words>")


def loud(dynamic):
    return says(f"<dynamics><{dynamic}/></dynamics>")


SIXTY = says("<metronome><beat-unit>quarter</beat-unit><per-minute>60</per-minute></metronome>")
HARMONIC = "<technical><harmonic><natural/><sounding-pitch/></harmonic></technical>"
TREMOLO = "<ornaments><tremolo>3</tremolo></ornaments>"


def document(parts, head=""):
    """A score from names of parts and their measures."""
    listed = "".join(
        f'<score-part id="P{n}"><part-name>{name}</part-name></score-part>'
        for n, name in enumerate(parts, 1)
    )
    times = (
        "<attributes><divisions>4</divisions>"
        "<time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
    )
    music = ""
    for n, measures in enumerate(parts.values(), 1):
        music += f'<part id="P{n}">' + "".join(
            f'<measure number="{m}">{times if m == 1 else ""}{content}</measure>'
            for m, content in enumerate(measures, 1)
        )
        music += "</part>"
    content = f"{head}<part-list>{listed}</part-list>{music}"
    return f'<score-partwise version="4.0">{content}</score-partwise>'


HEAD = (
    "<work><work-number>Op. 7</work-number><work-title>Trifles</work-title></work>"
    "<movement-number>2</movement-number><movement-title>Night</movement-title>"
    '<identification><creator type="lyricist">Nobody</creator>'
    '<creator type="composer">Jos\u00e9 d\u2019\u00c9vora</creator></identification>'
)

SOLO = (
    # 1: on the bridge, softly; two notes under a slur.
    SIXTY
    + words("sul pont.")
    + loud("p")
    + heads("A4", QUARTER, slur="start")
    + heads("B4", QUARTER, slur="stop")
    + line("C5 D5", QUARTER),
    # 2: eight even notes.
    words("ord.") + loud("f") + line("G4 A4 B4 C5 D5 C5 B4 A4", EIGHTH),
    # 3: four even notes, plucked.
    words("pizz.") + line("G4 A4 B4 C5", QUARTER),
    # 4: a double stop, then a harmonic.
    words("arco") + heads("G3 D4", HALF) + heads("A5", HALF, notations=HARMONIC),
    # 5: a tremolo.
    heads("A4", WHOLE, notations=TREMOLO),
    # 6: on the lowest string.
    words("sul G") + heads("D4", HALF) + rest(HALF),
    # 7: a leap, with nothing to stop it.
    heads("G#3", QUARTER) + heads("E7", QUARTER) + rest(HALF),
    # 8: four double stops, no note twice.
    heads("G3 D4", QUARTER)
    + heads("A3 E4", QUARTER)
    + heads("B3 F#4", QUARTER)
    + heads("C4 G4", QUARTER),
    # 9: a mute after a rest, and words that nobody knows.
    words("Fine della parte")
    + rest(HALF)
    + words("con sord.")
    + words("sul crusto")
    + heads("A4", HALF),
)

SECTION = (
    words("div.") + heads("C4 E4", HALF) + heads("D4 F4", HALF),
    words("unis.") + heads("C4 G4", WHOLE),
    *[rest(WHOLE)] * 7,
)
FLUTE = (words("Flatterzunge") + heads("C6", WHOLE), *[rest(WHOLE)] * 8)

MARKED = document({"Violin": SOLO, "Violas": SECTION, "Flute": FLUTE}, HEAD)
ASSUMED = document({"Viola": (words("Adagio") + line("G4 A4 B4 C5 D5 C5 B4 A4", EIGHTH),)})
UNKNOWN = document({"Viola": (line("G4 A4 B4 C5 D5 C5 B4 A4", EIGHTH),)})


@pytest.fixture(scope="session")
def rows_of(tmp_path_factory):
    """Measure a score that is given as MusicXML."""

    def measure(content):
        path = tmp_path_factory.mktemp("score") / "piece.musicxml"
        path.write_text(content, encoding="utf-8")
        score = read_score(path, KNOWLEDGE)
        return measured(
            score, KNOWLEDGE, work="a/piece.musicxml", collection="few", folder="Bach,_J._S."
        )

    return measure


@pytest.fixture(scope="session")
def marked(rows_of):
    return rows_of(MARKED)


@pytest.fixture
def corpus(tmp_path) -> Path:
    """A folder with three scores by two composers, a hidden file and one that is no score."""
    folder = tmp_path / "corpus"
    for name, content in (
        ("Haydn,_Joseph/one.musicxml", ASSUMED),
        ("Haydn,_Joseph/Set/two.musicxml", UNKNOWN),
        ("schumann_clara/three.musicxml", MARKED),
        ("schumann_clara/._three.musicxml", "no score"),
        ("schumann_clara/notes.txt", "no score"),
    ):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, encoding="utf-8")
    return folder
