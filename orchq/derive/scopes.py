"""Scopes: the limits for an instrument at a level, weighed into triples that rules compare with.

The scopes of a score are those of its parts; ``knowledge_scopes`` are those of the whole graph. The
same scope has the same name in both.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from fractions import Fraction
from hashlib import sha256

from pyoxigraph import Literal, NamedNode, Quad

from orchq.excerpt import decimal
from orchq.knowledge import Dynamic, Instrument, Knowledge, Weighing, Zone
from orchq.terms import OQ, RDF_TYPE, XSD, oq, slug_of

_LOUDEST, _SOFTEST, _PERMISSION = "loudest", "softest", "isAvailable"
_ENVELOPE, _AVAILABILITY = "DynamicEnvelope", "Availability"
_GRANTED = ("allowed", "disputed")
_DOUBLE = NamedNode(XSD + "double")


class Scopes:
    """Names the scopes that are needed and weighs the limits in each.

    ``trust`` is the IRI of the one source or basis to follow, or ``None``.
    """

    def __init__(self, knowledge: Knowledge, trust: str | None) -> None:
        self._knowledge = knowledge
        self._trust = trust
        self._kinds = sorted({limit.kind for limit in knowledge.limits})
        self._weighed = {yardstick.kind for yardstick in knowledge.yardsticks}
        self._scopes: dict[tuple[str, str | None, str], NamedNode] = {}
        self._keys: dict[NamedNode, tuple[str, str | None, str]] = {}
        self.weighed: dict[str, tuple[Weighing, Zone]] = {}

    def scope(self, instrument: Instrument, technique: str | None, level: str) -> NamedNode:
        """The scope of an instrument at a level, of one technique or of none."""
        key = (instrument.iri, technique, level)
        if key not in self._scopes:
            scope = NamedNode(scope_iri(*key, self._trust))
            self._scopes[key], self._keys[scope] = scope, key
        return self._scopes[key]

    def weighings(self, kind: str, scope: NamedNode) -> tuple[Weighing, ...]:
        """The weighings of limits of a kind (local name of its class) in a scope."""
        instrument, technique, level = self._keys[scope]
        return self._knowledge.weighings(
            kind,
            self._knowledge.instruments[instrument],
            technique=technique,
            level=level,
            trust=self._trust,
        )

    def first_reported(
        self, kind: str, figure: str, scopes: Iterable[NamedNode]
    ) -> Fraction | None:
        """The easiest value beyond which rules report something in any of the scopes.

        ``figure`` is the property (local name) that holds the figures of that kind of limit.
        """
        return easiest_reported(
            (weighing for scope in scopes for weighing in self.weighings(kind, scope)), figure
        )

    def quads(self) -> Iterator[Quad]:
        """Yield the triples of all scopes asked for so far.

        ``weighed`` then maps nodes of weighings to their values.
        """
        for (instrument, technique, level), scope in self._scopes.items():
            yield Quad(scope, RDF_TYPE, oq("LimitScope"))
            yield Quad(scope, oq("scopeInstrument"), NamedNode(instrument))
            yield Quad(scope, oq("scopeLevel"), NamedNode(level))
            if technique is not None:
                yield Quad(scope, oq("scopeTechnique"), NamedNode(technique))
            if self._trust is not None:
                yield Quad(scope, oq("scopeAuthority"), NamedNode(self._trust))
            granted = granted_dynamics(self.weighings(_ENVELOPE, scope), self._knowledge.dynamics)
            for name, dynamic in zip(("grantsSoftest", "grantsLoudest"), granted, strict=True):
                if dynamic is not None:
                    yield Quad(scope, oq(name), NamedNode(dynamic.iri))
            for kind in self._kinds:
                for limit in self._knowledge.in_force(
                    kind,
                    self._knowledge.instruments[instrument],
                    technique=technique,
                    level=level,
                    trust=self._trust,
                ):
                    yield Quad(scope, oq("limitInForce"), NamedNode(limit.iri))
                if kind in self._weighed:
                    yield from self._weighing_quads(scope, self.weighings(kind, scope))

    def _weighing_quads(self, scope: NamedNode, weighings: Iterable[Weighing]) -> Iterator[Quad]:
        for weighing in weighings:
            topics = (_name(about) for _, about in sorted(weighing.topics.items()))
            measured = slug_of(weighing.yardstick.iri).removeprefix("yardstick-")
            name = "/".join((scope.value, measured, *topics))
            if weighing.yardstick.name in (_LOUDEST, _SOFTEST):
                for dynamic in self._knowledge.dynamics.values():
                    node = NamedNode(f"{name}/{dynamic.slug}")
                    zone = weighing.at(dynamic.degree)
                    yield Quad(node, oq("weighsDynamic"), NamedNode(dynamic.iri))
                    yield from self._zone_quads(scope, node, weighing, zone)
                continue
            if weighing.yardstick.name == _PERMISSION:
                # for a permission only the value of having it matters
                zone = weighing.at(True)
                yield from self._zone_quads(scope, NamedNode(name), weighing, zone)
                continue
            for number, zone in enumerate(weighing.zones, 1):
                node = NamedNode(f"{name}/{number}")
                ceiling = weighing.yardstick.is_ceiling
                start, end = ("above", "upTo") if ceiling else ("below", "downTo")
                yield Quad(node, oq(start), _number(zone.beyond, upwards=not ceiling))
                yield Quad(node, oq(end), _number(zone.up_to, upwards=ceiling))
                yield from self._zone_quads(scope, node, weighing, zone)

    def _zone_quads(
        self, scope: NamedNode, node: NamedNode, weighing: Weighing, zone: Zone
    ) -> Iterator[Quad]:
        self.weighed[node.value] = weighing, zone
        yield Quad(scope, oq("hasWeighing"), node)
        yield Quad(node, RDF_TYPE, oq("Weighing"))
        yield Quad(node, oq("onYardstick"), NamedNode(weighing.yardstick.iri))
        yield Quad(node, oq("verdict"), Literal(zone.verdict))
        if zone.severity is not None:
            yield Quad(node, oq("isGraveAs"), oq(zone.severity))
        if into := weighing.topics.get("changesTo"):
            yield Quad(node, oq("weighsChangeInto"), NamedNode(into))
        for limit in zone.opposed_by:
            yield Quad(node, oq("opposedBy"), NamedNode(limit.iri))
        for limit in zone.permitted_by:
            yield Quad(node, oq("permittedBy"), NamedNode(limit.iri))


def scope_iri(instrument: str, technique: str | None, level: str, trust: str | None) -> str:
    """Return the IRI of a scope from its instrument, technique, level and trusted source.

    >>> scope_iri(OQ + "violin", OQ + "spiccato", OQ + "orchestral", None)
    'https://w3id.org/orchq/scope/violin/orchestral/spiccato'
    """
    names = [instrument, level, *([technique] if technique else ())]
    authority = f"/according-to/{_name(trust)}" if trust else ""
    return f"{OQ}scope/{'/'.join(map(_name, names))}{authority}"


def _name(iri: str) -> str:
    """A name for a term: its own in our namespace, and one that no other has in another."""
    if iri.startswith(OQ):
        return slug_of(iri)
    return f"{slug_of(iri)}-{sha256(iri.encode()).hexdigest()[:8]}"


def knowledge_scopes(knowledge: Knowledge, trust: str | None = None) -> Iterator[Quad]:
    """Yield the scopes of the whole graph: every instrument, technique and level of player.

    Techniques are those that the instrument has, or on whose availability there is a limit.
    ``trust`` is the IRI of the one source or basis to follow.
    """
    scopes = Scopes(knowledge, trust)
    for instrument in knowledge.instruments.values():
        for level in knowledge.levels:
            scopes.scope(instrument, None, level)
            for technique in knowledge.techniques.values():
                if technique.is_on(instrument) or knowledge.weighings(
                    _AVAILABILITY, instrument, technique=technique.iri, level=level, trust=trust
                ):
                    scopes.scope(instrument, technique.iri, level)
    yield from scopes.quads()


def granted_dynamics(
    weighings: Collection[Weighing], dynamics: Mapping[str, Dynamic]
) -> tuple[Dynamic | None, Dynamic | None]:
    """The softest and the loudest dynamic that some authority grants; ``None`` is an open end."""
    granted = [
        dynamic
        for dynamic in dynamics.values()
        if all(weighing.at(dynamic.degree).verdict in _GRANTED for weighing in weighings)
    ]
    ends = {weighing.yardstick.name for weighing in weighings}
    return (
        granted[0] if granted and _SOFTEST in ends else None,
        granted[-1] if granted and _LOUDEST in ends else None,
    )


def _number(value: Fraction | None, *, upwards: bool) -> Literal:
    """An end of a zone as a decimal literal, like those of facts; an open end is infinite."""
    if value is None:
        return Literal("INF" if upwards else "-INF", datatype=_DOUBLE)
    return decimal(value)


def easiest_reported(weighings: Iterable[Weighing], figure: str) -> Fraction | None:
    """The easiest value of a figure beyond which any of these weighings reports something."""
    found = [
        (weighing.yardstick.order(first), first)
        for weighing in weighings
        if weighing.yardstick.name == figure and (first := weighing.first_reported) is not None
    ]
    return min(found)[1] if found else None
