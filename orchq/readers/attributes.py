"""Reads ``<attributes>``: meter, strings and clefs."""

from msgspec import Struct

from orchq.exact import Fraction
from orchq.knowledge import Instrument
from orchq.notation import Pitch
from orchq.readers.directions import tuning_pitch
from orchq.readers.numbers import whole
from orchq.readers.source import Element

_BEATS = range(1, 1000)


class Meter(Struct, frozen=True):
    """A time signature; ``length`` in quarter notes is ``None`` for free time.

    ``beats`` and ``beat_type`` are ``None`` where the signature is composed of several.
    """

    length: Fraction | None = None
    beats: int | None = None
    beat_type: int | None = None


def meter_of(time: Element) -> Meter:
    """Read ``<time>``; a signature that cannot be read counts as free time."""
    pairs = [
        (_sum(beats.text), whole(beat_type.text))
        for beats, beat_type in zip(time.findall("beats"), time.findall("beat-type"), strict=False)
    ]
    lengths = [
        Fraction(4 * beats, unit)
        for beats, unit in pairs
        if beats in _BEATS and unit in _BEATS and beats and unit
    ]
    if not lengths or len(lengths) != len(pairs):
        return Meter()
    if len(pairs) > 1:
        return Meter(sum(lengths, Fraction(0)))
    return Meter(lengths[0], *pairs[0])


def _sum(text: str | None) -> int | None:
    """The beats of a signature, which may be written ``3+2``."""
    terms = [whole(term) for term in (text or "").split("+")]
    return sum(term or 0 for term in terms) if all(terms) else None


Strings = tuple[tuple[int, Pitch], ...]
"""Open pitches by string number, counted from the highest."""


def in_sounding_octave(strings: Strings, instrument: Instrument) -> Strings:
    """Return the sounding strings of a tuning.

    The file may give sounding or written pitches: for an instrument that sounds in another octave,
    the interpretation nearer to the usual string is used.
    """
    usual = {string.number: string.pitch.midi for string in instrument.standard.strings}
    found = []
    for number, pitch in strings:
        moved = pitch.octaves_up(instrument.octaves_above)
        known = usual.get(number, pitch.midi)
        found.append((number, min(pitch, moved, key=lambda p: abs(p.midi - known))))
    return tuple(found)


def is_usual(strings: Strings, instrument: Instrument) -> bool:
    """Whether the named strings have their usual tuning, or none is named."""
    usual = {string.number: string.pitch.midi for string in instrument.standard.strings}
    return all(usual.get(number) == pitch.midi for number, pitch in strings)


def staff_tunings(details: Element) -> Strings:
    """Read ``<staff-tuning>``, whose lines count from the lowest, as strings from the highest."""
    lines = {
        line: pitch
        for tuning in details.findall("staff-tuning")
        if (line := whole(tuning.get("line"))) is not None and (pitch := tuning_pitch(tuning))
    }
    count = max(lines, default=0)
    return tuple(sorted((count + 1 - line, pitch) for line, pitch in lines.items() if line > 0))


def clef_names(attributes: Element) -> list[tuple[int, str]]:
    """The clefs that are set, as staff number and sign with line, without octave clefs."""
    return [
        (whole(clef.get("number")) or 1, f"{clef.findtext('sign')}{clef.findtext('line')}")
        for clef in attributes.findall("clef")
        if whole(clef.findtext("clef-octave-change")) in {None, 0}
    ]


def signature_of(attributes: Element) -> int | None:
    """The sharps of a key signature, negative for flats; ``None`` where none is set."""
    return whole(attributes.findtext("key/fifths"))


def has_octave_clef(attributes: Element) -> bool:
    """Whether a clef with an octave figure is set."""
    return any(
        whole(clef.findtext("clef-octave-change")) not in {None, 0}
        for clef in attributes.findall("clef")
    )
