"""Places of notes on a string: positions and distances in millimeters from the nut."""

from math import log2

SEMITONES_PER_OCTAVE = 12


def stop_mm(length_mm: float, semitones: float) -> float:
    """Return the distance from the nut at which a string is stopped, in millimeters.

    ``length_mm`` is the vibrating length of the open string, ``semitones`` the height above it
    in equal temperament. Frequency is inversely proportional to length (Mersenne's law).

    >>> round(stop_mm(328, 12))
    164
    """
    return float(length_mm * (1.0 - 2.0 ** (-semitones / SEMITONES_PER_OCTAVE)))


def semitones_at(length_mm: float, place_mm: float) -> float:
    """Return the height above the open string of a place on it; the inverse of ``stop_mm``.

    Raises ``ValueError`` when the place is not on the string.

    >>> round(semitones_at(328, 164), 6)
    12.0
    """
    if not 0 <= place_mm < length_mm:
        raise ValueError(f"{place_mm} mm is not on a string of {length_mm} mm")
    return SEMITONES_PER_OCTAVE * log2(length_mm / (length_mm - place_mm))


def span_mm(length_mm: float, low: float, high: float) -> float:
    """Return the distance between two heights in semitones along one string, in millimeters.

    >>> round(span_mm(328, 2, 7), 1)
    73.3
    """
    return stop_mm(length_mm, high) - stop_mm(length_mm, low)
