"""The score as it is printed: parts, events and marks, before anything is worked out.

Times are quarter notes as exact fractions. Pitches are what the notehead sounds when it is
played normally: transposition is applied, harmonics are not yet resolved. Directives are named
by the IRIs of the graph, so that a new term needs no new code.
"""

import re
from collections.abc import Iterable
from fractions import Fraction
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from orchq.notation import Pitch

_FIGURES = re.compile(r"(\d+)")

HarmonicRole = Literal["base", "touching", "sounding"]


LOOSE_TIES = "ties without a preceding note are ignored: the notes are attacked"
"""The remark where ``without_loose_ties`` has found some."""


def same_name(name: str, other: str) -> bool:
    """Whether two printed names are the same, ignoring case and spacing.

    >>> same_name("Violins I", "VIOLINS  I")
    True
    """
    return name.casefold().split() == other.casefold().split()


_IN_THE_FILE = frozenset({"xml_id", "child", "line", "ends"})


class _Read(Struct, frozen=True, eq=False):
    """What may have been read from a file: where it stands there counts in no comparison."""

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        assert isinstance(other, _Read)
        return self._music() == other._music()

    def __ne__(self, other: object) -> bool:
        return not self == other  # that of Struct would compare identities

    def __hash__(self) -> int:
        return hash(self._music())

    def _music(self) -> tuple[object, ...]:
        names = self.__struct_fields__
        return tuple(getattr(self, name) for name in names if name not in _IN_THE_FILE)


class Note(_Read, frozen=True, eq=False):
    """One notehead.

    ``string`` is the printed string number counted from the highest; ``finger`` is printed
    fingering (``T`` for the thumb); ``role`` is the part of a harmonic that the head shows;
    ``notehead`` is the MusicXML name of an unusual head such as ``diamond``. ``xml_id`` is the
    identifier of the element in the file it was read from, where it has one, and ``child`` its
    place among the children of its measure there, from 0.
    """

    iri: str
    pitch: Pitch
    tie_forward: bool = False
    tied_back: bool = False
    string: int | None = None
    finger: str | None = None
    role: HarmonicRole | None = None
    notehead: str | None = None
    xml_id: str | None = None
    child: int | None = None


class State(Struct, frozen=True):
    """A playing state that the excerpt itself asserts for its events."""

    iri: str
    techniques: frozenset[str] = frozenset()
    dynamic: str | None = None
    string_call: str | None = None
    divisi_parts: int | None = None


class Event(_Read, frozen=True, eq=False):
    """One action of bow or finger.

    ``onset`` and ``duration`` count quarter notes from the start of the part; ``offset`` counts
    from the start of the measure. ``marks`` are IRIs of directives printed at the event itself
    (bow directions, articulations, tremolo, harmonics, single plucked notes). ``state`` is set
    only where the excerpt asserts one; ``strokes`` counts those of a printed tremolo sign.
    ``line`` is the line of the event in the file, from 1; it is ignored in comparisons.
    """

    iri: str
    measure_index: int
    measure_number: str
    offset: Fraction
    onset: Fraction
    duration: Fraction
    notes: tuple[Note, ...]
    voice: str = "1"
    staff: int = 1
    marks: frozenset[str] = frozenset()
    grace: bool = False
    cue: bool = False
    state: State | None = None
    strokes: int = 0
    line: int | None = None

    @property
    def end(self) -> Fraction:
        """Where the event stops, in quarter notes from the start of the part."""
        return self.onset + self.duration

    @property
    def beat(self) -> Fraction:
        """The place in the measure in quarter notes, counted from 1."""
        return self.offset + 1


def reading_order(event: Event) -> tuple[object, ...]:
    """The order of events in time; what is at one time goes by staff, voice and the order there."""
    return event.onset, event.staff, not event.grace, in_figures(event.iri)


def in_figures(name: str) -> tuple[object, ...]:
    """A key that sorts names by the numbers in them, so that the tenth comes after the ninth.

    A number counts by its length and then its digits: names may hold more than Python converts.

    >>> sorted(["n10", "n9"], key=in_figures)
    ['n9', 'n10']
    """
    pieces = _FIGURES.split(name)  # text and figures in turn
    return tuple(
        (len(figures := piece.lstrip("0")), figures) if place % 2 else piece
        for place, piece in enumerate(pieces)
    )


