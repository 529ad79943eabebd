"""Triples as a lookup table for the loaders."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from decimal import Decimal

from pyoxigraph import BlankNode, Literal, NamedNode, Quad, Triple

from orchq.knowledge.model import Value
from orchq.terms import OQ, RDF, RDFS, SKOS, XSD

_TYPE = RDF + "type"
_SUBCLASS = RDFS + "subClassOf"
_SUBPROPERTY = RDFS + "subPropertyOf"
_LABEL = SKOS + "prefLabel"


class Facts:
    """An index of triples by subject and predicate, with the classes of our vocabulary closed."""

    def __init__(self, quads: Iterable[Quad]) -> None:
        self._index: dict[str, dict[str, list[NamedNode | BlankNode | Literal]]] = defaultdict(
            lambda: defaultdict(list)
        )
        self._members: dict[str, list[str]] = defaultdict(list)
        for quad in quads:
            # Each is built anew on every access.
            subject, predicate, value = _key(quad.subject), quad.predicate.value, quad.object
            assert not isinstance(value, Triple)
            self._index[subject][predicate].append(value)
            if predicate == _TYPE:
                self._members[_key(value)].append(subject)
        self._subclasses: dict[str, list[str]] = defaultdict(list)
        for subject, row in self._index.items():
            for parent in row.get(_SUBCLASS, ()):
                self._subclasses[_key(parent)].append(subject)

    def objects(self, subject: str, name: str) -> list[str]:
        """The IRIs or lexical forms of ``oq:name`` of a subject, sorted."""
        nodes = self._row(subject).get(OQ + name, ())
        return [_key(nodes[0])] if len(nodes) == 1 else sorted(map(_key, nodes))

    def in_language(self, subject: str, name: str, language: str) -> list[str]:
        """The texts of ``oq:name`` of a subject in one language, sorted."""
        nodes = self._row(subject).get(OQ + name, ())
        return sorted(n.value for n in nodes if isinstance(n, Literal) and n.language == language)

    def one(self, subject: str, name: str) -> str | None:
        """The only value of ``oq:name``, or ``None``; the first in order where there are more."""
        values = self.objects(subject, name)
        return values[0] if values else None

    def number(self, subject: str, name: str) -> int | None:
        """The value of ``oq:name`` as an integer, or ``None``."""
        value = self.one(subject, name)
        return None if value is None else int(value)

    def truth(self, subject: str, name: str) -> bool:
        """Whether ``oq:name`` is stated to be true."""
        return self.one(subject, name) in ("true", "1")

    def values(self, subject: str) -> dict[str, Value]:
        """All single values in our namespace, by local name, as Python values."""
        return {
            predicate[len(OQ) :]: _value(nodes[0])
            for predicate, nodes in self._row(subject).items()
            if predicate.startswith(OQ)
        }

    def label(self, subject: str) -> str:
        """The preferred label, the English one where there are several, or the IRI's end."""
        labels = [n for n in self._row(subject).get(_LABEL, ()) if isinstance(n, Literal)]
        english = [node.value for node in labels if node.language == "en"]
        return (english or [node.value for node in labels] or [subject.removeprefix(OQ)])[0]

    def text(self, subject: str, predicate: str) -> str:
        """The value of a property of another vocabulary, or the empty string."""
        nodes = self._row(subject).get(predicate, ())
        return _key(nodes[0]) if nodes else ""

    def nodes(self, subject: str, predicate: str) -> list[str]:
        """The IRIs or lexical forms of a property of any vocabulary, sorted."""
        return sorted(_key(node) for node in self._row(subject).get(predicate, ()))

    def closure(self, subject: str, name: str) -> frozenset[str]:
        """All that a property of our vocabulary leads to, step after step, but not the subject."""
        found: set[str] = set()
        waiting = self.objects(subject, name)
        while waiting:
            other = waiting.pop()
            if other not in found and other != subject:
                found.add(other)
                waiting.extend(self.objects(other, name))
        return frozenset(found)

    def subclasses(self, name: str) -> Iterator[str]:
        """The IRIs of a class of our vocabulary and of all below it."""
        waiting, seen = [OQ + name], set[str]()
        while waiting:
            iri = waiting.pop()
            if iri not in seen:
                seen.add(iri)
                yield iri
                waiting.extend(self._subclasses.get(iri, ()))

    def members(self, name: str) -> list[str]:
        """The individuals of a class of our vocabulary or of one below it, sorted."""
        found = {node for iri in self.subclasses(name) for node in self._members.get(iri, ())}
        return sorted(found)

    def subproperties(self, name: str) -> tuple[str, ...]:
        """Local names of the properties of our vocabulary right below one of them, sorted."""
        found = (
            subject[len(OQ) :]
            for subject, row in self._index.items()
            if subject.startswith(OQ)
            and any(_key(node) == OQ + name for node in row.get(_SUBPROPERTY, ()))
        )
        return tuple(sorted(found))

    def declared(self) -> frozenset[str]:
        """The IRIs in our namespace that are stated to be something."""
        return frozenset(
            iri for iri, row in self._index.items() if iri.startswith(OQ) and _TYPE in row
        )

    def kinds(self, subject: str) -> frozenset[str]:
        """Local names of the classes of our vocabulary that the subject is stated to be in."""
        nodes = (_key(node) for node in self._row(subject).get(_TYPE, ()))
        return frozenset(iri[len(OQ) :] for iri in nodes if iri.startswith(OQ))

    def _row(self, subject: str) -> dict[str, list[NamedNode | BlankNode | Literal]]:
        return self._index.get(subject, {})


def _key(node: object) -> str:
    if isinstance(node, NamedNode):  # nearly all are
        return node.value
    if isinstance(node, BlankNode):
        return f"_:{node.value}"
    assert isinstance(node, Literal)
    return node.value


def _value(node: NamedNode | BlankNode | Literal) -> Value:
    if isinstance(node, Literal):
        kind = node.datatype.value.removeprefix(XSD)
        if kind == "integer":
            return int(node.value)
        if kind in ("decimal", "double", "float"):
            return Decimal(node.value)
        if kind == "boolean":
            return node.value in ("true", "1")
    return _key(node)
