"""A fingering for people and programs: JSON, a table, and a marked copy of the score."""

import json
from collections.abc import Iterator, Mapping, Sequence
from io import BytesIO
from typing import Any
from xml.parsers import expat

from orchq.derive.path.fingering import FingeredNote, FingeredPart
from orchq.errors import OrchqError
from orchq.readers.iri_names import slug

_WIDE = (b"\xff\xfe", b"\xfe\xff")
_AFTER_NOTATIONS = frozenset({"lyric", "play", "listen"})


def fingering_json(parts: Sequence[FingeredPart]) -> str:
    """Return the fingering as JSON: every note with its string, position and finger.

    Strings count from 1, the highest; on an open string position and finger are 0; half position
    is 0.5 and the thumb ``"T"``. Where no hand takes the notes they are ``null``. A note whose
    printed fingering could not be kept has ``"departs": true``.
    """
    written = [
        {
            "name": part.name,
            "index": part.index,
            "notes": [_note(each) for each in part.notes],
        }
        for part in parts
    ]
    return json.dumps({"parts": written}, ensure_ascii=False, indent=1) + "\n"


def _note(fingered: FingeredNote) -> dict[str, Any]:
    event, pitch = fingered.event, fingered.note.pitch
    finger = fingered.finger
    row: dict[str, Any] = {
        "measure": event.measure_number,
        "onset": float(event.onset),
        "duration": float(fingered.length),
        "pitch": pitch.name,
        "midi": pitch.midi,
        "string": fingered.string,
        "position": _number(fingered.position),
        "finger": int(finger) if finger is not None and finger.isdecimal() else finger,
    }
    if fingered.departs:
        row["departs"] = True
    return row


def _number(position: float | None) -> float | int | None:
    return int(position) if position is not None and position == int(position) else position


def fingering_text(parts: Sequence[FingeredPart]) -> str:
    """Return the fingering measure by measure: string, finger, and where the hand goes."""
    lines: list[str] = []
    for part in parts:
        if not part.notes:
            continue
        lines.append(part.name)
        measure, words = None, list[str]()
        for fingered, shifted in _with_shifts(part.notes):
            if measure != fingered.event.measure_index:
                if words:
                    lines.append(" ".join(words))
                measure = fingered.event.measure_index
                words = [f"{fingered.event.measure_number:>5} "]
            words.append(_word(fingered, part, shifted=shifted))
        lines += [" ".join(words), ""]
    if any(note.departs for part in parts for note in part.notes):
        lines.append("! no hand can take the note as it is printed")
    return "\n".join(lines)


def _word(fingered: FingeredNote, part: FingeredPart, *, shifted: bool) -> str:
    if fingered.string is None or part.instrument is None:
        return f"{fingered.note.pitch}:?"
    string = part.instrument.standard.strings[fingered.string - 1].name
    place = f"({position_words(fingered.position)})" if shifted else ""
    return (
        f"{fingered.note.pitch}:{string}{fingered.finger}{place}{'!' if fingered.departs else ''}"
    )


def _with_shifts(notes: Sequence[FingeredNote]) -> Iterator[tuple[FingeredNote, bool]]:
    """Each note, and whether the hand stands in another position than before."""
    last: float | None = None
    for note in notes:
        moved = bool(note.position) and note.position != last
        yield note, moved
        last = note.position or last


def position_words(position: float | None) -> str:
    """A position as it is printed.

    >>> position_words(3), position_words(0.5)
    ('3rd pos.', '½ pos.')
    """
    if position is None or position == 0.5:
        return "½ pos."
    whole = int(position)
    ending = {1: "st", 2: "nd", 3: "rd"}.get(whole if whole < 20 else whole % 10, "th")
    return f"{whole}{ending}{' raised' if position != whole else ''} pos."


def marked_copy(data: bytes, parts: Sequence[FingeredPart]) -> bytes:
    """Return the MusicXML of a score with the fingering written into it, and nothing else changed.

    ``data`` is the text of the file that the parts were read from. Fingers and strings stand at
    the notes that have none printed; where the hand goes to another position, words say which.
    Raises ``OrchqError`` where the text is encoded in more than bytes.
    """
    if data.startswith(_WIDE):
        raise OrchqError("a score encoded in UTF-16 cannot be marked; save it in UTF-8 first")
    marks = {part.id: _marks(part) for part in parts}
    return _Marking(data, marks).marked()


