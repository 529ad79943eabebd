"""The context of facts about time and bow: the part, its clock and the limits."""

from collections.abc import Sequence

from msgspec import Struct, field
from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.clock import Clock
from orchq.derive.placed import InForce
from orchq.derive.scopes import Scopes, easiest_reported
from orchq.exact import Fraction
from orchq.excerpt import decimal
from orchq.knowledge import Instrument, Knowledge, Limit, Weighing
from orchq.score import Event, Part
from orchq.terms import RDF_TYPE, oq

_AT_EVENT, _UNDER_SCOPE, _RESTS_ON = oq("atEvent"), oq("underScope"), oq("restsOn")

_ARCO = oq("arco").value
_NO_HAIR = frozenset({"PluckedTechnique", "StickTechnique"})
_ORCHESTRAL, _SOLOIST = oq("orchestral").value, oq("soloist").value

Value = NamedNode | Fraction | str | bool | int


def level_of_players(*, several: bool) -> str:
    """The level of player (an IRI) that is assumed of a section or of one player."""
    return _ORCHESTRAL if several else _SOLOIST


class Circumstances(Struct, frozen=True):
    """A part with the clock of its score, the level of its players and the source to follow.

    ``level`` is the IRI of the level of player that was asked for, ``trust`` that of the one
    source to follow; either may be ``None``.
    """

    knowledge: Knowledge
    instrument: Instrument
    part: Part
    clock: Clock
    scopes: Scopes
    level: str | None
    trust: str | None
    _limits: dict[tuple[str, str | None, str], tuple[Limit, ...]] = field(default_factory=dict)

    def level_of(self, in_force: InForce | None = None) -> str:
        """The level of player (an IRI): the one asked for, or that of whoever plays there.

        A section is taken to be of orchestral players, a single player to be a soloist.
        """
        several = self.part.section if in_force is None else self.has_several_players(in_force)
        return self.level or level_of_players(several=several)

    def scope(self, in_force: InForce, technique: str | None = None) -> NamedNode:
        """The scope of the instrument, of one technique or of none, where this holds."""
        return self.scopes.scope(self.instrument, technique, self.level_of(in_force))

    def limits(
        self, kind: str, in_force: InForce, technique: str | None = None
    ) -> tuple[Limit, ...]:
        """The limits of a kind that apply in that scope."""
        key = kind, technique, self.level_of(in_force)
        if key not in self._limits:
            self._limits[key] = self.knowledge.in_force(
                kind, self.instrument, technique=technique, level=key[2], trust=self.trust
            )
        return self._limits[key]

    def weighings(
        self, kind: str, in_force: InForce, technique: str | None = None
    ) -> tuple[Weighing, ...]:
        """The weighings of a kind of limit in that scope."""
        return self.knowledge.weighings(
            kind,
            self.instrument,
            technique=technique,
            level=self.level_of(in_force),
            trust=self.trust,
        )

    def first_reported(
        self, kind: str, figure: str, in_force: InForce, technique: str | None = None
    ) -> Fraction | None:
        """The easiest value beyond which rules report something, ``None`` if they never do.

        ``figure`` is the property (local name) of that kind of limit.
        """
        return easiest_reported(self.weighings(kind, in_force, technique), figure)

    @property
    def has_bow(self) -> bool:
        """Whether the instrument is bowed."""
        return self.knowledge.techniques[_ARCO].is_on(self.instrument)

    def is_on_hair(self, in_force: InForce) -> bool:
        """Whether the hair of the bow sounds the strings: nothing plucks them, no stick strikes."""
        return not any(self.kinds(iri) & _NO_HAIR for iri in in_force.techniques)

    def has_several_players(self, in_force: InForce) -> bool:
        """Whether players of a section share the passage and can change bow by turns."""
        return self.part.section and not in_force.solo

    def kinds(self, technique: str) -> frozenset[str]:
        """The classes of a technique, by local name; none for an unknown technique."""
        known = self.knowledge.techniques.get(technique)
        return known.kinds if known else frozenset()


class Fact:
    """A node for one derived fact about an event, with its triples."""

    def __init__(self, event: Event, name: str, *kinds: str) -> None:
        self._node = NamedNode(f"{event.iri}.{name}")
        self.quads = [Quad(self._node, RDF_TYPE, oq(kind)) for kind in kinds]
        self.quads.append(Quad(self._node, _AT_EVENT, NamedNode(event.iri)))

    def say(self, name: str, value: Value) -> None:
        """Add a triple; fractions become decimals."""
        if isinstance(value, NamedNode):
            self._add(oq(name), value)
        elif isinstance(value, str | int):
            self._add(oq(name), Literal(value))
        else:
            self._add(oq(name), decimal(value))

    def under(self, *scopes: NamedNode) -> None:
        """Add the scopes whose limits apply."""
        for scope in scopes:
            self._add(_UNDER_SCOPE, scope)

    def resting_on(self, *limits: Limit) -> None:
        """Add the limits that a number of the fact comes from."""
        for limit in limits:
            self._add(_RESTS_ON, NamedNode(limit.iri))

    def _add(self, predicate: NamedNode, value: NamedNode | Literal) -> None:
        self.quads.append(Quad(self._node, predicate, value))


def values_of(limits: Sequence[Limit], name: str) -> list[Fraction]:
    """The numbers that limits give for a property (its local name)."""
    return [Fraction(limit.values[name]) for limit in limits if name in limit.values]


def in_words(seconds: Fraction, assumed: Fraction | None) -> str:
    """Return a time for a message, with the tempo if it is assumed.

    >>> in_words(Fraction(3, 16), None), in_words(Fraction(9, 2), Fraction(88))
    ('0.19 s', '4.5 s at an assumed quarter note = 88')
    """
    return f"{shortened(seconds)} s{_assuming(assumed)}"


def rate_in_words(rate: Fraction, assumed: Fraction | None) -> str:
    """Return a rate for a message, with the tempo if it is assumed.

    >>> rate_in_words(Fraction(25, 3), None)
    '8.3 a second'
    """
    return f"{shortened(rate)} a second{_assuming(assumed)}"


def shortened(value: Fraction) -> str:
    """Return a number for a message: two decimals below 1, one below 100, none above.

    >>> [shortened(Fraction(n)) for n in (Fraction(1, 8), 4, Fraction(49, 4), Fraction(241, 2))]
    ['0.12', '4', '12.2', '120']
    """
    places = 2 if value < 1 else 1 if value < 100 else 0
    text = f"{float(value):.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _assuming(tempo: Fraction | None) -> str:
    return "" if tempo is None else f" at an assumed quarter note = {shortened(tempo)}"
