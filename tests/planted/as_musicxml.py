"""Planted scores written as MusicXML, so that they are read, rewritten and read again as files."""

from collections.abc import Iterator
from fractions import Fraction

from lxml import etree

from orchq.knowledge import Knowledge
from orchq.notation import Pitch
from orchq.readers.signs import ARTIFICIAL_HARMONIC, Signs
from orchq.score import Event, Mark, Note, Part, Score
from orchq.writers.direction_elements import Directing
from orchq.writers.note_elements import Signing, add_leaf, put, shape_of, text_child

TICKS = 5040
MEASURE = Fraction(4)


class PlantedWriter:
    """Writes scores whose measures have four quarters and whose parts have one staff each."""

    def __init__(self, knowledge: Knowledge) -> None:
        self._knowledge = knowledge
        signs = Signs(knowledge)
        self._directing = Directing(signs)
        self._signing = Signing(signs)

    def written(self, score: Score) -> bytes:
        root = etree.Element("score-partwise", version="4.0")
        listed = etree.SubElement(root, "part-list")
        last = max(e.measure_index for part in score.parts for e in part.events)
        for part in score.parts:
            listed.append(self._listed(part))
        for part in score.parts:
            music = etree.SubElement(root, "part", id=part.id)
            for index in range(last + 1):
                music.append(self._measure(part, index))
        etree.indent(root)
        return etree.tostring(root, xml_declaration=True, encoding="UTF-8")

    def _listed(self, part: Part) -> etree._Element:
        item = etree.Element("score-part", id=part.id)
        instrument = self._knowledge.instruments[part.instrument or ""]
        etree.SubElement(item, "part-name").text = f"{instrument.label} {_letters(part.index)}"
        player = etree.SubElement(item, "score-instrument", id=f"{part.id}-I")
        etree.SubElement(player, "instrument-name").text = instrument.label
        if part.section:
            etree.SubElement(player, "ensemble").text = str(part.players or "")
        else:
            etree.SubElement(player, "solo")
        return item

    def _measure(self, part: Part, index: int) -> etree._Element:
        measure = etree.Element("measure", number=str(index + 1))
        if index == 0:
            attributes = etree.SubElement(measure, "attributes")
            etree.SubElement(attributes, "divisions").text = str(TICKS)
            time = etree.SubElement(attributes, "time")
            etree.SubElement(time, "beats").text = "4"
            etree.SubElement(time, "beat-type").text = "4"
            if self._knowledge.instruments[part.instrument or ""].octaves_above:
                transpose = etree.SubElement(attributes, "transpose")
                etree.SubElement(transpose, "chromatic").text = "0"
        events = [event for event in part.events if event.measure_index == index]
        marks = [mark for mark in part.marks if mark.measure_index == index]
        now = Fraction(0)
        for event in events:
            for mark in [m for m in marks if m.offset <= event.offset]:
                marks.remove(mark)
                now = self._rest(measure, now, mark.offset)
                measure.extend(self._marked(mark))
            now = self._rest(measure, now, event.offset)
            measure.extend(self._pins(part, event, begins=True))
            measure.extend(self._notes(part, event))
            now += event.duration
            measure.extend(self._pins(part, event, begins=False))
        for mark in marks:
            now = self._rest(measure, now, mark.offset)
            measure.extend(self._marked(mark))
        self._rest(measure, now, MEASURE)
        return measure

    def _pins(self, part: Part, event: Event, *, begins: bool) -> Iterator[etree._Element]:
        for pin in part.hairpins:
            if (pin.onset == event.onset) if begins else (pin.end == event.end):
                direction = etree.Element("direction")
                kind = "stop" if not begins else "crescendo" if pin.grows else "diminuendo"
                etree.SubElement(etree.SubElement(direction, "direction-type"), "wedge", type=kind)
                yield direction

    def _rest(self, measure: etree._Element, now: Fraction, until: Fraction) -> Fraction:
        if until > now:
            note = etree.SubElement(measure, "note")
            etree.SubElement(note, "rest")
            _length(note, until - now)
        return max(now, until)

    def _marked(self, mark: Mark) -> Iterator[etree._Element]:
        clefs = [d for d in mark.directives if "clef-" in d]
        if clefs:
            yield self._clef(clefs[0])
            return
        if mark.signature is not None:
            attributes = etree.Element("attributes")
            key = etree.SubElement(attributes, "key")
            etree.SubElement(key, "fifths").text = str(mark.signature)
            yield attributes
        if mark.directives or mark.tempo or mark.retuned:
            direction = self._directing.printed(mark.directives, mark.number)
            if mark.retuned:
                kind = etree.SubElement(direction, "direction-type")
                scordatura = etree.SubElement(kind, "scordatura")
                for number, pitch in mark.retuned:
                    scordatura.append(_accord(number, pitch))
            if mark.tempo:
                etree.SubElement(direction, "sound", tempo=str(mark.tempo))
            yield direction
        if mark.pedals:
            direction = etree.Element("direction")
            pedals = etree.SubElement(etree.SubElement(direction, "direction-type"), "harp-pedals")
            for letter, alter in mark.pedals:
                tuning = etree.SubElement(pedals, "pedal-tuning")
                etree.SubElement(tuning, "pedal-step").text = letter
                etree.SubElement(tuning, "pedal-alter").text = str(alter)
            yield direction

    def _clef(self, directive: str) -> etree._Element:
        attributes = etree.Element("attributes")
        clef = etree.SubElement(attributes, "clef")
        sign, line = self._knowledge.directives[directive].clef or "G2"
        etree.SubElement(clef, "sign").text = sign
        etree.SubElement(clef, "line").text = line
        return attributes

    def _notes(self, part: Part, event: Event) -> Iterator[etree._Element]:
        for number, note in enumerate(event.notes):
            element = etree.Element("note")
            if number:
                etree.SubElement(element, "chord")
            element.append(_pitch(note.pitch))
            _length(element, event.duration)
            self._signs(element, note, event, first=number == 0)
            if number == 0:
                for slur in part.slurs:
                    for kind, end in (("stop", slur.last), ("start", slur.first)):
                        if end == event.iri:
                            digit = str(part.slurs.index(slur) % 6 + 1)
                            leaf = etree.Element("slur", type=kind, number=digit)
                            add_leaf(element, None, leaf)
            yield element

    def _signs(self, element: etree._Element, note: Note, event: Event, *, first: bool) -> None:
        harmonics = [s for s in event.marks if s.endswith("-harmonic")]
        if note.role or note.notehead:
            self._signing.write_role(element, note, min(harmonics, default=ARTIFICIAL_HARMONIC))
        for name, text in (("string", note.string), ("fingering", note.finger)):
            if text is not None:
                leaf = etree.Element(name)
                leaf.text = str(text)
                add_leaf(element, "technical", leaf)
        if first:
            for sign in sorted(event.marks):
                if not self._signing.put(element, sign):
                    raise AssertionError(sign)
            for leaf in element.iter("tremolo"):
                leaf.text = str(event.strokes or leaf.text)
        for end, kind in ((note.tie_forward, "start"), (note.tied_back, "stop")):
            if end:
                put(element, etree.Element("tie", type=kind))


def _length(note: etree._Element, quarters: Fraction) -> None:
    text_child(note, "duration", str(int(quarters * TICKS)))
    text_child(note, "voice", "1")
    shape = shape_of(quarters)
    if shape is not None:
        text_child(note, "type", shape[0])
        for _ in range(shape[1]):
            put(note, etree.Element("dot"))


def _pitch(pitch: Pitch) -> etree._Element:
    step, alter, octave = pitch.spelling
    element = etree.Element("pitch")
    etree.SubElement(element, "step").text = step
    if alter:
        etree.SubElement(element, "alter").text = str(alter)
    etree.SubElement(element, "octave").text = str(octave)
    return element


def _accord(number: int, pitch: Pitch) -> etree._Element:
    step, alter, octave = pitch.spelling
    accord = etree.Element("accord", string=str(number))
    etree.SubElement(accord, "tuning-step").text = step
    if alter:
        etree.SubElement(accord, "tuning-alter").text = str(alter)
    etree.SubElement(accord, "tuning-octave").text = str(octave)
    return accord


def _letters(number: int) -> str:
    """A number in Roman figures up to ten and pairs of them, which part names may hold."""
    figures = ("I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X")
    return " ".join(figures[int(digit)] for digit in str(number))
