"""Changes of words and signs beside the staff, each proved by reading it again."""

import re
from collections.abc import Callable, Iterator, Sequence
from copy import deepcopy

from lxml import etree

from orchq.readers.directions import DirectionReader
from orchq.readers.signs import Signs
from orchq.readers.source import Element
from orchq.writers.note_elements import take

_TOKEN = re.compile(r"\S+")


class Directing:
    """Replaces directives in ``<direction>`` elements, as the reader of ``signs`` sees them."""

    def __init__(self, signs: Signs) -> None:
        self._signs = signs
        self._knowledge = signs.knowledge
        self._reader = DirectionReader(signs)

    def printed(self, directives: Sequence[str], number: int | None) -> Element:
        """A new direction that prints directives."""
        direction = etree.Element("direction", placement="above")
        for directive in directives:
            kind = etree.SubElement(direction, "direction-type")
            dynamic = self._dynamic(directive)
            if dynamic is not None:
                direction.set("placement", "below")
                kind.append(dynamic)
            else:
                words = etree.SubElement(kind, "words")
                words.text = self._knowledge.printed_words(directive, number)
        return direction

    def reads(self, direction: Element) -> list[str]:
        """All directives of a direction in their order."""
        marks = self._reader.read(direction).marks
        return [directive for mark in marks for directive in mark.directives]

    def number(self, direction: Element) -> int | None:
        """The figure printed with a player call."""
        numbers = [mark.number for mark in self._reader.read(direction).marks]
        return next((number for number in numbers if number is not None), None)

    def exchange(
        self, direction: Element, old: str, new: Sequence[str], number: int | None
    ) -> Element | None:
        """A direction with one directive replaced by others, or by nothing.

        What else it prints stays. ``None`` where no change of its text is read so.
        """
        wanted = self.reads(direction)
        if old not in wanted:
            return None
        at = wanted.index(old)
        wanted[at : at + 1] = new
        for change in self._changes(direction, old, new, number):
            candidate = deepcopy(direction)
            change(candidate)
            _tidy(candidate)
            right = number is None or not new or self.number(candidate) == number
            if self.reads(candidate) == wanted and right:
                return candidate
        return None

    def _changes(
        self, direction: Element, old: str, new: Sequence[str], number: int | None
    ) -> Iterator[Callable[[Element], None]]:
        printed = " ".join(self._knowledge.printed_words(each, number) for each in new)
        dynamic = self._dynamic(new[0]) if len(new) == 1 else None
        for place, sign in enumerate(_signs(direction)):
            if sign.tag in {"words", "symbol", "rehearsal"}:
                for text in _texts(sign.text or "", printed):
                    if self._unread(text) <= self._unread(sign.text or ""):
                        yield _sounding_again(_written(place, text))
            elif sign.tag == "dynamics" and (dynamic is not None or not new):
                yield _sounding_again(_put(place, dynamic))
            elif not new:
                yield _sounding_again(_put(place, None))
        if old in self._knowledge.directives and not new:
            yield _sounding_again(lambda _: None)

    def _unread(self, text: str) -> int:
        """How many words of a text are no terms, so that no half of a term is left behind."""
        return len(self._signs.words((text,)).unknown.split())

    def _dynamic(self, directive: str) -> Element | None:
        known = self._knowledge.directives[directive]
        if directive not in self._knowledge.dynamics or not known.elements:
            return None
        dynamics = etree.Element("dynamics")
        etree.SubElement(dynamics, known.elements[0])
        return dynamics


def _signs(direction: Element) -> list[Element]:
    return [sign for kind in direction.findall("direction-type") for sign in kind]


def _texts(text: str, new: str) -> Iterator[str]:
    """The text with one word after another replaced, then two in a row, and so on."""
    words = [match.span() for match in _TOKEN.finditer(text)]
    for length in range(1, len(words) + 1):
        for first in range(len(words) - length + 1):
            before, after = text[: words[first][0]], text[words[first + length - 1][1] :]
            yield f"{before}{new}{after}" if new else f"{before.rstrip()} {after.lstrip()}".strip()


def _written(place: int, text: str) -> Callable[[Element], None]:
    def change(direction: Element) -> None:
        sign = _signs(direction)[place]
        sign.text = text
        if not text:
            take(sign)

    return change


def _put(place: int, new: Element | None) -> Callable[[Element], None]:
    def change(direction: Element) -> None:
        sign = _signs(direction)[place]
        if new is None:
            take(sign)
            return
        for child in list(sign):
            take(child)
        sign.text = None
        sign.extend(deepcopy(list(new)))

    return change


def _sounding_again(change: Callable[[Element], None]) -> Callable[[Element], None]:
    """The change, and without what playback was told of the sign that went."""

    def both(direction: Element) -> None:
        change(direction)
        for sound in direction.findall("sound"):
            for name in ("pizzicato", "dynamics"):
                sound.attrib.pop(name, "")
            for play in sound.findall("play"):
                take(play)
            if not sound.attrib and not len(sound):
                take(sound)

    return both


def _tidy(direction: Element) -> None:
    for kind in direction.findall("direction-type"):
        if not len(kind):
            take(kind)


def is_empty(direction: Element) -> bool:
    """Whether nothing is printed any more."""
    return direction.find("direction-type") is None


def without_wedge(direction: Element) -> None:
    """Take the wedges of a direction away."""
    for sign in _signs(direction):
        if sign.tag == "wedge":
            take(sign)
    _tidy(direction)
