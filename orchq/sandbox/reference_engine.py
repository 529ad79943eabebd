"""The reference engine, pySHACL: which nodes violate which shapes."""

from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from orchq.errors import OrchqError
from orchq.terms import RDF, SH

Pairs = set[tuple[str, str]]
"""Focus nodes with the shapes that they violate, as IRIs."""

_ANY_NODE = f"<urn:x> <{RDF}type> <urn:c> ."
_ANY_SHAPE = f"""
<urn:s> a <{SH}NodeShape> ; <{SH}targetClass> <urn:c> ; <{SH}sparql> <urn:q> .
<urn:q> <{SH}message> "m" ; <{SH}select> "SELECT $this WHERE {{ $this a <urn:c> }}" .
"""


def validated(triples: str, shapes: str, others: Iterable[Any] = ()) -> Pairs:
    """Validate N-Triples against shapes in Turtle and in the files ``others``.

    Raises ``OrchqError`` when pySHACL itself fails, which it reports without raising.
    """
    import pyshacl  # noqa: PLC0415 - heavy, and needed for the reference engine only
    import rdflib  # noqa: PLC0415 - as above

    data = preparing_graph(triples)
    graph = rdflib.Graph()
    graph.parse(data=shapes, format="turtle")
    for file in others:
        graph.parse(file, format="turtle")
    conforms, results, text = pyshacl.validate(
        data, shacl_graph=graph, advanced=False, inplace=True
    )
    if not isinstance(results, rdflib.Graph):
        raise OrchqError(f"pySHACL could not run the shapes: {text.strip()}")
    sh = rdflib.Namespace(SH)
    pairs = {
        (str(results.value(result, sh.focusNode)), str(results.value(result, sh.sourceShape)))
        for result in results.subjects(rdflib.RDF.type, sh.ValidationResult)
    }
    assert bool(conforms) == (not pairs)
    return pairs


def preparing_graph(triples: str) -> Any:
    """Read N-Triples into an rdflib graph that parses the text of each query once.

    pySHACL passes the same text again at every focus node.
    """
    graph = _preparing()()
    graph.parse(data=triples, format="nt")
    return graph


@lru_cache(maxsize=1)
def _preparing() -> Any:
    import rdflib  # noqa: PLC0415 - as above

    class PreparingGraph(rdflib.Graph):
        def query(self, query_object: Any, *args: Any, **kwargs: Any) -> Any:
            if isinstance(query_object, str):
                query_object = _prepared(query_object)
            return super().query(query_object, *args, **kwargs)

    return PreparingGraph


def warmed_up() -> None:
    """Load what validation loads lazily, while files can still be opened."""
    assert validated(_ANY_NODE, _ANY_SHAPE)


@lru_cache(maxsize=256)
def _prepared(query: str) -> Any:
    from rdflib.plugins.sparql import prepareQuery  # noqa: PLC0415 - as above

    return prepareQuery(query)
