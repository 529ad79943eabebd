"""What is printed in a score file, read with lxml alone: no code of the package takes part."""

from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction
from zipfile import ZipFile

from lxml import etree


@dataclass
class Printed:
    """One measure of one part: notes by beat, and words, dynamics and harmonics in it."""

    number: str
    notes: dict[Fraction, set[str]] = field(default_factory=lambda: defaultdict(set))
    harmonics: dict[Fraction, set[str]] = field(default_factory=lambda: defaultdict(set))
    tremolos: set[Fraction] = field(default_factory=set)
    words: list[str] = field(default_factory=list)
    dynamics: list[str] = field(default_factory=list)


@dataclass
class State:
    """What holds on from measure to measure."""

    divisions: int = 1
    octaves: int = 0


def measures(path, part_index):
    """All measures of a part, counted from 0, as the parts are in the file."""
    part = etree.fromstring(_xml(path)).findall("part")[part_index]
    state = State()
    return [_measure(each, state) for each in part.findall("measure")]


def _xml(path):
    with ZipFile(path) as archive:
        names = [n for n in archive.namelist() if n.endswith((".xml", ".musicxml"))]
        [name] = [name for name in names if not name.startswith("META-INF")]
        return archive.read(name)


def _measure(measure, state):
    printed = Printed(measure.get("number"))
    now = start = Fraction(0)
    for element in measure:
        if element.tag == "attributes":
            state.divisions = int(element.findtext("divisions", str(state.divisions)))
            state.octaves = int(element.findtext("transpose/octave-change", str(state.octaves)))
        elif element.tag == "direction":
            printed.words += [words.text for words in element.iter("words") if words.text]
            printed.dynamics += [e.tag for d in element.iter("dynamics") for e in d]
        elif element.tag in ("backup", "forward"):
            step = Fraction(int(element.findtext("duration")), state.divisions)
            now += step if element.tag == "forward" else -step
        elif element.tag == "note":
            chord = element.find("chord") is not None
            length = Fraction(int(element.findtext("duration", "0")), state.divisions)
            if not chord:
                start, now = now, now + length
            _note(element, start + 1, state.octaves, printed)
    return printed


def _note(note, beat, octaves, printed):
    pitch = note.find("pitch")
    if pitch is None:
        return
    sign = {"-2": "bb", "-1": "b", "1": "#", "2": "##"}.get(pitch.findtext("alter"), "")
    name = f"{pitch.findtext('step')}{sign}{int(pitch.findtext('octave')) + octaves}"
    printed.notes[beat].add(name)
    if note.find("notations/technical/harmonic") is not None or (
        note.findtext("notehead") == "diamond"
    ):
        printed.harmonics[beat].add(name)
    if note.find("notations/ornaments/tremolo") is not None:
        printed.tremolos.add(beat)