def _marks(part: FingeredPart) -> dict[str, tuple[bytes, bytes]]:
    """What is written before and within each note, by measure, voice and place of its event."""
    found: dict[str, tuple[bytes, bytes]] = {}
    for fingered, shifted in _with_shifts(part.notes):
        if fingered.string is None:
            continue
        note = fingered.note
        technical = b""
        if note.finger is None:
            technical += b"<fingering>" + str(fingered.finger).encode() + b"</fingering>"
        if note.string is None:
            technical += b"<string>" + str(fingered.string).encode() + b"</string>"
        inside = b"<notations><technical>" + technical + b"</technical></notations>"
        words = position_words(fingered.position).encode("ascii", "xmlcharrefreplace")
        before = (
            b'<direction placement="above"><direction-type><words>'
            + words
            + b"</words></direction-type></direction>"
        )
        key = note.iri.removeprefix(_stem(note.iri))
        found[key] = before if shifted else b"", inside if technical else b""
    return found


def _stem(iri: str) -> str:
    """The part of a note's IRI that names its part: ``...P1`` of ``...P1.m0.v1.1.n1``."""
    return iri.rsplit(".", 4)[0]


class _Marking:
    """Walks the text of a score as the reader counts its events, and notes where marks go."""

    def __init__(self, data: bytes, marks: Mapping[str, Mapping[str, tuple[bytes, bytes]]]) -> None:
        self._data = data
        self._marks = marks
        self._inserts: list[tuple[int, bytes]] = []
        self._path: list[str] = []
        self._part: Mapping[str, tuple[bytes, bytes]] = {}
        self._measure = -1
        self._ordinals: dict[str, int] = {}
        self._event: tuple[str, int] | None = None
        self._heads = 0
        self._directed = -1
        self._parser = expat.ParserCreate()
        self._parser.buffer_text = True
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        self._parser.CharacterDataHandler = self._text
        self._reset(0)

    def _reset(self, at: int) -> None:
        self._begins, self._place = at, -1
        self._seen: set[str] = set()
        self._hidden, self._voice = False, ""

    def marked(self) -> bytes:
        self._parser.ParseFile(BytesIO(self._data))
        out, last = [], 0
        for at, text in sorted(self._inserts, key=lambda each: each[0]):
            out += [self._data[last:at], text]
            last = at
        return b"".join((*out, self._data[last:]))

    def _start(self, name: str, attributes: Mapping[str, str]) -> None:
        self._path.append(name)
        if name == "part" and len(self._path) == 2:
            self._part = self._marks.get(attributes.get("id", ""), {})
            self._measure = -1
        elif name == "measure" and len(self._path) == 3:
            self._measure += 1
            self._ordinals.clear()
            self._event = None
        elif name == "note" and len(self._path) == 4:
            self._reset(self._parser.CurrentByteIndex)
            self._hidden = attributes.get("print-object") == "no"
        elif len(self._path) == 5 and self._path[3] == "note":
            self._seen.add(name)
            if name in _AFTER_NOTATIONS and self._place < 0:
                self._place = self._parser.CurrentByteIndex

    def _text(self, text: str) -> None:
        if len(self._path) == 5 and self._path[3:] == ["note", "voice"]:
            self._voice += text

    def _end(self, name: str) -> None:
        self._path.pop()
        if name == "note" and len(self._path) == 3:
            self._note(self._parser.CurrentByteIndex)

    def _note(self, end: int) -> None:
        if self._hidden or "pitch" not in self._seen:
            return
        if "chord" in self._seen and self._event is not None:
            self._heads += 1
        else:
            voice = slug(self._voice.strip() or "1")
            ordinal = self._ordinals.get(voice, 0) + 1
            self._ordinals[voice] = ordinal
            self._event, self._heads = (voice, ordinal), 1
            self._first = self._begins
        voice, ordinal = self._event
        key = f".m{self._measure}.v{voice}.{ordinal}.n{self._heads}"
        before, inside = self._part.get(key, (b"", b""))
        if before and self._directed != self._first:
            self._inserts.append((self._first, before))
            self._directed = self._first
        if inside:
            self._inserts.append((self._place if self._place >= 0 else end, inside))
