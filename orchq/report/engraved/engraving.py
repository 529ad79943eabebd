"""A score engraved, one drawing for each system; findings are traced to the notes drawn."""

import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lxml import etree
from msgspec import Struct

from orchq.bounded import done
from orchq.knowledge import Knowledge
from orchq.lazily import lazily
from orchq.readers.musicxml import read_musicxml_bytes
from orchq.readers.source import Element
from orchq.readers.tree import numbered_tree
from orchq.report.wording import one_line
from orchq.rules.finding import Finding, Place
from orchq.score import Note

if TYPE_CHECKING:
    from orchq.derive import path as hand_path
    from orchq.report.engraved import written_fingering
else:
    (hand_path,) = lazily("orchq.derive", "path")
    (written_fingering,) = lazily("orchq.report.engraved", "written_fingering")

MEASURE_ID = "m{}"
"""How the drawings of measures are called, counted from 0."""

_ENGRAVER = "orchq.report.engraved.engraver"
_NAMES = ("part-name", "part-abbreviation", "group-name", "group-abbreviation", "display-text")
_UNSEEN = ("sound", "midi-device", "midi-instrument", "play", "listen", "listening")
_LONGEST_NAME = 40
_PATIENCE = 120  # seconds; a long symphony takes ten


class Engraving(Struct, frozen=True):
    """A score engraved.

    ``systems`` are verovio's drawings by the number of the system, from 1. ``places`` are the
    systems by note, and ``concerned`` the notes of each finding, named by the identifiers of
    their drawings, those of its first place first; a note that is not drawn is in neither, nor
    is a finding of which the first place is not. ``measures`` are printed numbers by the
    identifiers of the drawings of measures. ``passages`` are drawings of the passages given, empty
    where one cannot be drawn.
    """

    systems: Mapping[int, str]
    places: Mapping[str, int]
    concerned: Sequence[tuple[str, ...]]
    measures: Mapping[str, str]
    passages: Sequence[str] = ()


class FingeredFor(Struct, frozen=True):
    """Whose fingering is drawn: ``level`` is the IRI of one, ``trust`` of the source to follow."""

    level: str | None = None
    trust: str | None = None


def engrave(
    path: Path,
    knowledge: Knowledge,
    parts: Collection[int],
    findings: Sequence[Finding],
    *,
    whole: bool,
    passages: Sequence[str] = (),
    fingered: FingeredFor | None = None,
) -> Engraving | None:
    """Engrave the parts with these indices; ``None`` when verovio cannot.

    Only the systems with first places of findings are drawn unless ``whole`` is true; the notes of
    all places are traced. ``passages`` are short scores to be drawn as well; with ``fingered`` the
    likeliest fingering for such players is drawn at the notes. Raises ``ReadError``
    when the file can no longer be read.
    """
    root = numbered_tree(path)
    score = read_musicxml_bytes(etree.tostring(root, encoding="utf-8"), path, knowledge)
    kept = [part for part in score.parts if part.index in parts]
    notes = {event.iri: event.notes for part in kept for event in part.events}
    first = [_traced(notes, finding.all_places[:1]) for finding in findings]
    others = [_traced(notes, finding.all_places[1:]) for finding in findings]
    if fingered is not None:
        level, trust = fingered.level, fingered.trust
        parts_fingered = hand_path.fingering_of(score, knowledge, level=level, trust=trust)
        written_fingering.write_fingering(root, parts_fingered)
    _prepare(root, {part.id for part in kept})
    asked = {
        "notes": sorted({note for each in (*first, *others) for note in each}),
        "shown": sorted({note for each in first for note in each}),
        "all": whole,
        "passages": [*passages],
    }
    drawn = _drawn(root, asked)
    if drawn is None:
        return None
    places = {note: system for note, system in drawn["places"].items() if system}
    concerned = [
        tuple(note for note in (*own, *more) if note in places)
        if any(note in places for note in own)
        else ()
        for own, more in zip(first, others, strict=True)
    ]
    return Engraving(
        systems={int(system): svg for system, svg in drawn["systems"].items()},
        places=places,
        concerned=concerned,
        measures={
            MEASURE_ID.format(index): measure.number
            for part in kept
            for index, measure in enumerate(part.measures)
        },
        passages=[svg or "" for svg in drawn["passages"]],
    )


def _traced(notes: Mapping[str, Sequence[Note]], places: Iterable[Place]) -> tuple[str, ...]:
    """The identifiers of the notes that stand in some places of a finding."""
    return tuple(
        note.xml_id
        for place in places
        for note in notes.get(place.event, ())
        if note.xml_id and note.pitch.name in place.notes
    )


def _prepare(root: Element, names: Collection[str]) -> None:
    """Leave these parts, name the measures, and shorten what would push the music off the page.

    What sounds and is not seen goes too: verovio plays repeats as often as they are counted.
    """
    for element in (*root.findall("part"), *root.findall("part-list/score-part")):
        holder = element.getparent()
        if holder is not None and (element.get("id") or "") not in names:
            holder.remove(element)
    for listed in root.iterfind("part-list"):
        for name in listed.iter(*_NAMES):
            name.text = one_line(name.text or "", _LONGEST_NAME)
    etree.strip_elements(root, *_UNSEEN, with_tail=False)
    for repeat in root.iter("repeat"):
        if "times" in repeat.attrib:
            del repeat.attrib["times"]
    for metronome in root.iter("metronome"):
        before = metronome.getparent()
        words = None if before is None else before.getprevious()
        for word in () if words is None else words.findall("words")[-1:]:
            word.text = f"{(word.text or '').rstrip()}\N{NO-BREAK SPACE}"
    for part in root.iterfind("part"):
        for index, measure in enumerate(part.iterfind("measure")):
            measure.set("id", MEASURE_ID.format(index))


def _drawn(root: Element, asked: Mapping[str, Any]) -> Any:
    """What the engraver answers, ``None`` when it fails."""
    question = {"xml": etree.tostring(root, encoding="unicode"), **asked}
    ended = done(_ENGRAVER, json.dumps(question).encode(), _PATIENCE)
    return None if ended.code else json.loads(ended.written)


def text_font() -> str:
    """The style sheet of the font in which verovio writes notes within words."""
    package = find_spec("verovio")
    assert package is not None
    assert package.origin is not None
    return (Path(package.origin).parent / "data" / "Leipzig.css").read_text(encoding="utf-8")
