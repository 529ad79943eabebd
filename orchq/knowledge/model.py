"""The contents of the graph as immutable Python values."""

import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from msgspec import Struct

from orchq.notation import Pitch

Value = str | int | bool | Decimal
"""A value of a limit: a pitch name or IRI, a count, a permission, a measure."""

Claim = Literal["bound", "usual range", "at least so far"]
"""The claim of a limit: that nothing exists or sounds beyond it; how far it is usual to go; or
only that a value has been reached, which permits and never binds."""


class InstrumentString(Struct, frozen=True):
    """One string: ``number`` is what players call it, ``name`` the letter of the open note.

    ``outside_pedals`` is true of one that no pedal of its instrument reaches.
    """

    iri: str
    number: int
    pitch: Pitch
    outside_pedals: bool = False

    @property
    def name(self) -> str:
        """The letter by which players call the string, with its sign if it has one."""
        return self.pitch.name.rstrip("-0123456789")


class Tuning(Struct, frozen=True):
    """A set of strings in the order of their numbers: highest first, unless it is re-entrant.

    ``when_printed`` is true of one that players set only where the part asks for it.
    """

    iri: str
    label: str
    strings: tuple[InstrumentString, ...]
    when_printed: bool = False

    @property
    def lowest(self) -> InstrumentString:
        """The string with the lowest open pitch."""
        return min(self.strings, key=lambda string: string.pitch)


class Register(Struct, frozen=True):
    """A stretch of the compass with a character; open ends are ``None``."""

    iri: str
    label: str
    lowest: Pitch | None
    highest: Pitch | None
    mainly_solo: bool


class Pedal(Struct, frozen=True):
    """A pedal that sets the strings of one letter.

    ``foot`` is the name of the foot that moves it; ``alterations`` are its positions in semitones.
    """

    iri: str
    letter: str
    foot: str
    alterations: tuple[int, ...]


class Instrument(Struct, frozen=True):
    """An instrument: ``octaves_above`` leads from written to sounding pitch.

    ``frets`` counts them; without any it is ``None``. ``open_only`` is true where no string is
    stopped; ``lacks`` are techniques (IRIs) of the family that it does not have, and
    ``bows_one_string`` is true where the bow cannot sound two strings together; ``pedals`` stand
    from the player's left to the right.
    ``clefs`` are those that its players read, none where the graph does not say;
    ``doubtful_after`` is the clef after which older scores print treble clef an octave high.
    """

    iri: str
    slug: str
    label: str
    family: str
    standard: Tuning
    variants: tuple[Tuning, ...]
    octaves_above: int
    sounds: tuple[str, ...]
    registers: tuple[Register, ...]
    clefs: tuple[str, ...] = ()
    doubtful_after: str | None = None
    frets: int | None = None
    open_only: bool = False
    lacks: frozenset[str] = frozenset()
    bows_one_string: bool = False
    pedals: tuple[Pedal, ...] = ()

    def open_pitches(self, string: InstrumentString) -> tuple[Pitch, ...]:
        """What a string sounds unstopped: its own pitch, or one for each position of its pedal."""
        letter, _, octave = string.pitch.spelling
        if not string.outside_pedals:
            for pedal in self.pedals:
                if pedal.letter == letter:
                    return tuple(Pitch.spelled(letter, a, octave) for a in pedal.alterations)
        return (string.pitch,)


class Directive(Struct, frozen=True):
    """Anything that a printed word or sign asks for.

    ``kinds`` are local names of its classes; ``persists`` is true when the word holds until
    cancelled, ``lasts_for_passage`` when it also ends with its passage; ``cancels`` are the IRIs
    of directives that it ends; ``seats`` counts the players that it calls; ``tuning`` is the
    tuning (an IRI) that it asks for by name.
    """

    iri: str
    slug: str
    label: str
    kinds: frozenset[str]
    persists: bool
    lasts_for_passage: bool
    cancels: frozenset[str]
    elements: tuple[str, ...]
    glyphs: tuple[str, ...]
    parts: int | None = None
    seats: int | None = None
    string_number: int | None = None
    string_name: str | None = None
    falls_to: str | None = None
    clef: str | None = None
    tuning: str | None = None


