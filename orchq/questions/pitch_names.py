"""Pitches as people type them: A4, a', B flat 4, fis', H4, la4, or a MIDI number."""

import re

from orchq.errors import OrchqError
from orchq.notation import Pitch
from orchq.questions.pitch_languages import in_english

MOST_PITCHES = 64
"""The most pitches that one question takes."""

_SIGNS = {
    "♯": "#",
    "♭": "b",
    "\N{MUSICAL SYMBOL DOUBLE SHARP}": "##",
    "\N{MUSICAL SYMBOL DOUBLE FLAT}": "bb",
    "\N{RIGHT SINGLE QUOTATION MARK}": "'",
    "\N{PRIME}": "'",
    "\N{DOUBLE PRIME}": "''",
}
_WORDS = {"sharp": "#", "flat": "b", "natural": ""}
_SPOKEN = re.compile(r"\b([a-g])[\s-]*(double[\s-]+)?(sharp|flat|natural)[\s-]*", re.IGNORECASE)
_OCTAVED = re.compile(r"[A-Ga-g](?:##|#|bb|b|x)?-?[0-9]")
_HELMHOLTZ = re.compile(r"([A-Ga-g])(##|#|bb|b|x)?('{1,7}|,{1,3})")
_BARE = re.compile(r"[A-Ga-g](?:##|#|bb|b|x)?")
_BETWEEN = re.compile(r"[\s;+]+|,\s+|,(?=[A-Ga-g\d])|-(?=[A-Ga-g])")
_SMALL_OCTAVE, _GREAT_OCTAVE = 3, 2


def parse_pitch(given: str | int) -> Pitch:
    """Read one pitch: scientific (A4, Bb3), Helmholtz (a', C,), in words (B flat 4), or MIDI.

    Raises ``OrchqError`` when it is none.

    >>> [parse_pitch(each).name for each in ("A4", "a'", "B flat 4", "C,", 69)]
    ['A4', 'A4', 'Bb4', 'C1', 'A4']
    """
    if isinstance(given, int) and not isinstance(given, bool):
        return _midi(given)
    if not isinstance(given, str):
        raise OrchqError(f"a pitch is a name or a MIDI number, not {given!r}")
    text = _plain(given).strip()
    if text.isascii() and text.isdecimal() and len(text) <= 3:
        return _midi(int(text))
    if _OCTAVED.fullmatch(text):
        return _in_range(Pitch.parse(text), given)
    match = _HELMHOLTZ.fullmatch(text)
    if match is not None:
        step, sign, marks = match.groups()
        raised = marks.startswith("'")
        if raised == step.islower():
            octave = _SMALL_OCTAVE + len(marks) if raised else _GREAT_OCTAVE - len(marks)
            return _in_range(Pitch.parse(f"{step}{sign or ''}{octave}"), given)
    if _BARE.fullmatch(text):
        raise OrchqError(
            f"{given!r} names no octave; write {text[0].upper()}{text[1:]}4, for example"
        )
    raise OrchqError(
        f"{_shortened(given)} is not a pitch; write A4, Bb4, F#5, a' or a MIDI number such as 69"
    )


def parse_pitches(given: str) -> tuple[Pitch, ...]:
    """Read several pitches, divided by spaces, commas or hyphens.

    >>> [pitch.name for pitch in parse_pitches("G3-D4 B flat 4, 79")]
    ['G3', 'D4', 'Bb4', 'G5']
    """
    if not isinstance(given, str):
        raise OrchqError(f"pitches are written in one text, not as {given!r}")
    words = [word for word in _BETWEEN.split(_plain(given).strip()) if word]
    if not words:
        raise OrchqError("no pitch is given; write pitches such as G3 D4 B4")
    if len(words) > MOST_PITCHES:
        raise OrchqError(f"{len(words)} pitches are too many: {MOST_PITCHES} at most")
    return tuple(parse_pitch(word) for word in words)


def parse_passage(given: str) -> tuple[tuple[Pitch, ...], ...]:
    """Read pitches that follow each other, divided by bars.

    >>> [[pitch.name for pitch in chord] for chord in parse_passage("C4 E4 | C#4")]
    [['C4', 'E4'], ['C#4']]
    """
    if not isinstance(given, str):
        raise OrchqError(f"pitches are written in one text, not as {given!r}")
    chords = given.strip().strip("|").split("|")
    if len(chords) > MOST_PITCHES:
        raise OrchqError(f"{len(chords)} chords are too many: {MOST_PITCHES} at most")
    return tuple(map(parse_pitches, chords))


def _plain(text: str) -> str:
    """Accidentals as ASCII, those in words joined to letter and octave: ``B flat 4`` as ``Bb4``."""
    for sign, ascii_sign in _SIGNS.items():
        text = text.replace(sign, ascii_sign)
    text = _SPOKEN.sub(lambda m: m[1] + _WORDS[m[3].lower()] * (2 if m[2] else 1), text)
    return in_english(text)


def _midi(number: int) -> Pitch:
    if not 0 <= number <= 127:
        raise OrchqError(f"{number} is not a MIDI number: they go from 0 to 127")
    return Pitch.from_midi(number)


def _in_range(pitch: Pitch, given: str) -> Pitch:
    if not 0 <= pitch.midi <= 127:
        raise OrchqError(f"{given!r} lies outside the pitches of MIDI, C-1 to G9")
    return pitch


def _shortened(text: str) -> str:
    return repr(text if len(text) <= 40 else f"{text[:39]}…")
