"""Which shipped extension an instrument is in that the graph does not know."""

from functools import cache

from pyoxigraph import Literal, Quad

from orchq.knowledge.data_files import shipped_extensions
from orchq.knowledge.lexicon import words_of
from orchq.knowledge.store import read_triples
from orchq.terms import RDF_TYPE, SKOS, oq

_FORMS = frozenset({oq("hasForm"), oq("hasPlural"), oq("hasAbbreviation")})


def shipped_with(name: str) -> str | None:
    """The name of the shipped extension in which an instrument is called so, if there is one.

    >>> shipped_with("Harfe"), shipped_with("harp"), shipped_with("kazoo")
    ('harp', 'harp', None)
    """
    words = [word for word in words_of(name) if not word.isdecimal()]
    return _extensions().get(tuple(words))


@cache
def _extensions() -> dict[tuple[str, ...], str]:
    found: dict[tuple[str, ...], str] = {}
    for extension, path in shipped_extensions().items():
        found[words_of(extension)] = extension
        for form in _instrument_names(read_triples(path)):
            found.setdefault(words_of(form), extension)
    return found


def shipped_label(extension: str) -> str:
    """What the instrument of a shipped extension is called.

    >>> shipped_label("viola-d-amore"), shipped_label("harp")
    ("viola d'amore", 'harp')
    """
    quads = read_triples(shipped_extensions()[extension])
    instruments = _instruments(quads)
    labels = (
        quad.object.value
        for quad in quads
        if quad.subject in instruments
        and quad.predicate.value == SKOS + "prefLabel"
        and isinstance(quad.object, Literal)
    )
    return next(labels, extension)


def _instruments(quads: list[Quad]) -> set[object]:
    return {
        quad.subject
        for quad in quads
        if quad.predicate == RDF_TYPE and quad.object == oq("Instrument")
    }


def _instrument_names(quads: list[Quad]) -> list[str]:
    """The printed forms of the instruments that some triples describe, with their labels."""
    instruments = _instruments(quads)
    terms = {
        quad.subject
        for quad in quads
        if quad.predicate == oq("names") and quad.object in instruments
    }
    return [
        quad.object.value
        for quad in quads
        if isinstance(quad.object, Literal)
        and (
            (quad.subject in terms and quad.predicate in _FORMS)
            or (quad.subject in instruments and quad.predicate.value == SKOS + "prefLabel")
        )
    ]
