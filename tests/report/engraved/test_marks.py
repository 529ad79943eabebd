"""Labels stand where they hide nothing."""

import re
from itertools import combinations

from orchq.report.engraved.labels import Box, Label, LabelLayout

HEAD = Box.about_head(2000, 1000, 0.72)


def rooms(svg: str) -> list[Box]:
    """The frames of labels, less the margin about what they hold."""
    found = re.findall(
        r'class="room" x="(-?\d+)" y="(-?\d+)" rx="60" width="(\d+)" height="(\d+)"', svg
    )
    return [
        Box(x + 50, y + 40, x + width - 50, y + height - 40)
        for x, y, width, height in (map(int, each) for each in found)
    ]


def label(number: int) -> Label:
    return Label(f"f1-{number}", number, "warning", "words")


def test_labels_of_one_place_do_not_hide_each_other():
    marks = LabelLayout()
    for number in range(1, 120):
        marks.add([label(number)], HEAD, 900)
    svg, highest = marks.laid()
    laid = rooms(svg)
    assert len(laid) == 119
    assert not any(one.meets(other) for one, other in combinations(laid, 2))
    assert highest == min(box.top for box in laid)


def test_a_label_keeps_off_printed_words():
    free, crowded = LabelLayout(), LabelLayout()
    words = Box.of_words(2000, 720, 10, "middle")
    crowded.avoid(words)
    for marks in (free, crowded):
        marks.add([label(1)], HEAD, 900)
    assert rooms(free.laid()[0])[0].meets(words)
    assert not rooms(crowded.laid()[0])[0].meets(words)


def test_a_finding_about_several_notes_has_one_label():
    marks = LabelLayout()
    for _ in range(3):
        marks.add([label(1)], HEAD, 900)
    assert len(rooms(marks.laid()[0])) == 1
    assert marks.names == {"f1-1"}
