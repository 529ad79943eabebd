"""How things are called on the pages, and where each is described.

A term of the core is described at the anchor that is its local name; which page that is follows
from the name alone, so that a redirect from its IRI needs no list.
"""

import re
from collections.abc import Iterable, Mapping
from urllib.parse import quote

from msgspec import Struct
from pyoxigraph import BlankNode, Literal, NamedNode, Triple

from orchq.knowledge import Knowledge
from orchq.report.wording import one_line
from orchq.terms import OQ, PREFIXES, XSD, local_name, slug_of

PAGES = (
    ("rule/", "rules"),
    ("limit-", "limits"),
    ("note-", "limits"),
    ("term-", "glossary"),
    ("", "vocabulary"),
)
"""The page of a term of the core by how its local name begins; the first that fits."""

_BARE = frozenset(XSD + name for name in ("integer", "decimal", "boolean"))
_LOCAL = re.compile(r"[\w-]+")
_NAME = re.compile(r"(?:rule/)?[\w-]+")


class Link(Struct, frozen=True):
    """A text that leads somewhere, or nowhere where ``href`` is empty."""

    text: str
    href: str = ""


class TermLinks:
    """The names and places of terms; ``own`` maps IRIs of extensions to the page of each."""

    def __init__(self, graph: Knowledge, own: Mapping[str, str]) -> None:
        self._graph = graph
        self._own = own
        self._bases: dict[str, str] = {}
        for iri, page in own.items():
            self._bases.setdefault(_base(iri), page)

    def page(self, iri: str) -> str:
        """The name of the page that describes a term, or nothing."""
        if iri in self._own:
            return self._own[iri]
        local = local_name(iri)
        if not iri.startswith(OQ) or not _NAME.fullmatch(local):
            return ""
        return next(page for start, page in PAGES if local.startswith(start))

    def anchor(self, iri: str) -> str:
        """The anchor of a term on its page: the local name."""
        return slug_of(iri)

    def link(self, iri: str, text: str = "") -> Link:
        """A link to a term, called by its label."""
        page = self.page(iri)
        shown = text or (self._graph.label(iri) if page else self.short(iri))
        if page:
            return Link(one_line(shown), f"{quote(page)}.html#{self.anchor(iri)}")
        return Link(one_line(shown), iri if iri.startswith(("http://", "https://")) else "")

    def links(self, iris: Iterable[str]) -> tuple[Link, ...]:
        """Links to terms, each called by its label."""
        return tuple(map(self.link, iris))

    def short(self, iri: str) -> str:
        """A name as Turtle writes it with the project's prefixes, or the IRI in brackets."""
        base = _base(iri)
        local = iri[len(base) :]
        if base == f"{OQ}rule/":
            return f"rule:{local}"
        for prefix, namespace in PREFIXES.items():
            if base == namespace and _LOCAL.fullmatch(local):
                return f"{prefix}:{local}"
        if base in self._bases and _LOCAL.fullmatch(local):
            return f"my:{local}"
        of_score = base.startswith(("ni:", "tag:")) and ";" not in local
        return f"score:{local}" if of_score else f"<{iri}>"

    def value(self, node: NamedNode | BlankNode | Literal | Triple) -> str:
        """A value as Turtle writes it; without its datatype where the notation implies it."""
        if isinstance(node, NamedNode):
            return self.short(node.value)
        if isinstance(node, Literal) and node.datatype.value in _BARE:
            return node.value
        return one_line(str(node), 2000)

    def shown(self, node: NamedNode | BlankNode | Literal | Triple) -> Link:
        """A value for reading: a link to a thing, the words or the number of any other."""
        if isinstance(node, NamedNode):
            return self.link(node.value)
        return Link(one_line(str(getattr(node, "value", "")), 2000))


def _base(iri: str) -> str:
    return iri[: max(iri.rfind("/"), iri.rfind("#")) + 1]