def without_loose_ties(events: Iterable[Event]) -> tuple[list[Event], int]:
    """Return events in order without ties from missing notes, and the number of those ties.

    A note may be tied to one earlier than the note before it, as in a second ending; but if no
    earlier note of its pitch is tied forward, it is attacked itself.
    """
    tied: set[int] = set()
    result, loose = [], 0
    for event in events:
        if any(note.tied_back and note.pitch.midi not in tied for note in event.notes):
            notes = [
                note if note.pitch.midi in tied else replace(note, tied_back=False)
                for note in event.notes
            ]
            loose += sum(note.tied_back for note in event.notes)
            loose -= sum(note.tied_back for note in notes)
            event = replace(event, notes=tuple(notes))  # noqa: PLW2901 - the event as it is now
        tied.update(note.pitch.midi for note in event.notes if note.tie_forward)
        result.append(event)
    return result, loose


class Mark(_Read, frozen=True, eq=False):
    """A printed word or sign that holds from its position on.

    ``directives`` are IRIs of the graph in printed order; ``text`` is what is printed;
    ``number`` is the figure printed with a player call (``div. a 3``); ``tempo`` is quarter
    notes per minute; ``retuned`` gives string numbers and their new open pitches; ``signature``
    counts the sharps of a key signature, negative for flats; ``pedals`` gives letters and the
    alterations that a pedal diagram sets them to. A mark with no ``staff`` holds for all staves.
    ``child`` is as in ``Note``.
    """

    iri: str
    measure_index: int
    measure_number: str
    offset: Fraction
    onset: Fraction
    directives: tuple[str, ...] = ()
    text: str = ""
    staff: int | None = None
    voice: str | None = None
    number: int | None = None
    tempo: Fraction | None = None
    retuned: tuple[tuple[int, Pitch], ...] = ()
    signature: int | None = None
    pedals: tuple[tuple[str, int], ...] = ()
    child: int | None = None


class Slur(Struct, frozen=True):
    """A slur from one event to another, by their IRIs."""

    iri: str
    first: str
    last: str


class Hairpin(_Read, frozen=True, eq=False):
    """A wedge: ``grows`` for crescendo; start and end in quarter notes from the part's start.

    ``ends`` are the places of its two signs in the file, as (measure index, child).
    """

    iri: str
    grows: bool
    onset: Fraction
    end: Fraction
    staff: int | None = None
    ends: tuple[tuple[int, int], ...] = ()


class Measure(Struct, frozen=True):
    """A measure of a part.

    ``number`` is what is printed; ``implicit`` is true of a measure that is not counted, such
    as a pick-up. Repeat signs and final barlines are marks of the part.
    """

    index: int
    number: str
    onset: Fraction
    length: Fraction
    beats: int | None = None
    beat_type: int | None = None
    implicit: bool = False


class Part(Struct, frozen=True):
    """A part: the music that one player or one section reads.

    ``instrument`` is the IRI of an instrument of the graph, or ``None`` when the graph knows
    none by that name: such a part is listed and not checked. ``tuning`` gives the strings where
    the excerpt itself states them, as (number from the highest, open pitch).
    """

    iri: str
    id: str
    index: int
    name: str
    instrument: str | None
    section: bool = False
    players: int | None = None
    tuning: tuple[tuple[int, Pitch], ...] = ()
    measures: tuple[Measure, ...] = ()
    events: tuple[Event, ...] = ()
    marks: tuple[Mark, ...] = ()
    slurs: tuple[Slur, ...] = ()
    hairpins: tuple[Hairpin, ...] = ()

    @property
    def note_count(self) -> int:
        """Noteheads that are played: cues are left out."""
        return sum(len(event.notes) for event in self.events if not event.cue)


class Acceptance(Struct, frozen=True):
    """Findings that the excerpt itself accepts: rules and events by IRI, with the reason."""

    iri: str
    rules: tuple[str, ...]
    events: tuple[str, ...]
    reason: str


class Heading(Struct, frozen=True):
    """The heading of a score as printed; missing entries are empty."""

    composer: str = ""
    work: str = ""
    movement: str = ""


class Score(Struct, frozen=True):
    """A score; ``remarks`` lists what a reader could not interpret.

    ``title`` is never empty: it falls back to the file name.
    """

    iri: str
    title: str
    parts: tuple[Part, ...] = ()
    remarks: tuple[str, ...] = ()
    acceptances: tuple[Acceptance, ...] = ()
    heading: Heading = Heading()

    @property
    def note_count(self) -> int:
        """Noteheads that are played, in all parts."""
        return sum(part.note_count for part in self.parts)
