"""Barlines that direct players through the music."""

from orchq.readers.directions import MarkDraft
from orchq.readers.signs import (
    DOUBLE_BARLINE,
    ENDING,
    FERMATA,
    FINAL_BARLINE,
    REPEAT_END,
    REPEAT_START,
)
from orchq.readers.source import Element, text_of

_STYLES = {"light-heavy": FINAL_BARLINE, "light-light": DOUBLE_BARLINE}


def barline_marks(barline: Element) -> list[MarkDraft]:
    """The marks of a barline: repeats, a fermata, an ending that begins, the end of a section."""
    marks = []
    repeat = barline.find("repeat")
    ending = barline.find("ending")
    if repeat is not None:
        forward = repeat.get("direction") == "forward"
        times = repeat.get("times") or ""
        marks.append(
            MarkDraft((REPEAT_START if forward else REPEAT_END,), f"{times} times" if times else "")
        )
    elif (sign := _STYLES.get(text_of(barline.find("bar-style")))) is not None:
        marks.append(MarkDraft((sign,)))
    if barline.find("fermata") is not None:
        marks.append(MarkDraft((FERMATA,)))
    if ending is not None and ending.get("type") == "start":
        marks.append(MarkDraft((ENDING,), text_of(ending) or ending.get("number") or ""))
    return marks
