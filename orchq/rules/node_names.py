"""Names for the nodes of the graph and of a score, as a musician would say them in a message."""

from collections.abc import Iterator, Mapping

from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.derivation import Derived
from orchq.evidence import how_far
from orchq.knowledge import Knowledge
from orchq.terms import SKOS, oq

_PREFERRED = NamedNode(SKOS + "prefLabel")
_IN_WORDS = oq("inWords")


class NodeNames:
    """Names nodes: a note by its pitch, a term by its label, a limit by what it states."""

    def __init__(self, knowledge: Knowledge, derived: Derived) -> None:
        self._knowledge = knowledge
        self._derived = derived
        self._limits = {limit.iri: limit for limit in knowledge.limits}
        self._names = dict(derived.names)

    def call(self, names: Mapping[str, str]) -> None:
        """Give names to nodes, by IRI."""
        self._names.update(names)

    def of(self, node: NamedNode | Literal | str | None) -> str:
        """The words for a node; a string is the IRI of a limit or of a weighing."""
        if node is None:
            return "?"
        if isinstance(node, str):
            if node in self._derived.weighed:
                return how_far(*self._derived.weighed[node], self._knowledge)
            limit = self._limits.get(node)
            return limit.statement if limit else node
        if isinstance(node, Literal):
            return node.value
        return self._names.get(node.value) or self._knowledge.label(node.value)

    def quads(self) -> Iterator[Quad]:
        """Yield the words for every node that a message may name."""
        for _, event in self._derived.places.values():
            self.call({note.iri: note.pitch.name for note in event.notes})
        limits = [*self._limits]
        limits += [iri for iri, (_, zone) in self._derived.weighed.items() if zone.opposed_by]
        for iri in limits:
            yield Quad(NamedNode(iri), _IN_WORDS, Literal(self.of(iri)))
        terms = (q.subject for q in self._knowledge.quads if q.predicate == _PREFERRED)
        named = (*dict.fromkeys(terms), *map(NamedNode, self._names))
        for node in dict.fromkeys(named):
            if isinstance(node, NamedNode) and node.value not in self._limits:
                yield Quad(node, _IN_WORDS, Literal(self.of(node)))
