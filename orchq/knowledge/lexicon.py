"""Printed words to terms of the graph: directives beside the staff and names of instruments."""

import re
import unicodedata
from collections.abc import Collection, Iterable, Mapping
from functools import lru_cache
from itertools import takewhile
from types import MappingProxyType

from msgspec import Struct
from msgspec.structs import replace

from orchq.knowledge.facts import Facts
from orchq.knowledge.model import Directive, Instrument

_TOKEN = re.compile(r"[^\W_]+[♯♭#]?")
_ROMAN = re.compile(r"(?:i{1,3}|iv|vi{0,3}|ix|x)")
_NUMBER = re.compile(r"(\d{1,2})(?:st|nd|rd|th|er|re|e|o|a|do|da|mo)?")
_CONNECTORS = frozenset({"a", "in", "en"})
_ANY_STRINGS = "strings.group"  # of the MusicXML standard sounds
_IN_NAMES = frozenset({"PlayerCall", "PartNameWord"})
_SENTENCE = 8
"""A text this long in words is a sentence, and no direction when two thirds are not terms."""


class Reading(Struct, frozen=True):
    """A printed text as read: directives in printed order, a figure, and the words left over."""

    directives: tuple[str, ...]
    number: int | None
    unknown: str


class InstrumentMatch(Struct, frozen=True):
    """The instrument of a part; ``section`` is true when the name is a plural.

    ``ambiguous`` is true when the name may mean something else, such as a voice, and nothing
    beside it rules that out.
    """

    instrument: str | None
    section: bool
    ambiguous: bool = False


def _likeness(form: str, label: str) -> tuple[int, int]:
    """How far a form begins as a label does, and how long it is."""
    letters = zip(form.casefold(), label.casefold(), strict=False)
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], letters)), len(form)


def words_of(text: str) -> tuple[str, ...]:
    """Split printed text into words without case, accents and punctuation.

    A sharp or flat stays with its letter, so that "F♯" is not read as forte.

    >>> words_of("Ôtez les sourdines, div. à 3")
    ('otez', 'les', 'sourdines', 'div', 'a', '3')
    """
    plain = unicodedata.normalize("NFKD", text.casefold())
    return tuple(_TOKEN.findall("".join(c for c in plain if not unicodedata.combining(c))))


