"""The formats that triples are written in."""

from collections.abc import Iterable, Mapping

from pyoxigraph import RdfFormat, Triple, serialize

from orchq.errors import known
from orchq.knowledge.jsonld import compacted

_FORMATS = {
    "turtle": RdfFormat.TURTLE,
    "nt": RdfFormat.N_TRIPLES,
    "jsonld": RdfFormat.JSON_LD,
    "owl": RdfFormat.RDF_XML,
}


def written(triples: Iterable[Triple], form: str, prefixes: Mapping[str, str]) -> str:
    """Return triples as text, in ``turtle``, ``nt``, compact ``jsonld`` or ``owl`` (RDF/XML).

    Raises ``OrchqError`` for another format.
    """
    asked = _FORMATS[known("format", form, _FORMATS)]
    if asked == RdfFormat.JSON_LD:
        return compacted(triples, prefixes)
    data = serialize(triples, format=asked, prefixes=dict(prefixes))
    assert data is not None
    return data.decode()
