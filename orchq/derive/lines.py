"""Lines: the attacks of one voice, with the slurs that join attacks in one bow."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from fractions import Fraction

from msgspec import Struct, field

from orchq.derive.placed import InForce, Placed
from orchq.score import Event, Part


class Attack(Struct):
    """A note or chord that is attacked, with everything tied to it.

    ``length`` is as written, ties included, and ``end`` is where it ends, in quarter notes;
    ``follows`` is true where no rest separates it from the attack before, ``joined`` where a slur
    connects the two.
    """

    item: Placed
    end: Fraction
    length: Fraction
    follows: bool
    joined: bool = False

    @property
    def event(self) -> Event:
        """The event that the attack begins with."""
        return self.item.event

    @property
    def midis(self) -> frozenset[int]:
        """Its pitches as semitone numbers."""
        return frozenset(note.pitch.midi for note in self.event.notes)

    @property
    def onset(self) -> Fraction:
        """Where it begins, in quarter notes from the start of the part."""
        return self.item.event.onset

    @property
    def in_force(self) -> InForce:
        """What is in force for the attack."""
        return self.item.in_force


class Slurred(Struct, frozen=True):
    """The attacks under one slur, by their indices in the line.

    ``is_phrase`` is true of a slur that others lie under, or that rests or bow signs interrupt:
    it shows a phrase and no bow.
    """

    first: int
    last: int
    is_phrase: bool


class Line(Struct):
    """One voice on one staff, in time order, without grace notes."""

    attacks: list[Attack] = field(default_factory=list)
    slurs: list[Slurred] = field(default_factory=list)


def lines(part: Part, placed: Sequence[Placed], bow_signs: frozenset[str]) -> list[Line]:
    """The lines of one staff; ``bow_signs`` are the IRIs of the directions of the bow."""
    voices: dict[str, Line] = defaultdict(Line)
    places: dict[str, tuple[str, int]] = {}
    for item in placed:
        event = item.event
        if event.grace or not event.notes:
            continue
        attacks = voices[event.voice].attacks
        follows = bool(attacks) and attacks[-1].end == event.onset
        if follows and all(note.tied_back for note in event.notes):
            attacks[-1].end = event.end
            attacks[-1].length += event.duration
        else:
            attacks.append(Attack(item, event.end, event.duration, follows))
        places[event.iri] = event.voice, len(attacks) - 1
    ends: dict[str, set[tuple[int, int]]] = defaultdict(set)
    for slur in part.slurs:
        if slur.first in places and slur.last in places:
            (voice, first), (other, last) = places[slur.first], places[slur.last]
            if voice == other and first < last:
                ends[voice].add((first, last))
    for voice, line in voices.items():
        line.slurs = list(_slurs(line.attacks, sorted(ends[voice]), bow_signs))
    return list(voices.values())


def _slurs(
    attacks: Sequence[Attack], ends: Sequence[tuple[int, int]], signs: frozenset[str]
) -> Iterator[Slurred]:
    """Join the attacks under each slur, given by its ends in order."""
    for place, (first, last) in enumerate(ends):
        under = attacks[first + 1 : last + 1]
        for attack in under:
            attack.joined = True
        # What lies under this slur begins with it or after it, so it stands beside it.
        inner = any(
            first <= one and other <= last and (one, other) != (first, last)
            for one, other in ends[max(0, place - 1) : place + 2]
        )
        broken = any(not a.follows or not signs.isdisjoint(a.event.marks) for a in under)
        yield Slurred(first, last, inner or broken)