class Lexicon:
    """Finds the terms of the graph in printed text, the longest first."""

    def __init__(
        self,
        facts: Facts,
        directives: Mapping[str, Directive],
        instruments: Mapping[str, Instrument],
    ) -> None:
        self._directives = directives
        self._sounds = {sound: i.iri for i in instruments.values() for sound in i.sounds}
        self._words: dict[tuple[str, ...], str] = {}
        self._names: dict[tuple[str, ...], InstrumentMatch] = {}
        self._printed: dict[str, str] = {}
        for term in facts.members("Term"):
            named = facts.one(term, "names")
            singular = [*facts.objects(term, "hasForm"), *facts.objects(term, "hasAbbreviation")]
            plural = facts.objects(term, "hasPlural")
            if named is not None and named in instruments:
                shared = facts.objects(term, "sharesForm")
                self._add_names(singular, named, shared, section=False)
                self._add_names(plural, named, shared, section=True)
            elif named is not None and named in directives:
                for form in (*singular, *plural):
                    self._words.setdefault(words_of(form), named)
                for kind in ("hasAbbreviation", "hasForm"):
                    forms = facts.in_language(term, kind, "it")
                    if forms and named not in self._printed:
                        label = directives[named].label
                        self._printed[named] = max(forms, key=lambda form: _likeness(form, label))
        self._in_names = {
            words_of(form)
            for term in facts.members("Term")
            for form in facts.objects(term, "standsInPartName")
        }
        self._longest = max((len(words) for words in self._words), default=0)
        self._longest_name = max((len(words) for words in self._names), default=0)
        self.recognise = lru_cache(maxsize=4096)(self._recognise)

    @property
    def forms(self) -> Mapping[tuple[str, ...], str]:
        """The directive (an IRI) of every printed form, split into words."""
        return MappingProxyType(self._words)

    def printed(self, directive: str, number: int | None = None) -> str:
        """How a directive (an IRI) is printed: the Italian abbreviation or word, else its name."""
        known = self._directives[directive]
        form = self._printed.get(directive, known.label)
        if number is None:
            return form
        return f"{form} a {number}" if "PlayerCall" in known.kinds else form

    def _add_names(
        self, forms: Iterable[str], instrument: str, shared: Collection[str], *, section: bool
    ) -> None:
        for form in forms:
            match = InstrumentMatch(instrument, section, ambiguous=form in shared)
            self._names.setdefault(words_of(form), match)

    def _recognise(self, text: str) -> Reading:
        """Read the words of a direction: "div. a 3" is one directive with the number 3.

        A sentence about the music asks for nothing, whatever terms it contains.
        """
        words = words_of(text)
        found: list[str] = []
        unknown: list[str] = []
        number: int | None = None
        place = 0
        while place < len(words):
            length = self._match(words, place)
            if length == 0:
                unknown.append(words[place])
                place += 1
                continue
            directive = self._words[words[place : place + length]]
            place += length
            if "PlayerCall" in self._directives[directive].kinds:
                figure, used = _figure_after(words, place)
                place += used
                if figure is None and unknown and (figure := _as_number(unknown[-1])) is not None:
                    unknown.pop()
                number = figure if figure is not None else number
            if "PartNameWord" not in self._directives[directive].kinds:
                found.append(directive)
        if len(words) >= _SENTENCE and 3 * len(unknown) >= 2 * len(words):
            return Reading((), None, " ".join(words))
        return Reading(tuple(found), number, " ".join(unknown))

    def _match(self, words: tuple[str, ...], place: int) -> int:
        for length in range(min(self._longest, len(words) - place), 0, -1):
            if words[place : place + length] in self._words:
                return length
        return 0

    def instrument_named(
        self, name: str, abbreviation: str | None = None, sound: str | None = None
    ) -> InstrumentMatch:
        """Find the instrument of a part by its printed name, then its sound, then its abbreviation.

        Every word of the name must be accounted for (a number, an ordinal, a player call), so
        that "Viola d'amore" is not taken for a viola. A name that may stand for something else
        gives way to a sound.
        """
        match = self._named(name)
        if match is not None and match.ambiguous and sound:
            match = self._by_sound(match, sound)
        if match is None and sound in self._sounds:
            match = InstrumentMatch(self._sounds[sound], section=False)
        if match is None and not words_of(name) and abbreviation:
            match = self._named(abbreviation)
        return match or InstrumentMatch(None, section=False)

    def _by_sound(self, match: InstrumentMatch, sound: str) -> InstrumentMatch | None:
        """An ambiguous name beside a sound: of this instrument, of strings at large, of another."""
        if self._sounds.get(sound) == match.instrument or sound.startswith(_ANY_STRINGS):
            return replace(match, ambiguous=False)
        return None

    def _named(self, name: str) -> InstrumentMatch | None:
        words = words_of(name)
        matches: list[InstrumentMatch] = []
        place = 0
        while place < len(words):
            for length in range(min(self._longest_name, len(words) - place), 0, -1):
                match = self._names.get(words[place : place + length])
                if match is not None:
                    matches.append(match)
                    place += length
                    break
            else:
                length = self._name_words(words, place)
                if not length:
                    return None
                place += length
        if not matches:
            return None
        # A name that is clear bears out the one that it is joined to, as in "Bassi e Violoncelli".
        return replace(matches[0], ambiguous=all(match.ambiguous for match in matches))

    def _name_words(self, words: tuple[str, ...], place: int) -> int:
        """How many words can stand in a part's name here without naming another instrument."""
        if _as_number(words[place]) is not None or _ROMAN.fullmatch(words[place]):
            return 1
        for length in range(1, min(self._longest, len(words) - place) + 1):
            found = words[place : place + length]
            directive = self._words.get(found)
            if found in self._in_names or (
                directive is not None and self._directives[directive].kinds & _IN_NAMES
            ):
                return length
        return 0


def _as_number(word: str) -> int | None:
    match = _NUMBER.fullmatch(word)
    return int(match.group(1)) if match else None


def _figure_after(words: tuple[str, ...], place: int) -> tuple[int | None, int]:
    """The figure printed after a player call, and how many words it takes."""
    start = place + 1 if place < len(words) and words[place] in _CONNECTORS else place
    if start < len(words) and (figure := _as_number(words[start])) is not None:
        return figure, start + 1 - place
    return None, 0
