"""Whether two scores say the same, whatever their elements are called and in which voices."""

from collections import Counter
from collections.abc import Hashable, Iterator

from orchq.notation import beat_name
from orchq.score import Event, Note, Part, Score


def difference(one: Score, other: Score) -> str | None:
    """Return where the second score first differs from the first, or ``None``.

    Compared are notes with all that is printed at them, words and signs with their places, slurs
    and hairpins. Texts that ask nothing of a player, voices and names are left out.
    """
    for part, again in zip(one.parts, other.parts, strict=True):
        for kind, expected, found in (
            ("notes", _notes(part), _notes(again)),
            ("words and signs", _words(part), _words(again)),
            ("slurs", _slurs(part), _slurs(again)),
            ("hairpins", _hairpins(part), _hairpins(again)),
        ):
            if expected != found:
                onset = min(_places(expected - found) | _places(found - expected))
                return f"{part.name}, {_where(part, onset)}: {kind}"
    return None


def _places(counted: Counter[tuple[object, ...]]) -> set[float]:
    return {float(item[0]) for item in counted}  # type: ignore[arg-type]


def _where(part: Part, onset: float) -> str:
    within = [measure for measure in part.measures if measure.onset <= onset]
    if not within:
        return "at the beginning"
    last = within[-1]
    beat = beat_name(onset - float(last.onset) + 1)
    return f"measure {last.number}, beat {beat}"


def _notes(part: Part) -> Counter[tuple[object, ...]]:
    return Counter(
        (
            event.onset,
            event.duration,
            event.grace,
            event.cue,
            event.staff,
            event.marks,
            event.strokes if event.marks else 0,
            tuple(sorted(map(_note, event.notes), key=repr)),
        )
        for event in part.events
    )


def _note(note: Note) -> Hashable:
    return (
        note.pitch,
        note.tie_forward,
        note.tied_back,
        note.string,
        note.finger,
        note.role,
        note.notehead,
    )


def _words(part: Part) -> Counter[tuple[object, ...]]:
    return Counter(_single_words(part))


def _single_words(part: Part) -> Iterator[tuple[object, ...]]:
    for mark in part.marks:
        for directive in mark.directives:
            yield mark.onset, mark.staff, directive, mark.number
        for what in (mark.tempo, mark.retuned, mark.signature, mark.pedals):
            if what not in (None, ()):
                yield mark.onset, mark.staff, what, None


def _slurs(part: Part) -> Counter[tuple[object, ...]]:
    events: dict[str, Event] = {event.iri: event for event in part.events}
    return Counter(
        (events[slur.first].onset, events[slur.last].onset)
        for slur in part.slurs
        if {slur.first, slur.last} <= events.keys()
    )


def _hairpins(part: Part) -> Counter[tuple[object, ...]]:
    return Counter((pin.onset, pin.end, pin.grows) for pin in part.hairpins)
