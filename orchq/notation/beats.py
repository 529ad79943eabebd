"""Names of beats as musicians use them."""

from orchq.exact import Fraction

_VULGAR = {
    Fraction(1, 2): "½",
    Fraction(1, 3): "⅓",
    Fraction(2, 3): "⅔",
    Fraction(1, 4): "¼",
    Fraction(3, 4): "¾",
    Fraction(1, 6): "⅙",
    Fraction(5, 6): "⅚",
    Fraction(1, 8): "⅛",
    Fraction(3, 8): "⅜",
    Fraction(5, 8): "⅝",
    Fraction(7, 8): "⅞",
}
_FINEST = 96
"""Divisions of a quarter note that beats are rounded to: enough for triplets of 128th notes."""


def beat_name(beat: Fraction | float) -> str:
    """Return a beat as printed: whole beats plain, others with a fraction.

    >>> beat_name(3.0), beat_name(2.5), beat_name(1.3333333), beat_name(1.0625)
    ('3', '2½', '1⅓', '1 1/16')
    """
    exact = Fraction(beat).limit_denominator(_FINEST)
    whole, rest = divmod(exact, 1)
    if rest == 0:
        return str(whole)
    return f"{whole}{_VULGAR.get(rest, f' {rest}')}"
