"""Note letters with accidentals and without octave: pedal settings, such as ``Db C# B``."""

_ALTERATIONS = {"": 0, "#": 1, "b": -1}
_SIGNS = {alteration: sign for sign, alteration in _ALTERATIONS.items()}


def letter_name(letter: str, alteration: int) -> str:
    """Return a letter with its accidental: ``Db``."""
    return letter + _SIGNS[alteration]


def parse_letters(text: str) -> dict[str, int]:
    """Read letters with their accidentals; vertical bars and commas between them are ignored.

    Raises ``ValueError`` for any other text and for a repeated letter.

    >>> parse_letters("Db C# B | E")
    {'D': -1, 'C': 1, 'B': 0, 'E': 0}
    """
    letters: dict[str, int] = {}
    for word in text.replace("|", " ").replace(",", " ").split():
        letter, sign = word[0].upper(), word[1:]
        if letter not in "ABCDEFG" or sign not in _ALTERATIONS or letter in letters:
            raise ValueError(
                f"{text!r} is not a list of different letters, each with # or b if needed"
            )
        letters[letter] = _ALTERATIONS[sign]
    return letters
