"""Findings about stops as pictures of the fingerboard: how one hand takes the notes, or cannot."""

from collections.abc import Collection, Mapping, Sequence
from pathlib import Path

from orchq.derive.hand import Placement, solver_for
from orchq.derive.staves import staves_of
from orchq.derive.stops import Graded
from orchq.knowledge import Knowledge
from orchq.project.score_input import read_input
from orchq.report.fingerboard import BoardNote, BoardPicture, fingerboard_svg
from orchq.rules.catalogue import RuleInfo
from orchq.rules.finding import FileReport
from orchq.terms import OQ

_STOP = OQ + "Stop"
_MANNERS = {"struck": "struck", "plucked": "plucked", "paired": "in two pairs", "broken": "broken"}


def stop_pictures(
    report: FileReport,
    rules: Collection[RuleInfo],
    knowledge: Knowledge,
    *,
    level: str | None = None,
    trust: str | None = None,
) -> Mapping[int, str]:
    """Return SVG elements by the place of their finding in the report.

    Drawn are findings of rules that check stops, as the hand was found to take them. ``level`` and
    ``trust`` are IRIs, as for ``derive``. Raises ``ReadError`` when the file can no longer be read.
    """
    about = {rule.slug for rule in rules if _STOP in rule.targets}
    found = {
        number: finding.event
        for number, finding in enumerate(report.findings)
        if finding.rule in about
    }
    if not found:
        return {}
    score = read_input(Path(report.file), knowledge)[0]
    graded = {
        stop.sonority.event.iri: stop
        for staves in staves_of(score, knowledge, level=level, trust=trust).values()
        for staff in staves
        for stop in staff.stops.graded(staff.part, staff.placed, staff.around.level_of)
    }
    return {number: _drawn(graded[event]) for number, event in found.items() if event in graded}


def _drawn(graded: Graded) -> str:
    picture = _picture(graded)
    strings = graded.sonority.in_force.strings
    words = ", ".join(
        f"{each.label} on {strings[each.string - 1].name}"
        + (f" with finger {each.finger}" if each.finger else "")
        for each in picture.places
    )
    return fingerboard_svg(
        graded.model, strings, [picture], f"{picture.caption}: {words}", small=True
    )


def _picture(graded: Graded) -> BoardPicture:
    """How the notes are taken as written, or else where they would lie."""
    stop, playing = graded.stop, graded.as_written
    names = {note.pitch.midi: note.pitch.name for note in graded.notes}

    def pictured(caption: str, places: Sequence[Placement]) -> BoardPicture:
        return BoardPicture(
            caption,
            [BoardNote(p.string, p.semitones, names[p.pitch], p.finger) for p in places],
        )

    if playing.fingering:
        manner = next(words for way, words in _MANNERS.items() if getattr(stop, way) == playing)
        return pictured(f"{manner}: {playing.grade.label}", playing.fingering)
    if nearest := solver_for(graded.model).nearest(stop.pitches):
        side = "side by side: " if graded.bowed else ""
        return pictured(f"{side}out of reach", nearest)
    return BoardPicture("no string for each of the notes", _on_shared_strings(graded, names))


def _on_shared_strings(graded: Graded, names: Mapping[int, str]) -> list[BoardNote]:
    """Each note on the highest string that has it, as players would look for it first."""
    found = []
    for midi, name in names.items():
        for number, opened in enumerate(graded.model.strings, start=1):
            if 0 <= midi - opened <= graded.model.highest_stop:
                found.append(BoardNote(number, midi - opened, name))
                break
    return found
