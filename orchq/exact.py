"""Exact fractions, the type of times and ratios, with compiled arithmetic.

To the type checker it is ``fractions.Fraction``. Values compare and calculate with those of the
standard library and hash as they do, but are no instances of that class.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction
else:
    from quicktions import Fraction

__all__ = ["Fraction"]
