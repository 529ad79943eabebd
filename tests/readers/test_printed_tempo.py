"""Metronome marks printed with glyphs of SMuFL (range "Metronome marks", U+ECA0 to U+ECBF)."""

from fractions import Fraction

import pytest

from orchq.readers.printed_text import cleaned, tempo_in


@pytest.mark.parametrize(
    ("glyph", "dots", "quarters"),
    [
        ("\ueca2", "", 240),  # metNoteWhole
        ("\ueca3", "", 120),  # metNoteHalfUp
        ("\ueca4", "", 120),  # metNoteHalfDown
        ("\ueca5", "", 60),  # metNoteQuarterUp
        ("\ueca6", "", 60),  # metNoteQuarterDown
        ("\ueca7", "", 30),  # metNote8thUp
        ("\ueca8", "", 30),  # metNote8thDown
        ("\ueca9", "", 15),  # metNote16thUp
        ("\uecaa", "", 15),  # metNote16thDown
        ("\ueca5", "\uecb7", 90),  # with metAugmentationDot
    ],
)
def test_sixty_of_each_note_in_a_minute(glyph, dots, quarters):
    assert tempo_in(cleaned(f"Lento {glyph}{dots} = 60")) == Fraction(quarters)
