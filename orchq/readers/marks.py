"""Places the marks and wedges of one part in time."""

from msgspec import Struct

from orchq.exact import Fraction
from orchq.readers.directions import Direction, MarkDraft
from orchq.readers.spans import Hairpins, WedgeEnd
from orchq.score import Mark

_JITTER = Fraction(1, 4)
_NO_OFFSET = Fraction(0)


class _Waiting(Struct, frozen=True):
    """A direction with its position in the measure, in quarter notes and among its children."""

    place: Fraction
    offset: Fraction
    direction: Direction
    child: int | None


class Marks:
    """Collects the marks of a part and places them once their measure has been read.

    ``child`` is the place of the element now read among the children of its measure.
    """

    def __init__(self, part_iri: str) -> None:
        self._iri = part_iri
        self._waiting: list[_Waiting] = []
        self._count = (-1, 0)
        self.hairpins = Hairpins(part_iri)
        self.found: list[Mark] = []
        self.child: int | None = None

    def add(self, direction: Direction, place: Fraction, offset: Fraction = _NO_OFFSET) -> None:
        """Add a direction at a position, moved by the offset in the file."""
        if direction.marks or direction.wedges:
            self._waiting.append(_Waiting(place, offset, direction, self.child))

    def add_marks(self, marks: list[MarkDraft], place: Fraction) -> None:
        """Add marks that belong to no direction."""
        self.add(Direction(marks=marks), place)

    @property
    def needs_places(self) -> bool:
        """Whether a direction of the measure was moved, so that onsets of notes matter."""
        return any(waiting.offset for waiting in self._waiting)

    def end_measure(
        self,
        index: int,
        number: str,
        onset: Fraction,
        places: list[Fraction],
        voices: set[tuple[int | None, str]],
    ) -> None:
        """Place the marks of the measure.

        ``places`` are the beginnings of notes and rests and the end of the measure; ``voices``
        are its (staff, voice) pairs. A mark that names its voice keeps it only where the staff has
        more than one: otherwise it holds for all.
        """
        ordinal = self._count[1] if self._count[0] == index else 0
        for waiting in self._waiting:
            direction = waiting.direction
            offset = settled(waiting.place, waiting.offset, places)
            exact = max(waiting.place + waiting.offset, Fraction(0))
            for kind, wedge in direction.wedges:
                end = WedgeEnd(onset + offset, onset + exact, (index, waiting.child or 0))
                self.hairpins.add(kind, wedge, direction.staff, end)
            for draft in direction.marks:
                ordinal += 1
                self.found.append(
                    Mark(
                        iri=f"{self._iri}.m{index}.d{ordinal}",
                        measure_index=index,
                        measure_number=number,
                        offset=offset,
                        onset=onset + offset,
                        directives=draft.directives,
                        text=draft.text,
                        staff=direction.staff,
                        voice=_kept_voice(direction, voices),
                        number=draft.number,
                        tempo=draft.tempo,
                        retuned=draft.retuned,
                        signature=draft.signature,
                        pedals=draft.pedals,
                        child=waiting.child,
                    )
                )
        self._waiting.clear()
        self._count = (index, ordinal)


def settled(place: Fraction, offset: Fraction, places: list[Fraction]) -> Fraction:
    """Return the position from which a direction with an offset holds.

    Notation programs write offsets both for signs that really stand between two notes and for
    signs shifted only for layout: within a sixteenth of the onset of a note the sign is taken to
    belong to that note; of two equally near, to the one at the sign's own position. A sign beyond
    the end of its measure belongs to the first note of the next.
    """
    target = max(place + offset, Fraction(0))
    if not offset:
        return target
    target = min(target, max(places, default=target))
    near = [(abs(p - target), p != place, p) for p in places if abs(p - target) <= _JITTER]
    return min(near)[2] if near else target


def _kept_voice(direction: Direction, voices: set[tuple[int | None, str]]) -> str | None:
    here = {voice for staff, voice in voices if direction.staff is None or staff == direction.staff}
    return direction.voice if direction.voice in here and len(here) > 1 else None
