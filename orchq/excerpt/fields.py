"""The excerpt vocabulary, property by property, mapped to score attributes both ways."""

import re
from collections.abc import Callable, Iterable, Sequence
from collections.abc import Set as AbstractSet
from functools import cache, lru_cache
from typing import Any, get_args

from msgspec import Struct
from pyoxigraph import Literal, NamedNode

from orchq.exact import Fraction
from orchq.notation import Pitch, letter_name, parse_letters
from orchq.score import HarmonicRole
from orchq.terms import XSD, oq

_PLAIN = re.compile(r"[+-]?\d{1,9}(\.\d{0,18})?")
_LATEST = 1e9  # quarter notes: a piece of about a thousand years
_DECIMAL = NamedNode(XSD + "decimal")

Term = NamedNode | Literal


@lru_cache(maxsize=65536)
def decimal(value: Fraction) -> Literal:
    """Quarter notes as ``xsd:decimal``, to six places."""
    text = f"{float(value):.6f}".rstrip("0")
    return Literal(text + "0" if text.endswith(".") else text, datatype=_DECIMAL)


@lru_cache(maxsize=4096)
def _literal(value: str | int) -> Literal:
    return Literal(value)


def _time(text: str) -> Fraction:
    """Parse a time in quarter notes; exponents are allowed, infinity is not."""
    if _PLAIN.fullmatch(text):
        return Fraction(text).limit_denominator(10080)
    number = float(text)
    if not abs(number) <= _LATEST:
        raise ValueError(f"{text!r} is not a time")
    return Fraction(number).limit_denominator(10080)


class FieldKind(Struct, frozen=True):
    """How values are written as terms and read from their lexical forms, given sorted.

    ``read`` raises ``ValueError`` or ``ZeroDivisionError`` for an invalid text.
    """

    write: Callable[[Any], Iterable[Term]]
    read: Callable[[Sequence[str]], Any]


TEXT = FieldKind(lambda value: (_literal(value),), lambda texts: texts[0])
COUNT = FieldKind(lambda value: (_literal(value),), lambda texts: int(texts[0]))
TRUTH = FieldKind(lambda value: (Literal(value),), lambda texts: texts[0] in ("true", "1"))
TIME = FieldKind(lambda value: (decimal(value),), lambda texts: _time(texts[0]))
BEAT = FieldKind(lambda offset: (decimal(offset + 1),), lambda texts: _time(texts[0]) - 1)
THING = FieldKind(lambda iri: (NamedNode(iri),), lambda texts: texts[0])
THINGS = FieldKind(lambda iris: map(NamedNode, iris), tuple)
ANY_ORDER = FieldKind(lambda iris: map(NamedNode, iris), frozenset)
PITCH = FieldKind(lambda pitch: (_literal(pitch.name),), lambda texts: Pitch.parse(texts[0]))
ROLE = FieldKind(
    lambda role: (_literal(role),),
    lambda texts: texts[0] if texts[0] in get_args(HarmonicRole) else None,
)
PEDALS = FieldKind(
    lambda pedals: (Literal(" ".join(letter_name(*pedal) for pedal in pedals)),),
    lambda texts: tuple(parse_letters(texts[0]).items()),
)

REQUIRED = object()
"""Marks a field that must not be absent."""


_property = cache(oq)


class Field(Struct, frozen=True):
    """An attribute of the score with its property in our vocabulary.

    ``absent`` is the default value; it is not written unless ``always``.
    """

    attribute: str
    name: str
    kind: FieldKind
    absent: Any = None
    always: bool = False

    @property
    def predicate(self) -> NamedNode:
        """The property, in our vocabulary."""
        return _property(self.name)


Fields = tuple[Field, ...]

_PLACE: Fields = (
    Field("measure_index", "measureIndex", COUNT, 0, always=True),
    Field("measure_number", "measureNumber", TEXT, always=True),
    Field("offset", "beat", BEAT, Fraction(0), always=True),
    Field("onset", "onset", TIME, Fraction(0), always=True),
)

PART: Fields = (
    Field("name", "partName", TEXT, always=True),
    Field("id", "partId", TEXT, always=True),
    Field("index", "partIndex", COUNT, always=True),
    Field("instrument", "forInstrument", THING),
)
SEATS: Fields = (
    Field("section", "isSection", TRUTH, always=True),
    Field("players", "playerCount", COUNT),
)
STRING: Fields = (
    Field("number", "stringNumber", COUNT, 0, always=True),
    Field("pitch", "openPitch", PITCH, REQUIRED),
)
EVENT_PLACE: Fields = (
    *_PLACE,
    Field("duration", "duration", TIME, Fraction(0), always=True),
    Field("voice", "voice", TEXT, "1", always=True),
    Field("staff", "staff", COUNT, 1),
)
EVENT: Fields = (
    Field("marks", "marked", ANY_ORDER, frozenset()),
    Field("strokes", "tremoloStrokes", COUNT, 0),
    Field("grace", "isGrace", TRUTH, False),
    Field("cue", "isCue", TRUTH, False),
)
NOTE_PITCH: Fields = (Field("pitch", "pitch", PITCH, REQUIRED),)
NOTE: Fields = (
    Field("tie_forward", "tiesForward", TRUTH, False),
    Field("tied_back", "tiedBack", TRUTH, False),
    Field("string", "printedString", COUNT),
    Field("finger", "printedFinger", TEXT),
    Field("role", "harmonicRole", ROLE),
    Field("notehead", "notehead", TEXT),
)
STATE: Fields = (
    Field("techniques", "usesTechnique", ANY_ORDER, frozenset()),
    Field("dynamic", "atDynamic", THING),
    Field("string_call", "callsString", THING),
    Field("divisi_parts", "divisiParts", COUNT),
)
MARK: Fields = (
    *_PLACE,
    Field("directives", "asksFor", THINGS, ()),
    Field("text", "printedText", TEXT, ""),
    Field("staff", "staff", COUNT),
    Field("voice", "voice", TEXT),
    Field("number", "callsPlayers", COUNT),
    Field("tempo", "quartersPerMinute", TIME),
    Field("signature", "keySignature", COUNT),
    Field("pedals", "setsPedals", PEDALS, ()),
)
SLUR: Fields = (
    Field("first", "startsAt", THING, REQUIRED),
    Field("last", "endsAt", THING, REQUIRED),
)
HAIRPIN: Fields = (
    Field("grows", "grows", TRUTH, False, always=True),
    Field("onset", "onset", TIME, Fraction(0), always=True),
    Field("end", "endOnset", TIME, Fraction(0), always=True),
    Field("staff", "staff", COUNT),
)
ACCEPTANCE: Fields = (
    Field("reason", "reason", TEXT, "", always=True),
    Field("rules", "acceptsRule", THINGS, ()),
    Field("events", "acceptedOn", THINGS, ()),
)


def asked_of(fields: Fields, asked: AbstractSet[NamedNode] | None) -> Fields:
    """The fields whose properties are asked for, all of them for ``None``."""
    return tuple(each for each in fields if asked is None or each.predicate in asked)
