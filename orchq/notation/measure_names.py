"""Names of measures as musicians use them."""

_RESTARTED = 10
"""How far the printed number may trail the count before the count is given as well.

Split measures at repeats cost one or two; a larger gap means that numbering restarted.
"""


def measure_name(number: str, index: int) -> str:
    """Return a measure's name by its printed number; ``index`` counts from 0 in the part.

    Where numbering restarts inside the file, the count from the start of the part follows, since
    the number alone would be ambiguous.

    >>> measure_name("12", 11), measure_name("12", 141), measure_name("0", 0)
    ('m. 12', "m. 12 (the part's measure 142)", 'pick-up (m. 0)')
    """
    count = index + 1
    if not number:
        return f"measure {count} of the part (no number printed)"
    if number == "0" and index == 0:
        return "pick-up (m. 0)"
    if number.isdecimal() and count - int(number) > _RESTARTED:
        return f"m. {number} (the part's measure {count})"
    return f"m. {number}"
