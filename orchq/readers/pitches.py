"""Converts written pitch to sounding pitch."""

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from orchq.knowledge import Instrument
from orchq.notation import STEPS, Pitch
from orchq.readers.notes import PitchKey
from orchq.readers.numbers import exact, nearest, whole
from orchq.readers.source import Element, InputFile
from orchq.score import Event

_WIDEST_ALTERATION = 12


class Transposition(Struct, frozen=True):
    """The interval from written to sounding pitch; ``steps`` is the distance in letters."""

    semitones: int = 0
    steps: int | None = 0

    @classmethod
    def of(cls, element: Element, source: InputFile) -> "Transposition":
        """Read ``<transpose>``. Raises ``ReadError`` when it moves by more than five octaves."""
        octaves = whole(element.findtext("octave-change")) or 0
        chromatic = exact(element.findtext("chromatic")) or 0
        diatonic = whole(element.findtext("diatonic"))
        semitones = nearest(chromatic) + 12 * octaves
        if abs(semitones) > 60:
            raise source.fault(f"<transpose> moves by {semitones} semitones", element)
        if diatonic is None and chromatic == 0:
            diatonic = 0
        return cls(semitones, None if diatonic is None else diatonic + 7 * octaves)


class PitchBook:
    """Sounding pitches by written pitch, cached per transposition."""

    def __init__(self, source: InputFile) -> None:
        self._source = source
        self._books: dict[Transposition, dict[PitchKey, Pitch]] = {}
        self._microtones: set[PitchKey] = set()

    def sounding(self, key: PitchKey, by: Transposition, element: Element) -> Pitch:
        """The sounding pitch; a microtone is rounded to the nearest semitone.

        Raises ``ReadError`` for an unknown step or an invalid octave.
        """
        book = self._books.get(by)
        if book is None:
            book = self._books[by] = {}
        pitch = book.get(key)
        if pitch is None:
            pitch = book[key] = transposed(self._written(key, element), by)
        return pitch

    def is_microtone(self, key: PitchKey) -> bool:
        """Whether this pitch, converted before, had to be rounded."""
        return key in self._microtones

    def _written(self, key: PitchKey, element: Element) -> Pitch:
        step, alter, octave = key
        letter = (step or "").strip().upper()
        number = whole(octave)
        alteration = exact(alter) if (alter or "").strip() else 0
        if len(letter) != 1 or letter not in STEPS:
            raise self._source.fault(f"<step> is {step!r}", element)
        if number is None or not -1 <= number <= 10:
            raise self._source.fault(f"<octave> is {octave!r}", element)
        if alteration is None or not -_WIDEST_ALTERATION <= alteration <= _WIDEST_ALTERATION:
            raise self._source.fault(f"<alter> is {alter!r}", element)
        if not isinstance(alteration, int):
            self._microtones.add(key)
        return spelled(letter, nearest(alteration), number)


def spelled(letter: str, alteration: int, octave: int) -> Pitch:
    """Make a pitch; beyond double sharps and flats it is respelled."""
    natural = Pitch.spelled(letter, 0, octave)
    if abs(alteration) > 2:
        return Pitch.from_midi(natural.midi + alteration)
    return Pitch.spelled(letter, alteration, octave)


def transposed(pitch: Pitch, by: Transposition) -> Pitch:
    """Transpose a pitch, keeping the interval's spelling where the file gives it."""
    if not by.semitones:
        return pitch
    midi = pitch.midi + by.semitones
    if by.steps is None:
        return Pitch.from_midi(midi)
    octave, place = divmod(STEPS.index(pitch.name[0]) + by.steps, len(STEPS))
    octave += int(pitch.name.lstrip("ABCDEFG#b"))
    return spelled(STEPS[place], midi - Pitch.spelled(STEPS[place], 0, octave).midi, octave)


def is_written_at_pitch(
    events: Sequence[Event], instrument: Instrument, *, octave_clef: bool
) -> bool:
    """Whether a part without ``<transpose>`` of a transposing instrument is at sounding pitch.

    It is if it has a clef with an octave figure, or if it goes lower than the instrument could
    if read at written pitch, on the lowest of its tunings.
    """
    if octave_clef:
        return True
    tunings = (instrument.standard, *instrument.variants)
    deepest = min(tuning.lowest.pitch.midi for tuning in tunings)
    pitches = [note.pitch.midi for event in events for note in event.notes]
    return min(pitches, default=deepest) + 12 * instrument.octaves_above < deepest


def moved_by_octaves(events: Sequence[Event], octaves: int) -> list[Event]:
    """The same events this many octaves higher (lower when negative)."""
    moved: dict[Pitch, Pitch] = {}
    result = []
    for event in events:
        notes = []
        for note in event.notes:
            if note.pitch not in moved:
                moved[note.pitch] = note.pitch.octaves_up(octaves)
            notes.append(replace(note, pitch=moved[note.pitch]))
        result.append(replace(event, notes=tuple(notes)))
    return result
