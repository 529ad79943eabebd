"""Whether a section or one player reads a part.

This matters because an impossible chord is a mistake in a solo part but only needs a divisi mark
in a section. The file's own ``<solo>`` or ``<ensemble>`` takes precedence, then the name ("1 solo",
a plural), then the kind of score: where a double bass doubles at least two violins, or at least
two parts of other orchestral instruments stand beside at least two string parts, each part of
bowed strings is a section. Keyboards, voices and harps are ignored: they accompany soloists and
orchestras alike. Last, a part that prints a divisi or its end is a section.
"""

from collections.abc import Iterable, Sequence

from msgspec import Struct

from orchq.knowledge import Knowledge
from orchq.readers.parts import Recognised
from orchq.score import Mark
from orchq.terms import OQ

_VIOLIN = OQ + "violin"
_DOUBLE_BASS = OQ + "double-bass"
_BOWED_STRINGS = OQ + "bowed-strings"
_SOLO = OQ + "solo"
_TELLS_A_SECTION = frozenset({OQ + "divisi", OQ + "non-divisi", OQ + "unison"})

# First words of the MusicXML standard sounds that may accompany a soloist as well.
_NEUTRAL_SOUNDS = ("keyboard.", "voice.", "synth.", "effect.", "pluck.", "strings.")
# General MIDI Level 1, from 1: keyboards, guitars and basses, strings and harp, voices, synths.
_NEUTRAL_PROGRAMS = frozenset({*range(1, 9), *range(17, 47), *range(49, 56), *range(81, 129)})


class Seats(Struct, frozen=True):
    """The players of a part: a section or one, and how many where that is known."""

    section: bool
    players: int | None = None


def is_orchestral(parts: Sequence[Recognised]) -> bool:
    """Whether the score is for orchestra, by the parts that it has."""
    instruments = [part.match.instrument for part in parts]
    strings = [instrument for instrument in instruments if instrument is not None]
    others = [part for part in parts if part.match.instrument is None and not _is_neutral(part)]
    doubled = _DOUBLE_BASS in strings and strings.count(_VIOLIN) >= 2
    return doubled or (len(strings) >= 2 and len(others) >= 2)


def seats_of(part: Recognised, knowledge: Knowledge, *, orchestral: bool) -> Seats:
    """The players of a part, before its marks have been read."""
    for player in part.part.players:
        if player.solo:
            return Seats(section=False, players=1)
        if player.ensemble is not None:
            return Seats(section=player.ensemble != 1, players=player.ensemble or None)
    if _SOLO in knowledge.recognise(part.part.name).directives and not part.match.section:
        return Seats(section=False, players=1)
    instrument = knowledge.instruments.get(part.match.instrument or "")
    bowed = instrument is not None and instrument.family == _BOWED_STRINGS
    return Seats(section=part.match.section or (orchestral and bowed))


def seats_by_marks(seats: Seats, marks: Iterable[Mark]) -> Seats:
    """The players of a part, once its marks are known."""
    if seats.section or seats.players == 1:
        return seats
    divides = any(not _TELLS_A_SECTION.isdisjoint(mark.directives) for mark in marks)
    return Seats(section=True, players=seats.players) if divides else seats


def _is_neutral(part: Recognised) -> bool:
    sounds = [player.sound for player in part.part.players if player.sound]
    if sounds:
        return sounds[0].startswith(_NEUTRAL_SOUNDS)
    return any(program in _NEUTRAL_PROGRAMS for program in part.part.programs)
