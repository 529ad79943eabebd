"""Parses numbers as MusicXML writes them."""

import re

from orchq.exact import Fraction

Ticks = int | Fraction
"""A time in the part's divisions of a quarter note; an integer in all but odd files."""

_FEW_DIGITS = 12
_WHOLE = re.compile(r"[+-]?\d{1,12}")
_DECIMAL = re.compile(r"[+-]?(?:\d{1,12}(?:\.\d{0,12})?|\.\d{1,12})")


def whole(text: str | None) -> int | None:
    """Parse an integer of at most twelve digits; ``None`` for any other text.

    >>> whole(" 12 "), whole("12.0"), whole("twelve")
    (12, 12, None)
    """
    number = exact(text)
    return number if isinstance(number, int) else None


def exact(text: str | None) -> Ticks | None:
    """Parse a decimal number exactly; an integer is returned as ``int``.

    >>> exact("480"), exact("0.5"), exact("1e9"), exact(None)
    (480, Fraction(1, 2), None, None)
    """
    if text and len(text) <= _FEW_DIGITS and text.isdecimal():
        return int(text)
    plain = (text or "").strip()
    if _WHOLE.fullmatch(plain):
        return int(plain)
    if _DECIMAL.fullmatch(plain):
        return simplest(Fraction(plain))
    return None


def simplest(number: Fraction) -> Ticks:
    """Return a fraction as ``int`` when it is whole."""
    return number.numerator if number.denominator == 1 else number


def nearest(number: Ticks) -> int:
    """Round to a whole number, halves towards zero: the milder reading of a quarter tone.

    >>> [nearest(Fraction(n, 4)) for n in (-6, -2, 2, 3, 6)]
    [-1, 0, 0, 1, 1]
    """
    if isinstance(number, int):
        return number
    size = -((1 - 2 * abs(number)) // 2)
    return int(size) if number > 0 else -int(size)
