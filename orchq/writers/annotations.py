"""A layer of annotations over a score: coloured heads and numbered texts that come off again whole.

All that is put in stands between two processing instructions, of which the first keeps what it
stands in place of. Programs that read MusicXML pass over them.
"""

from collections.abc import Iterable
from xml.sax.saxutils import escape

from msgspec import Struct

from orchq.readers.source import Element
from orchq.writers.score_text import Extent, ScoreText, narrowed, widened

_BEGIN, _END = b"<?orchq-annotation ", b"<?orchq-end?>"


class Annotation(Struct, frozen=True):
    """A text at one event of a part (its identifier in the file), and the heads to be coloured.

    ``first`` and ``heads`` are places among the children of the measure, ``colour`` is as in
    MusicXML (``#RRGGBB``); ``staff`` is ``None`` in a part of one staff.
    """

    part: str
    measure: int
    first: int
    heads: tuple[int, ...]
    text: str
    colour: str
    staff: int | None = None


def with_annotations(text: ScoreText, annotations: Iterable[Annotation]) -> bytes:
    """Return the text of a score with annotations; where two colour one head, the first does."""
    coloured: set[tuple[str, int, int]] = set()
    for annotation in annotations:
        measure = text.measures(annotation.part)[annotation.measure]
        text.insert(measure[annotation.first].begin, _framed(text.encoded(_direction(annotation))))
        for head in annotation.heads:
            key = annotation.part, annotation.measure, head
            if key not in coloured:
                coloured.add(key)
                _colour(text, measure[head], annotation.colour)
    return text.spliced()


def without_annotations(data: bytes) -> bytes:
    """Return the text of a score without the annotations, byte for byte as it was before them."""
    try:
        mark, data = narrowed(data)
    except UnicodeError:
        return data
    pieces, last = [], 0
    while (begin := data.find(_BEGIN, last)) >= 0:
        kept = begin + len(_BEGIN)
        closing = data.find(b"?>", kept)
        end = data.find(_END, closing)
        if closing < 0 or end < 0:
            break
        pieces += [data[last:begin], data[kept:closing]]
        last = end + len(_END)
    return widened(mark, b"".join((*pieces, data[last:])))


def _framed(added: bytes, instead_of: bytes = b"") -> bytes:
    return _BEGIN + instead_of + b"?>" + added + _END


def _direction(annotation: Annotation) -> str:
    staff = f"<staff>{annotation.staff}</staff>" if annotation.staff is not None else ""
    return (
        '<direction placement="above"><direction-type>'
        f'<words color="{annotation.colour}" font-size="8">{escape(annotation.text)}</words>'
        f"</direction-type>{staff}</direction>"
    )


def _colour(text: ScoreText, note: Extent, colour: str) -> None:
    drawn = next((child for child in text.within(note) if child.tag == "notehead"), None)
    if drawn is None:
        head = f'<notehead color="{colour}">normal</notehead>'.encode()
        text.insert(text.in_note(note, "notehead"), _framed(head))
        return
    was = text.data[drawn.begin : drawn.end]
    if b"?>" not in was:
        element: Element = text.element(drawn)
        element.set("color", colour)
        text.replace(drawn, _framed(text.written(element), was))
