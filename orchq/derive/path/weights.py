"""The graph's weights for the costs of the left hand's path."""

from collections.abc import Iterator
from functools import lru_cache

from pyoxigraph import Literal, NamedNode

from orchq.derive.path.search import Weights
from orchq.errors import OrchqError
from orchq.knowledge import Instrument, Knowledge
from orchq.terms import OQ, local_name, oq

_WEIGHS, _COST = oq("weighs"), oq("weighsCost")
_INSTRUMENT = oq("weighsOn")
_CREDIT, _TEMPO, _REPEATED = oq("consensusCredit"), oq("assumedTempo"), oq("repeatedShare")
_COST_PREFIX, _WEIGHT_PREFIX = "path-cost-", "path-weight-"


@lru_cache(64)
def path_weights(knowledge: Knowledge, instrument: Instrument) -> Weights:
    """Return the weights of the costs of a path on an instrument.

    A weight for the instrument overrides the general one. Raises ``OrchqError`` when the graph
    has none.
    """
    rows: dict[str, dict[NamedNode, str]] = {}
    for quad in knowledge.quads:
        if quad.predicate in {_WEIGHS, _COST, _INSTRUMENT, _CREDIT, _TEMPO, _REPEATED}:
            subject, value = quad.subject, quad.object
            if isinstance(subject, NamedNode) and isinstance(value, NamedNode | Literal):
                rows.setdefault(subject.value, {})[quad.predicate] = value.value
    terms: dict[str, tuple[int, float]] = {}
    for row in rows.values():
        rank = _rank(row, instrument)
        if _COST in row and _WEIGHS in row and rank is not None:
            name = term_name(row[_COST])
            if name not in terms or terms[name][0] < rank:
                terms[name] = rank, float(row[_WEIGHS])
    if not terms:
        raise OrchqError("the graph has no weights for the path of the left hand")
    return Weights(
        tuple(sorted((name, weight) for name, (_, weight) in terms.items())),
        consensus=max(_numbers(rows, _CREDIT), default=0.0),
        assumed_tempo=max(_numbers(rows, _TEMPO)),
        repeated=max(_numbers(rows, _REPEATED), default=1.0),
    )


def cost_iri(name: str) -> str:
    """The IRI of a cost of the path by its name."""
    return OQ + _COST_PREFIX + name


def weight_iri(name: str) -> str:
    """The IRI of the weight of a cost on instruments that have none of their own."""
    return OQ + _WEIGHT_PREFIX + name


def term_name(iri: str) -> str:
    """The name of a cost by its IRI."""
    return local_name(iri).removeprefix(_COST_PREFIX)


def _rank(row: dict[NamedNode, str], instrument: Instrument) -> int | None:
    """How specific a weight is; ``None`` where it applies to another instrument."""
    if _INSTRUMENT in row:
        return 1 if row[_INSTRUMENT] == instrument.iri else None
    return 0


def _numbers(rows: dict[str, dict[NamedNode, str]], name: NamedNode) -> Iterator[float]:
    return (float(row[name]) for row in rows.values() if name in row)
