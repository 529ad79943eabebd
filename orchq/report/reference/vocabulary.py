"""The entries of the vocabulary page: what a term means, what it leads to, what uses it."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path

from msgspec import Struct
from pyoxigraph import BlankNode, Literal, NamedNode, Quad

from orchq.knowledge.deprecation import deprecated_terms
from orchq.knowledge.languages import translations
from orchq.knowledge.store import read_triples
from orchq.lint.releases import releases, short_name
from orchq.questions import Graph, catalogue
from orchq.report.reference.term_links import Link, TermLinks
from orchq.report.reference.term_uses import TermUse, TermUses, asked_of, terms_in
from orchq.report.wording import one_line
from orchq.rules.checking import rules_of
from orchq.terms import OQ, OWL, RDF_TYPE, RDFS, SKOS

ONTOLOGY = NamedNode(f"{OWL}Ontology")
"""The class of the head of a file."""

_KINDS = {
    f"{OWL}Class": "class",
    f"{OWL}ObjectProperty": "property",
    f"{OWL}DatatypeProperty": "property",
    f"{OWL}AnnotationProperty": "property",
}
_NOTES = (f"{SKOS}scopeNote", f"{SKOS}note")
_IN_WORDS = (f"{SKOS}prefLabel", f"{SKOS}definition", *_NOTES, f"{OQ}statement", f"{SKOS}example")
_FORMS = ("hasForm", "hasAbbreviation", "hasPlural")
_ABOUT = {
    "limits": "limitsTechnique",
    "limits of it": "onInstrument",
    "limits for it": "forRole",
    "notes": "about",
    "says": "accordingTo",
}
"""Lines about the statements on a thing, each with the property that leads to it."""

_TYPE, _SAME = RDF_TYPE.value, f"{OWL}equivalentClass"
_MOST_LINKS = 24
"""Things that one line of an entry names before it counts the rest."""


class EntryLine(Struct, frozen=True):
    """One line of an entry; ``more`` counts the links that are left out."""

    head: str
    links: tuple[Link, ...]
    more: int = 0


class Translation(Struct, frozen=True):
    """A term in another language: the code of the language, label and definition."""

    language: str
    label: str
    definition: str


class TermEntry(Struct, frozen=True):
    """A term as the page describes it."""

    anchor: str
    iri: str
    name: str
    label: str
    kind: str
    definition: str
    notes: tuple[str, ...]
    lines: tuple[EntryLine, ...]
    example: TermUse | None
    since: str
    instead: EntryLine | None
    translations: tuple[Translation, ...]


class Module(Struct, frozen=True):
    """The entries of one file of the ontology."""

    anchor: str
    label: str
    entries: tuple[TermEntry, ...]

    @property
    def defines(self) -> bool:
        """Whether classes or properties are among them, and not things alone."""
        return any(entry.kind != "thing" for entry in self.entries)


class Vocabulary:
    """Makes entries; every file is a module."""

    def __init__(self, graph: Graph, names: TermLinks) -> None:
        self._graph = graph
        self._names = names
        self._examples = TermUses(graph, names)
        self._deprecated = deprecated_terms(graph.quads)
        self._rows: dict[str, list[Quad]] = defaultdict(list)
        self._inverse: dict[tuple[str, str], list[str]] = defaultdict(list)
        for quad in graph.quads:
            if isinstance(quad.subject, NamedNode):
                self._rows[quad.subject.value].append(quad)
                if isinstance(quad.object, NamedNode):
                    key = (quad.predicate.value, quad.object.value)
                    self._inverse[key].append(quad.subject.value)
        self._translated: dict[str, dict[str, dict[str, str]]] = {}
        for quad in translations():
            if isinstance(quad.subject, NamedNode) and isinstance(quad.object, Literal):
                of_term = self._translated.setdefault(quad.subject.value, {})
                texts = of_term.setdefault(quad.object.language or "", {})
                texts[quad.predicate.value] = quad.object.value
        self._asked_by: dict[str, list[Link]] = defaultdict(list)
        infos, shapes = rules_of(graph)
        for info in infos:
            asked = {
                iri for each in shapes if each.rule_slug == info.slug for iri in asked_of(each)
            }
            for iri in (*sorted(asked), *info.remedies):
                self._asked_by[iri].append(names.link(info.iri, info.slug))
        self._questions: dict[str, list[Link]] = defaultdict(list)
        for question in catalogue():
            for iri in sorted(terms_in(question.query)):
                self._questions[iri].append(Link(f"orchq ask {question.name}"))

    def module(self, path: Path, page: str) -> Module:
        """What one file describes, as far as it belongs on a page, in the order of the file."""
        types = [
            (quad.subject.value, quad.object)
            for quad in read_triples(path)
            if quad.predicate == RDF_TYPE and isinstance(quad.subject, NamedNode)
        ]
        head = next((iri for iri, kind in types if kind == ONTOLOGY), "")
        label = self._text(head, f"{RDFS}label").removeprefix("orchq: ") or path.stem
        described = dict.fromkeys(iri for iri, kind in types if kind != ONTOLOGY)
        entries = [self._entry(iri) for iri in described if self._names.page(iri) == page]
        return Module(f"module-{path.stem}", one_line(label), tuple(entries))

    def _entry(self, iri: str) -> TermEntry:
        types = self._values(iri, _TYPE)
        kind = next((_KINDS[each] for each in types if each in _KINDS), "thing")
        lines = {"class": self._of_class, "property": self._of_property, "thing": self._of_thing}
        forms = [form for name in _FORMS for form in self._values(iri, OQ + name)]
        return TermEntry(
            anchor=self._names.anchor(iri),
            iri=iri,
            name=self._names.short(iri),
            label=one_line(self._text(iri, f"{SKOS}prefLabel") or ", ".join(forms)),
            kind=kind,
            definition=one_line(
                self._text(iri, f"{SKOS}definition") or self._text(iri, f"{OQ}statement"), 2000
            ),
            notes=tuple(
                one_line(note, 2000) for name in _NOTES for note in self._values(iri, name)
            ),
            lines=tuple(
                line
                for head, links in (*lines[kind](iri), *self._used(iri))
                if (line := _line(head, links)).links
            ),
            example=self._example(iri, kind),
            since=self._since(iri),
            instead=self._instead(iri),
            translations=tuple(
                Translation(
                    language,
                    one_line(texts[f"{RDFS}label"]),
                    one_line(texts[f"{SKOS}definition"], 2000),
                )
                for language, texts in sorted(self._translated.get(iri, {}).items())
            ),
        )

    def _of_class(self, iri: str) -> Iterator[tuple[str, Iterable[Link]]]:
        yield "kind of", self._to(iri, f"{RDFS}subClassOf")
        yield "the same as", [Link(self._definition(q.object)) for q in self._row(iri, _SAME)]
        yield "kinds", self._from(f"{RDFS}subClassOf", iri)
        yield "can have", self._from(f"{RDFS}domain", iri)
        yield "reached by", self._from(f"{RDFS}range", iri)
        yield "members", self._from(_TYPE, iri)

    def _of_property(self, iri: str) -> Iterator[tuple[str, Iterable[Link]]]:
        yield "leads from", self._to(iri, f"{RDFS}domain")
        yield "leads to", self._to(iri, f"{RDFS}range")
        yield "special case of", self._to(iri, f"{RDFS}subPropertyOf")
        yield "special cases", self._from(f"{RDFS}subPropertyOf", iri)
        if f"{OWL}SymmetricProperty" in self._values(iri, _TYPE):
            yield "holds", [Link("both ways")]

    def _of_thing(self, iri: str) -> Iterator[tuple[str, Iterable[Link]]]:
        yield "is a", self._to(iri, _TYPE)
        values: dict[str, list[Link]] = defaultdict(list)
        for quad in self._rows[iri]:
            name = quad.predicate.value
            if name != _TYPE and name not in _IN_WORDS and not isinstance(quad.object, BlankNode):
                values[name].append(self._names.shown(quad.object))
        yield from ((self._names.link(name).text, dict.fromkeys(values[name])) for name in values)
        yield "printed as", self._words(iri)
        for head, name in _ABOUT.items():
            yield head, self._from(OQ + name, iri)

    def _words(self, iri: str) -> Iterator[Link]:
        """The words that print a thing, the first form of each language."""
        for term in self._inverse[f"{OQ}names", iri]:
            forms = [
                quad.object
                for name in _FORMS
                for quad in self._row(term, OQ + name)
                if isinstance(quad.object, Literal)
            ]
            if forms:
                yield self._names.link(term, f"{forms[0].value} ({forms[0].language})")

    def _used(self, iri: str) -> Iterator[tuple[str, Iterable[Link]]]:
        yield "rules that use it", self._asked_by[iri]
        yield "questions that use it", self._questions[iri]

    def _example(self, iri: str, kind: str) -> TermUse | None:
        if given := self._text(iri, f"{SKOS}example"):
            return TermUse("\n".join(map(_line_of, given.splitlines())), "")
        below = self._below(iri, f"{RDFS}{'subClassOf' if kind == 'class' else 'subPropertyOf'}")
        if kind == "class":
            return self._examples.of_class(iri, below)
        return self._examples.of_property(iri, below) if kind == "property" else None

    def _since(self, iri: str) -> str:
        name = short_name(iri)
        return next((version for version, terms in releases().items() if name in terms), "")

    def _instead(self, iri: str) -> EntryLine | None:
        """What to write in place of a deprecated term; ``None`` for one in use."""
        if iri not in self._deprecated:
            return None
        return EntryLine("deprecated", self._names.links(self._deprecated[iri]))

    # ------------------------------------------------------------------ looking up

    def _row(self, iri: str, predicate: str) -> Iterator[Quad]:
        return (quad for quad in self._rows[iri] if quad.predicate.value == predicate)

    def _values(self, iri: str, predicate: str) -> list[str]:
        return [str(getattr(q.object, "value", "")) for q in self._row(iri, predicate)]

    def _text(self, iri: str, predicate: str) -> str:
        return next(iter(self._values(iri, predicate)), "")

    def _to(self, iri: str, predicate: str) -> tuple[Link, ...]:
        found = (q.object for q in self._row(iri, predicate))
        return self._names.links(node.value for node in found if isinstance(node, NamedNode))

    def _from(self, predicate: str, iri: str) -> tuple[Link, ...]:
        return self._names.links(self._inverse[predicate, iri])

    def _below(self, iri: str, predicate: str) -> list[str]:
        """Everything below a class or property, the nearest first."""
        found = list(self._inverse[predicate, iri])
        for each in found:
            found += (other for other in self._inverse[predicate, each] if other not in found)
        return found

    def _definition(self, node: object) -> str:
        """The restriction that defines a class, in words."""
        row = {
            quad.predicate.value: quad.object for quad in self._graph.quads if quad.subject == node
        }
        link, some = row.get(f"{OWL}onProperty"), row.get(f"{OWL}someValuesFrom")
        if not isinstance(link, NamedNode):
            return ""
        what = (
            self._names.link(some.value).text
            if isinstance(some, NamedNode)
            else f"something that {self._definition(some)}"
        )
        return f"{self._names.link(link.value).text}: {what}"


def _line(head: str, links: Iterable[Link]) -> EntryLine:
    every = tuple(links)
    kept = _MOST_LINKS if len(every) > _MOST_LINKS + 1 else len(every)
    return EntryLine(head, every[:kept], len(every) - kept)


def _line_of(text: str) -> str:
    """A line of an example, safe to show, with its indent."""
    return " " * (len(text) - len(text.lstrip(" "))) + one_line(text)
