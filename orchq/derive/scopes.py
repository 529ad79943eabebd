"""Limits in force, said as triples so that rules can compare with them."""

from collections.abc import Iterable, Iterator

from pyoxigraph import NamedNode, Quad

from orchq.knowledge import Instrument, Knowledge, Limit
from orchq.notation import Pitch
from orchq.terms import RDF_TYPE, oq


class Scopes:
    """Names the scopes that an excerpt needs and works out the limits that hold in each."""

    def __init__(self, knowledge: Knowledge, base: str, trust: str | None) -> None:
        self._knowledge = knowledge
        self._base = base
        self._trust = trust
        self._kinds = sorted({limit.kind for limit in knowledge.limits})
        self._scopes: dict[tuple[str, str | None, str], NamedNode] = {}
        self._keys: dict[NamedNode, tuple[str, str | None, str]] = {}
        self._ceilings: dict[NamedNode, int | None] = {}

    def scope(self, instrument: Instrument, technique: str | None, level: str) -> NamedNode:
        """The scope of an instrument at a level, of one technique or of none."""
        key = (instrument.iri, technique, level)
        if key not in self._scopes:
            scope = NamedNode(f"{self._base}.scope{len(self._scopes) + 1}")
            self._scopes[key], self._keys[scope] = scope, key
        return self._scopes[key]

    def ceiling(self, scopes: Iterable[NamedNode]) -> int | None:
        """The lowest ceiling, as a semitone number, that a limit in force in any scope sets."""
        ceilings = [self._ceiling(scope) for scope in scopes]
        return min((c for c in ceilings if c is not None), default=None)

    def _ceiling(self, scope: NamedNode) -> int | None:
        if scope not in self._ceilings:
            instrument, technique, level = self._keys[scope]
            limits = self._in_force("CompassLimit", instrument, technique, level)
            pitches = [
                Pitch.parse(str(limit.values[name])).midi
                for limit in limits
                for name in ("highestPitch", "usualHighestPitch")
                if name in limit.values
            ]
            self._ceilings[scope] = min(pitches, default=None)
        return self._ceilings[scope]

    def _in_force(
        self,
        kind: str,
        instrument: str,
        technique: str | None,
        level: str,
        *,
        excusing: bool = False,
    ) -> tuple[Limit, ...]:
        return self._knowledge.in_force(
            kind,
            self._knowledge.instruments[instrument],
            technique=technique,
            level=level,
            trust=self._trust,
            excusing=excusing,
        )

    def quads(self) -> Iterator[Quad]:
        """Yield the triples of all scopes asked for so far."""
        for (instrument, technique, level), scope in self._scopes.items():
            yield Quad(scope, RDF_TYPE, oq("LimitScope"))
            yield Quad(scope, oq("scopeInstrument"), NamedNode(instrument))
            if technique is not None:
                yield Quad(scope, oq("scopeTechnique"), NamedNode(technique))
            for kind in self._kinds:
                for limit in self._in_force(kind, instrument, technique, level):
                    yield Quad(scope, oq("limitInForce"), NamedNode(limit.iri))
                    if limit.condemns:
                        yield Quad(scope, oq("excusingLimit"), NamedNode(limit.iri))
                for limit in self._in_force(kind, instrument, technique, level, excusing=True):
                    yield Quad(scope, oq("excusingLimit"), NamedNode(limit.iri))