class Technique(Struct, frozen=True):
    """A directive that is a way of playing; ``implies`` is closed over its consequences.

    ``can_stand_for`` are those that players take in its place, and it in theirs. ``many_notes``
    is true where one written note is many that sound; ``ends_early`` where the note stops before
    the next; ``no_pitch`` where the written pitch does not sound.
    """

    iri: str
    slug: str
    label: str
    kinds: frozenset[str]
    excludes: frozenset[str]
    implies: frozenset[str]
    can_stand_for: frozenset[str]
    available_on: frozenset[str]
    colours: tuple[str, ...]
    rank: int | None
    many_notes: bool
    ends_early: bool
    no_pitch: bool

    def is_on(self, instrument: Instrument) -> bool:
        """Whether it is available on an instrument, by itself or as one of its family.

        An instrument may lack what its family has, and with it whatever implies that.
        """
        available = bool(self.available_on & {instrument.iri, instrument.family})
        return available and instrument.lacks.isdisjoint((self.iri, *self.implies))


class Dynamic(Struct, frozen=True):
    """A mark of loudness; rank 1 is the softest.

    ``degree`` is the distance between marks: one between neighbors from pp to ff, half of that
    beyond, where marks are rhetoric.
    """

    iri: str
    slug: str
    label: str
    rank: int
    degree: Fraction


class Remedy(Struct, frozen=True):
    """A way to rewrite a mistake; one with less ``changes_music`` is offered sooner.

    A ``last_resort`` is offered only where no other way helps.
    """

    iri: str
    slug: str
    label: str
    changes_music: int
    last_resort: bool


class DoubtGround(Struct, frozen=True):
    """A ground for doubting that an instruction that nobody cancels still holds.

    ``casts_doubt_on``, ``marks``, ``signs`` and ``after`` are IRIs of directives. A figure that
    the ground does not depend on is ``None``; see ``ontology/practice/grounds-for-doubt.ttl``
    for what each means.
    """

    iri: str
    label: str
    casts_doubt_on: frozenset[str]
    marks: frozenset[str]
    signs: frozenset[str]
    after: str | None
    reminders: tuple[str, ...]
    rest_measures: int | None
    note_quarters: Decimal | None
    after_measures: int
    fewest_others: int | None
    at_slur: bool
    at_repetition: bool
    at_height: bool
    needs_signature: bool
    contradicts: bool


_PAGE = re.compile(r"djvu/(\d+)|entry ([\w-]+)$")


class Source(Struct, frozen=True):
    """A book, paper or data set; ``label`` is short enough for a report.

    ``address`` opens it, ``pages`` a page or entry of it when its number or name is added; either
    may be empty.
    """

    iri: str
    slug: str
    label: str
    title: str
    address: str = ""
    pages: str = ""

    def opened_at(self, locator: str) -> str:
        """The address of a place in it, or of the whole; empty where none is known.

        Others than those of the web are left out, for pages link to it.
        """
        page = _PAGE.match(locator)
        address = f"{self.pages}{page[1] or page[2]}" if page and self.pages else self.address
        return address if address.startswith(("https://", "http://")) else ""


class Limit(Struct, frozen=True):
    """A number or permission with its source.

    ``kind`` is the local name of its class; ``values`` maps local names of properties to
    values; ``topics`` holds what it is about beside instrument, technique, level and register:
    properties (local names) with IRIs, such as both sides of a change. ``claim`` is what it
    asserts. ``condemns`` is true if its basis may make a mark a violation, ``disputes`` if its
    objection is worth a remark where others permit.
    """

    iri: str
    kind: str
    technique: str | None
    instrument: str | None
    family: str | None
    level: str | None
    tuning: str | None
    register: str | None
    role: str | None
    basis: str
    condemns: bool
    source: Source | None
    locator: str
    statement: str
    values: Mapping[str, Value]
    topics: Mapping[str, str]
    claim: Claim
    disputes: bool

    @property
    def about(self) -> tuple[tuple[str, str], ...]:
        """The topics as a key: only limits about the same can agree or disagree."""
        return tuple(sorted(self.topics.items()))
