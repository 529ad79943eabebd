"""Limits in force, said as triples so that rules can compare with them."""

from collections.abc import Iterator

from pyoxigraph import NamedNode, Quad

from orchq.knowledge import Instrument, Knowledge
from orchq.terms import RDF_TYPE, local_name, oq


class Scopes:
    """Names the scopes that an excerpt needs and works out the limits that hold in each."""

    def __init__(self, knowledge: Knowledge, base: str, trust: str | None) -> None:
        self._knowledge = knowledge
        self._base = base
        self._trust = trust
        self._kinds = sorted({limit.kind for limit in knowledge.limits})
        self._scopes: dict[tuple[str, str | None, str], NamedNode] = {}

    def scope(self, instrument: Instrument, technique: str | None, level: str) -> NamedNode:
        """The scope of an instrument at a level, of one technique or of none."""
        key = (instrument.iri, technique, level)
        if key not in self._scopes:
            words = [instrument.slug, local_name(technique or "instrument"), local_name(level)]
            self._scopes[key] = NamedNode(f"{self._base}.scope.{'.'.join(words)}")
        return self._scopes[key]

    def quads(self) -> Iterator[Quad]:
        """Yield the triples of all scopes asked for so far."""
        for (instrument, technique, level), scope in self._scopes.items():
            yield Quad(scope, RDF_TYPE, oq("LimitScope"))
            yield Quad(scope, oq("scopeInstrument"), NamedNode(instrument))
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
