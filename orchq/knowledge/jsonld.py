"""The JSON-LD context of the vocabulary (``ontology/context.jsonld``), and its use both ways."""

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from collections.abc import Set as AbstractSet
from decimal import Decimal
from functools import lru_cache
from typing import Any

from pyoxigraph import BlankNode, Literal, NamedNode, Quad, Triple

from orchq.knowledge.data_files import context_file
from orchq.terms import OQ, OWL, PREFIXES, RDF_TYPE, RDFS, XSD

CONTEXT = OQ + "context.jsonld"
"""The IRI by which a document names the context; it is answered from the package."""

_RANGE = NamedNode(RDFS + "range")
_PROPERTIES = frozenset({NamedNode(OWL + "ObjectProperty"), NamedNode(OWL + "DatatypeProperty")})
_DECIMAL = NamedNode(XSD + "decimal")
_NATIVE: Mapping[str, Callable[[str], int | bool]] = {
    XSD + "integer": int,
    XSD + "boolean": lambda text: text == "true",
}
_WRITTEN_OUT = frozenset({XSD + "string", PREFIXES["rdf"] + "langString"})


def context_of(quads: Iterable[Quad], excerpt_classes: AbstractSet[str]) -> dict[str, Any]:
    """Return the context of the vocabulary: a key for every property, with the kind of its values.

    Bare words are terms of the vocabulary, so that a misspelt one is found. What leads to nodes of
    ``excerpt_classes`` leads to names of the document's own.
    """
    quads = tuple(quads)
    ranges = {quad.subject: quad.object for quad in quads if quad.predicate == _RANGE}
    context: dict[str, Any] = {"@version": 1.1, "@vocab": OQ, "id": "@id", "type": "@type"}
    context |= {**PREFIXES, "rule": f"{OQ}rule/"}
    kinds = {
        quad.subject.value: quad.object
        for quad in quads
        if quad.predicate == RDF_TYPE
        and quad.object in _PROPERTIES
        and isinstance(quad.subject, NamedNode)
    }
    for iri in sorted(kinds):
        of = ranges.get(NamedNode(iri))
        leads_to = of.value if isinstance(of, NamedNode) else ""
        if kinds[iri] == NamedNode(OWL + "ObjectProperty"):
            own = not leads_to or leads_to in excerpt_classes
            context[iri.removeprefix(OQ)] = {
                "@id": _short(iri),
                "@type": "@id" if own else "@vocab",
            }
        elif leads_to and leads_to not in _WRITTEN_OUT:
            context[iri.removeprefix(OQ)] = {"@id": _short(iri), "@type": _short(leads_to)}
    return context


@lru_cache(maxsize=1)
def shipped_context() -> Mapping[str, Any]:
    """The context that travels with the package."""
    found: Mapping[str, Any] = json.loads(context_file().read_text(encoding="utf-8"))["@context"]
    return found


def with_context(data: bytes) -> bytes:
    """Replace the IRI of the context in a JSON-LD document by what it stands for.

    Raises ``ValueError`` for what is no JSON, ``RecursionError`` for what is nested too deep.
    """
    if b"context.jsonld" not in data:
        return data
    return json.dumps(_replaced(json.loads(data))).encode()


def with_plain_decimal(quad: Quad) -> Quad:
    """Write a decimal without exponent, which JSON-LD puts into every number that is not whole."""
    value = quad.object
    if not isinstance(value, Literal) or value.datatype != _DECIMAL or "E" not in value.value:
        return quad
    plain = Literal(f"{Decimal(value.value):f}", datatype=_DECIMAL)
    return Quad(quad.subject, quad.predicate, plain, quad.graph_name)


def _replaced(value: Any) -> Any:
    if isinstance(value, list):
        return [_replaced(each) for each in value]
    if not isinstance(value, dict):
        return value
    return {
        key: _contexts(each) if key == "@context" else _replaced(each)
        for key, each in value.items()
    }


def _contexts(value: Any) -> Any:
    if isinstance(value, list):
        return [_contexts(each) for each in value]
    return shipped_context() if value == CONTEXT else value


def compacted(triples: Iterable[Triple], prefixes: Mapping[str, str]) -> str:
    """Write triples as compact JSON-LD that holds as much of the context as it uses.

    ``prefixes`` are added to those of the context.
    """
    writer = _Writer(prefixes)
    nodes = writer.nodes(triples)
    context = shipped_context()
    used = {key: value for key, value in context.items() if not isinstance(value, dict)}
    used |= dict(prefixes)
    used |= {key: context[key] for key in sorted(writer.keys) if isinstance(context.get(key), dict)}
    document = {"@context": used, "@graph": nodes}
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


class _Writer:
    def __init__(self, prefixes: Mapping[str, str]) -> None:
        context = shipped_context()
        self.keys: set[str] = set()
        own = {key: each for key, each in context.items() if key[0] != "@" and key != "id"}
        plain = {key: each for key, each in own.items() if isinstance(each, str) and key != "type"}
        self._prefixes = sorted(
            (plain | dict(prefixes)).items(), key=lambda item: len(item[1]), reverse=True
        )
        self._kinds = {key: each["@type"] for key, each in own.items() if isinstance(each, dict)}

    def nodes(self, triples: Iterable[Triple]) -> list[dict[str, Any]]:
        found: dict[str, dict[str, list[Any]]] = defaultdict(lambda: defaultdict(list))
        for triple in triples:
            node = found[self._name(triple.subject)]
            if triple.predicate == RDF_TYPE and isinstance(triple.object, NamedNode):
                node["type"].append(self._name(triple.object).removeprefix("oq:"))
                continue
            key = self._name(triple.predicate).removeprefix("oq:")
            self.keys.add(key)
            node[key].append(self._value(triple.object, self._kinds.get(key)))
        return [
            {"id": iri, **{key: each[0] if len(each) == 1 else each for key, each in row.items()}}
            for iri, row in found.items()
        ]

    def _value(self, term: object, kind: str | None) -> Any:
        if not isinstance(term, Literal):
            name = self._name(term)
            return name if kind in ("@id", "@vocab") else {"id": name}
        datatype = term.datatype.value
        if term.language:
            return {"@value": term.value, "@language": term.language}
        if kind is None and datatype == XSD + "string":
            return term.value
        if kind is None or self._name(term.datatype) != kind:
            return {"@value": term.value, "@type": self._name(term.datatype)}
        read = _NATIVE.get(datatype)
        native = read(term.value) if read else term.value
        # only what comes back letter for letter
        return native if json.dumps(native) == term.value else term.value

    def _name(self, term: object) -> str:
        if isinstance(term, BlankNode):
            return f"_:{term.value}"
        assert isinstance(term, NamedNode)
        for prefix, base in self._prefixes:
            local = term.value[len(base) :]
            if term.value.startswith(base) and local and not local.startswith("//"):
                return f"{prefix}:{local}"
        return term.value


def _short(iri: str) -> str:
    prefix, base = next(each for each in PREFIXES.items() if iri.startswith(each[1]))
    return f"{prefix}:{iri.removeprefix(base)}"
