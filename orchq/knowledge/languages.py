"""What exports and pages say in other languages: translations, and the words that scores print."""

from collections.abc import Iterable, Iterator
from functools import lru_cache

from pyoxigraph import Literal, NamedNode, Quad

from orchq.knowledge.data_files import translation_files
from orchq.knowledge.store import read_triples
from orchq.terms import OQ, RDFS, SKOS

_NAMES = NamedNode(OQ + "names")
_FORMS = frozenset(NamedNode(OQ + name) for name in ("hasForm", "hasPlural", "hasAbbreviation"))
_LABEL, _DEFINITION = NamedNode(RDFS + "label"), NamedNode(SKOS + "definition")
_PREFERRED, _OTHER = NamedNode(SKOS + "prefLabel"), NamedNode(SKOS + "altLabel")


@lru_cache(maxsize=1)
def translations() -> tuple[Quad, ...]:
    """Return the translated labels and definitions: of terms, techniques and instruments.

    They are ours and have no source; the English ones decide. The heads of the files are left out.
    """
    return tuple(
        quad
        for file in translation_files()
        for quad in read_triples(file)
        if quad.predicate in (_LABEL, _DEFINITION)
        and isinstance(quad.object, Literal)
        and quad.object.language == file.stem
    )


def in_every_language(quads: Iterable[Quad]) -> list[Quad]:
    """Return ``quads`` with the translations of what they describe, and printed words as labels.

    The words that terms list for a directive or an instrument become its ``skos:altLabel``, so that
    programs find what is printed without knowing the vocabulary of the graph.
    """
    given = list(quads)
    described = {quad.subject for quad in given}
    translated = (quad for quad in translations() if quad.subject in described)
    return [*given, *translated, *_printed(given)]


def _printed(quads: list[Quad]) -> Iterator[Quad]:
    named = {
        quad.subject: quad.object
        for quad in quads
        if quad.predicate == _NAMES and isinstance(quad.object, NamedNode)
    }
    preferred = {(quad.subject, quad.object) for quad in quads if quad.predicate == _PREFERRED}
    for quad in quads:
        thing = named.get(quad.subject) if quad.predicate in _FORMS else None
        if thing is not None and (thing, quad.object) not in preferred:
            yield Quad(thing, _OTHER, quad.object)
