"""The likeliest fingering of a score: for every note its string, position and finger."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import groupby

from msgspec import Struct

from orchq.derive.hand import HandModel
from orchq.derive.path.board import board_of
from orchq.derive.path.passages import Asked, Passages, finger_name
from orchq.derive.path.postures import OPEN, Posture
from orchq.derive.path.search import PathSearch, Weights
from orchq.derive.path.weights import path_weights
from orchq.derive.staves import staves_of
from orchq.knowledge import Instrument, Knowledge
from orchq.score import Event, Note, Score


class FingeredNote(Struct, frozen=True):
    """A note and its fingering.

    ``string`` counts from 1, the highest; ``position`` is as players number it, 0.5 for half
    position and 0 on an open string; ``finger`` is ``0`` on an open string. All three are
    ``None`` where no hand takes the notes at once. ``length`` is in quarter notes, ties
    included. ``departs`` is true where the printed fingering could not be obeyed, and where a call
    for a string is taken to be over though its end is not printed.
    """

    note: Note
    event: Event
    length: Fraction
    string: int | None = None
    position: float | None = None
    finger: str | None = None
    departs: bool = False


class Taking(Struct, frozen=True):
    """One attack with the posture that the path takes it in; ``None`` where there is none."""

    asked: Asked
    posture: Posture | None


class FingeredPart(Struct, frozen=True):
    """A part with its fingering; ``lines`` are the voices, attack by attack, as one hand plays."""

    name: str
    id: str
    index: int
    instrument: Instrument | None
    notes: tuple[FingeredNote, ...]
    lines: tuple[tuple[Taking, ...], ...] = ()


def fingering_of(
    score: Score, knowledge: Knowledge, *, level: str | None = None, trust: str | None = None
) -> tuple[FingeredPart, ...]:
    """Return the likeliest fingering of every part whose hand the graph describes.

    ``level`` is the IRI of the level of player and ``trust`` that of the one source to follow.
    What is printed (fingerings, strings, string calls, open strings, harmonics) is obeyed;
    otherwise ``departs`` is set. Other parts are omitted. Weights are those of the graph; see
    ``path_weights``.
    """
    staves = staves_of(score, knowledge, level=level, trust=trust)
    parts = []
    for part in score.parts:
        instrument = knowledge.instruments.get(part.instrument or "")
        lines: list[tuple[Taking, ...]] = []
        for staff in staves.get(part.iri, ()):
            weights = path_weights(knowledge, staff.around.instrument)
            passages = Passages(staff, weights.assumed_tempo).read()
            lines.extend(tuple(_takings(asked, weights)) for asked in passages)
        notes = [note for line in lines for taking in line for note in _notes(taking)]
        notes.sort(key=lambda each: (each.event.onset, not each.event.grace, each.event.staff))
        parts.append(
            FingeredPart(part.name, part.id, part.index, instrument, tuple(notes), tuple(lines))
        )
    return tuple(parts)


@lru_cache(32)
def search_of(model: HandModel, weights: Weights) -> PathSearch:
    """Return the search of a hand, the same one for equal hands and weights."""
    return PathSearch(model, weights)


def _takings(line: Sequence[Asked], weights: Weights) -> Iterator[Taking]:
    """The line with its postures, split where no hand takes the notes and where strings change."""
    for (model, playable), run in groupby(line, key=lambda a: (a.model, a.step is not None)):
        asked = list(run)
        if not playable:
            yield from (Taking(each, None) for each in asked)
            continue
        search = search_of(model, weights)
        steps = [each.step for each in asked if each.step is not None]
        for each, step, row in zip(asked, steps, search.path(steps), strict=True):
            yield Taking(each, search.postures(step).rows[row])


def _notes(taking: Taking) -> Iterator[FingeredNote]:
    asked, posture = taking.asked, taking.posture
    for place, note in enumerate(asked.notes):
        if posture is None:
            yield FingeredNote(note, asked.event, asked.length)
            continue
        taken = posture.taken[asked.shown[place]]
        opened = taken.finger == OPEN
        finger = finger_name(taken.finger)
        if place and asked.touching is not None:
            finger = asked.touching
        position = 0.0 if opened else board_of(asked.model).position(posture.place)
        yield FingeredNote(
            note,
            asked.event,
            asked.length,
            taken.string + 1,
            position,
            finger,
            note.iri in asked.departs,
        )
