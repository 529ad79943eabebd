"""Looks up printed signs and words in the graph, each only once."""

from collections.abc import Iterable, Sequence

from msgspec import Struct

from orchq.knowledge import Knowledge
from orchq.readers.printed_text import cleaned
from orchq.readers.source import Element
from orchq.terms import OQ

# Meanings that MusicXML encodes by an attribute or by the count of strokes.
PIZZICATO = OQ + "pizzicato"
ARCO = OQ + "arco"
MUTE_ON = OQ + "con-sordino"
MUTE_OFF = OQ + "senza-sordino"
NATURAL_HARMONIC = OQ + "natural-harmonic"
ARTIFICIAL_HARMONIC = OQ + "artificial-harmonic"
MEASURED = OQ + "tremolo-measured"
UNMEASURED = OQ + "tremolo-unmeasured"
FINGERED = OQ + "fingered-tremolo"
DOUBLE_BARLINE = OQ + "double-barline"
FINAL_BARLINE = OQ + "final-barline"
REPEAT_START = OQ + "repeat-start"
REPEAT_END = OQ + "repeat-end"
ENDING = OQ + "ending"
LOCO = OQ + "loco"
SCORDATURA = OQ + "scordatura"
FERMATA = OQ + "tempo-fermata"


class RecognisedWords(Struct, frozen=True):
    """A printed text with the directives recognized in it."""

    text: str
    directives: tuple[str, ...]
    number: int | None
    unknown: str


class Signs:
    """The graph's answers, cached while one file is read."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self._elements: dict[str, str | None] = {}
        self._words: dict[str, RecognisedWords] = {}
        self._marks: dict[frozenset[str], frozenset[str]] = {}

    def element(self, name: str) -> str | None:
        """The directive that a MusicXML element of this name prints."""
        if name not in self._elements:
            self._elements[name] = self.knowledge.directive_for_element(name)
        return self._elements[name]

    def glyph(self, name: str | None) -> str | None:
        """The directive that a SMuFL glyph of this name prints."""
        return self.knowledge.directive_for_glyph(name) if name else None

    def sign(self, element: Element) -> str | None:
        """The directive of an element that may name its glyph or be an ``other-`` element.

        A glyph takes precedence over the element, and the text within an ``other-`` element over
        its name.
        """
        tag = str(element.tag)
        found = self.glyph(element.get("smufl")) or self.element(tag)
        if found is None and tag.startswith("other-") and element.text:
            found = next(iter(self.words((element.text,)).directives), None)
        return found

    def words(self, pieces: Sequence[str]) -> RecognisedWords:
        """Read a text given in adjacent pieces, with or without spaces lost between them.

        Some programs split one word over several elements, others leave out the space between
        two words: the joint that leaves less unread is used, the plain one when both are equal.
        """
        plain = self._read("".join(pieces))
        if len(pieces) > 1 and (plain.unknown or not plain.directives):
            spaced = self._read(" ".join(pieces))
            if len(spaced.unknown) < len(plain.unknown):
                return spaced
        return plain

    def kinds(self, directive: str) -> frozenset[str]:
        """The kinds of a directive, by the local names of its classes."""
        known = self.knowledge.directives.get(directive)
        return known.kinds if known is not None else frozenset()

    def shared(self, marks: Iterable[str]) -> frozenset[str]:
        """Return one shared set for equal marks."""
        found = frozenset(marks)
        return self._marks.setdefault(found, found)

    def _read(self, text: str) -> RecognisedWords:
        found = self._words.get(text)
        if found is None:
            clean = cleaned(text).strip()
            reading = self.knowledge.recognise(clean)
            found = RecognisedWords(clean, reading.directives, reading.number, reading.unknown)
            self._words[text] = found
        return found
