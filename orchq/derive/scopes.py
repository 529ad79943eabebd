"""Scopes: what limits say for an instrument at a level, as triples that rules compare with."""

from collections.abc import Iterable, Iterator
from fractions import Fraction

from pyoxigraph import Literal, NamedNode, Quad

from orchq.excerpt import decimal
from orchq.knowledge import Instrument, Knowledge, Weighing, Zone
from orchq.terms import RDF_TYPE, XSD, oq

_LOUDEST, _SOFTEST, _PERMISSION = "loudest", "softest", "isAvailable"
_DOUBLE = NamedNode(XSD + "double")


class Scopes:
    """Names the scopes that an excerpt needs and works out what limits say in each."""

    def __init__(self, knowledge: Knowledge, base: str, trust: str | None) -> None:
        self._knowledge = knowledge
        self._base = base
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
            scope = NamedNode(f"{self._base}.scope{len(self._scopes) + 1}")
            self._scopes[key], self._keys[scope] = scope, key
        return self._scopes[key]

    def weighings(self, kind: str, scope: NamedNode) -> tuple[Weighing, ...]:
        """What limits of a kind (local name of its class) say in a scope."""
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

        ``weighed`` then holds what the nodes of weighings stand for.
        """
        for (instrument, technique, level), scope in self._scopes.items():
            yield Quad(scope, RDF_TYPE, oq("LimitScope"))
            yield Quad(scope, oq("scopeInstrument"), NamedNode(instrument))
            yield Quad(scope, oq("scopeLevel"), NamedNode(level))
            if technique is not None:
                yield Quad(scope, oq("scopeTechnique"), NamedNode(technique))
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
        for place, weighing in enumerate(weighings, 1):
            name = f"{scope.value}.{weighing.yardstick.iri.rpartition('/')[2]}-{place}"
            if weighing.yardstick.name in (_LOUDEST, _SOFTEST):
                for dynamic in self._knowledge.dynamics.values():
                    node = NamedNode(f"{name}-{dynamic.slug}")
                    zone = weighing.at(dynamic.degree)
                    yield Quad(node, oq("weighsDynamic"), NamedNode(dynamic.iri))
                    yield from self._zone_quads(scope, node, weighing, zone)
                continue
            if weighing.yardstick.name == _PERMISSION:
                # of a permission it is asked only what having it is worth
                zone = weighing.at(True)
                yield from self._zone_quads(scope, NamedNode(name), weighing, zone)
                continue
            for number, zone in enumerate(weighing.zones, 1):
                node = NamedNode(f"{name}-{number}")
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


def _number(value: Fraction | None, *, upwards: bool) -> Literal:
    """An end of a zone: a decimal, as facts have them, and an open one lies at infinity."""
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
