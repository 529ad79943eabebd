"""The user's own score with each finding at its note."""

from pathlib import Path

from orchq.errors import OrchqError
from orchq.inputs import without_controls
from orchq.knowledge import Knowledge
from orchq.project.corrections import music_of
from orchq.readers.musicxml import read_musicxml_bytes
from orchq.rules.finding import FileReport, Finding, Place
from orchq.score import Event, Part
from orchq.severity import SEVERITIES, Severity
from orchq.writers.annotations import Annotation, with_annotations
from orchq.writers.score_text import ScoreText

# Dark enough to be read as text on white; the words name the severity too.
_COLOURS: dict[Severity, str] = {"violation": "#B3261E", "warning": "#8A5A00", "info": "#1F5FA8"}
_LONGEST = 160


def annotated(report: FileReport, knowledge: Knowledge) -> bytes:
    """Return the MusicXML of a checked file with its findings, numbered as in the report.

    The first place of a finding has its number, severity and message, the others the number; the
    heads concerned are coloured. Nothing else changes, and ``without_annotations`` takes it off.
    Raises ``OrchqError`` for a file that is no MusicXML, or was changed since it was checked.
    """
    path = Path(report.file)
    data = music_of(path)
    score = read_musicxml_bytes(data, path, knowledge)
    graver = sorted(
        enumerate(report.findings, 1), key=lambda each: -SEVERITIES.index(each[1].severity)
    )
    events = {
        event.iri: (part, event) for part in score.parts for event in part.events if event.notes
    }
    annotations = [
        _annotation(number, finding, place, *events.get(place.event, (None, None)))
        for number, finding in graver
        for place in finding.all_places
    ]
    if None in annotations:
        raise OrchqError(f"{report.file}: has changed since it was checked; check it again")
    return with_annotations(ScoreText(data, report.file), filter(None, annotations))


def _annotation(
    number: int, finding: Finding, place: Place, part: Part | None, event: Event | None
) -> Annotation | None:
    if part is None or event is None or event.notes[0].child is None:
        return None
    return Annotation(
        part=part.id,
        measure=event.measure_index,
        first=event.notes[0].child,
        heads=_heads(event, place.notes),
        text=_text(number, finding, first=place == finding.all_places[0]),
        colour=_COLOURS[finding.severity],
        staff=event.staff if any(each.staff > 1 for each in part.events) else None,
    )


def _heads(event: Event, pitches: tuple[str, ...]) -> tuple[int, ...]:
    """The heads that a finding names, or all of the event."""
    named = [note for note in event.notes if note.pitch.name in pitches] or event.notes
    return tuple(note.child for note in named if note.child is not None)


def _text(number: int, finding: Finding, *, first: bool) -> str:
    if not first:
        return f"[{number}]"
    message = " ".join(without_controls(finding.message).split())
    short = message if len(message) <= _LONGEST else message[: _LONGEST - 1] + "…"
    return f"[{number}] {finding.severity}: {short}"
