"""The likeliest fingering written into a tree of MusicXML before it is engraved."""

from collections.abc import Sequence

from lxml import etree

from orchq.derive.path.fingering import FingeredNote, FingeredPart
from orchq.readers.source import Element
from orchq.report.fingering_report import position_words, with_shifts


def write_fingering(root: Element, parts: Sequence[FingeredPart]) -> None:
    """Write fingers at the notes that have none printed; ``root`` numbers its notes.

    The letter of the string goes before the finger where the string changes, and the position
    stands above where the hand moves.
    """
    notes = {note.get("id"): note for note in root.iter("note")}
    for part in parts:
        string: int | None = None
        moved: set[str] = set()
        for fingered, shifted in with_shifts(part.notes):
            note = notes.get(fingered.note.xml_id)
            if note is None or fingered.string is None or part.instrument is None:
                continue
            changed = fingered.string != string or bool(note.findall("chord"))
            string = fingered.string
            if shifted and fingered.event.iri not in moved:
                moved.add(fingered.event.iri)
                _write_position(note, fingered)
            if fingered.note.finger is None:
                name = part.instrument.standard.strings[string - 1].name
                _write_finger(note, f"{name if changed else ''}{fingered.finger}")


def _write_finger(note: Element, words: str) -> None:
    technical = _within(_within(note, "notations"), "technical")
    etree.SubElement(technical, "fingering", placement="above").text = words


def _within(element: Element, tag: str) -> Element:
    """The first child of that name, made where there is none; the library reads one of each."""
    found = element.find(tag)
    return etree.SubElement(element, tag) if found is None else found


def _write_position(note: Element, fingered: FingeredNote) -> None:
    """Words above the note, or above the chord that it belongs to."""
    first = note
    while first.find("chord") is not None:
        earlier = first.getprevious()
        if earlier is None:
            return
        first = earlier
    direction = etree.Element("direction", placement="above")
    kind = etree.SubElement(direction, "direction-type")
    etree.SubElement(kind, "words").text = position_words(fingered.position)
    if (staff := note.find("staff")) is not None:
        etree.SubElement(direction, "staff").text = staff.text
    first.addprevious(direction)
