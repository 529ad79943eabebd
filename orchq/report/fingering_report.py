"""A fingering for people and programs: JSON, a table, and a marked copy of the score."""

import json
from collections.abc import Iterator, Sequence
from typing import Any

from orchq.derive.path.fingering import FingeredNote, FingeredPart
from orchq.writers.score_text import ScoreText


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
        for fingered, shifted in with_shifts(part.notes):
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


def with_shifts(notes: Sequence[FingeredNote]) -> Iterator[tuple[FingeredNote, bool]]:
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
    text = ScoreText(data, "the score")
    for part in parts:
        directed: set[str] = set()
        for fingered, shifted in with_shifts(part.notes):
            if fingered.string is None or fingered.note.child is None:
                continue
            spans = text.measures(part.id)[fingered.event.measure_index]
            if shifted and fingered.event.iri not in directed:
                directed.add(fingered.event.iri)
                first = min(n.child for n in fingered.event.notes if n.child is not None)
                text.insert(spans[first].begin, _direction(fingered.position))
            if technical := _technical(fingered):
                text.insert(text.in_note(spans[fingered.note.child], "notations"), technical)
    return text.spliced()


def _technical(fingered: FingeredNote) -> bytes:
    """What is written at a note: the finger and the string that are not printed."""
    technical = ""
    if fingered.note.finger is None:
        technical += f"<fingering>{fingered.finger}</fingering>"
    if fingered.note.string is None:
        technical += f"<string>{fingered.string}</string>"
    if not technical:
        return b""
    return f"<notations><technical>{technical}</technical></notations>".encode()


def _direction(position: float | None) -> bytes:
    words = position_words(position).encode("ascii", "xmlcharrefreplace")
    return (
        b'<direction placement="above"><direction-type><words>'
        + words
        + b"</words></direction-type></direction>"
    )
