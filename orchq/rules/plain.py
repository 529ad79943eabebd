"""Rules and checked facts for other SHACL engines: plain shapes, and the facts that they use."""

import re
from collections.abc import Iterable, Iterator

from pyoxigraph import Literal, NamedNode, Quad, Triple

from orchq.derive.derivation import Derivation
from orchq.knowledge import Knowledge
from orchq.knowledge.store import read_triples
from orchq.knowledge.whole import whole_ontology
from orchq.rules.catalogue import SHAPE_PREFIXES, RuleInfo, Shape
from orchq.rules.checking import prefix_file, rules_of
from orchq.rules.node_names import NodeNames
from orchq.terms import RDF_TYPE, RDFS, SH

_COLUMNS = re.compile(r"\?value\s+\?other\s+\?limit\s+WHERE", re.IGNORECASE)
_SLOT = re.compile(r"\{[?$](value|other|limit)\}")


def plain_shapes(knowledge: Knowledge) -> list[Triple]:
    """Return every rule of the graph and its extensions as SHACL, with nothing else beside it.

    What is in focus, and which shapes it breaks, is what ``orchq check`` finds, over triples as
    ``derived_triples`` returns them. Each result stands once, and messages name nodes in words.
    Raises ``OrchqError`` for a broken rule of an extension.
    """
    rules, shapes = rules_of(knowledge)
    by_slug = {rule.slug: rule for rule in rules}
    prefixes = (quad.triple for quad in read_triples(prefix_file()))
    made = (triple for shape in shapes for triple in _shape(shape, by_slug[shape.rule_slug]))
    return [*prefixes, *made]


def derived_triples(
    knowledge: Knowledge, asserted: Iterable[Quad], derivation: Derivation
) -> list[Triple]:
    """Return the graph, a score's own triples and what is derived from them, each once.

    Scopes, what limits come to in them, and the words by which messages call nodes are among them.
    """
    words = NodeNames(knowledge, derivation.whole).quads()
    added = (quad.triple for quads in (asserted, derivation.quads, words) for quad in quads)
    return list(dict.fromkeys((*whole_ontology(knowledge.quads), *added)))


def _shape(shape: Shape, rule: RuleInfo) -> Iterator[Triple]:
    node, query = NamedNode(shape.iri), NamedNode(f"{shape.iri}-query")
    yield Triple(node, RDF_TYPE, _sh("NodeShape"))
    yield Triple(node, NamedNode(RDFS + "label"), Literal(rule.label, language="en"))
    yield Triple(node, NamedNode(RDFS + "comment"), Literal(rule.why, language="en"))
    yield Triple(node, _sh("targetClass"), NamedNode(shape.target))
    yield Triple(node, _sh("severity"), _sh(shape.severity.capitalize()))
    yield Triple(node, _sh("sparql"), query)
    yield Triple(query, RDF_TYPE, _sh("SPARQLConstraint"))
    yield Triple(query, _sh("prefixes"), NamedNode(SHAPE_PREFIXES))
    message = _SLOT.sub(lambda slot: f"{{?{slot[1]}Words}}", shape.message)
    yield Triple(query, _sh("message"), Literal(message, language="en"))
    yield Triple(query, _sh("select"), Literal(_in_words(shape)))


def _in_words(shape: Shape) -> str:
    """The query of a shape with words for what its message names, and no row twice."""
    slots = list(dict.fromkeys(_SLOT.findall(shape.message)))
    columns = " ".join(["?value", *(f"?{slot}Words" for slot in slots)])
    body, _, _ = shape.query.rpartition("}")
    head, _, rest = body.partition("{")
    head = _COLUMNS.sub(f"{columns} WHERE", head.replace("SELECT", "SELECT DISTINCT", 1))
    return "\n".join((f"{head}{{{rest.rstrip()}", *map(_words, slots), "}"))


def _words(slot: str) -> str:
    # an unbound variable must not range over everything that has words
    return (
        f"    BIND (COALESCE(?{slot}, rdf:nil) AS ?{slot}Node)\n"
        f"    OPTIONAL {{ ?{slot}Node oq:inWords ?{slot}Named }}\n"
        f'    BIND (COALESCE(?{slot}Named, STR(?{slot}), "?") AS ?{slot}Words)'
    )


def _sh(name: str) -> NamedNode:
    return NamedNode(SH + name)
