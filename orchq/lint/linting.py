"""Lints extensions against the core."""

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace
from pyoxigraph import BlankNode, NamedNode, Quad, Store

from orchq.errors import ReadError, nearest
from orchq.knowledge.deprecation import deprecated_terms, deprecation, renewed
from orchq.knowledge.extensions import (
    QUESTION_SUFFIX,
    Extension,
    describes_rules,
    extension_files,
    read_file,
)
from orchq.knowledge.facts import Facts
from orchq.knowledge.graph import read_graph
from orchq.knowledge.lexicon import words_of
from orchq.knowledge.line_numbers import Lines
from orchq.knowledge.overrides import overrides
from orchq.knowledge.store import TRIPLE_SUFFIXES
from orchq.lint.axiom_places import involved
from orchq.lint.axioms import short
from orchq.lint.faults import Fault
from orchq.lint.own_queries import own_faults, undefined_terms
from orchq.lint.reasoning import prove, why_impossible
from orchq.lint.shapes import Broken, broken_alone, broken_shapes, broken_together
from orchq.severity import rank
from orchq.terms import DCTERMS, OQ, OWL, SKOS, XSD

_DESCRIBED_ANEW = "core-term-described-anew"
"""The shape that keeps new names out of the namespace of the core."""

_ANNOTATION = NamedNode(f"{OWL}AnnotationProperty")
_FORMS = ("hasForm", "hasPlural", "hasAbbreviation")


class LintReport(Struct, frozen=True):
    """The faults of extension files, in the order of file and line.

    ``unread`` are files that could not be read, each with the reason in one sentence.
    """

    files: tuple[str, ...]
    faults: tuple[Fault, ...]
    unread: tuple[tuple[str, str], ...] = ()


def lint(paths: Sequence[Path | str], *, reason: bool = False) -> LintReport:
    """Check extensions, which may build on each other: folders, Turtle files and questions.

    With ``reason`` a reasoner for OWL 2 DL proves core and extensions consistent and their
    classes satisfiable. A file that cannot be read does not hide the faults of the others.
    Raises ``OrchqError`` when the reasoner is wanted and there is no Java.
    """
    read, unread = _read(paths)
    own, files = _sorted_out(read)
    linter = _Linter(files)
    faults = dict.fromkeys(linter.faults()) if files else {}
    faults |= dict.fromkeys(own_faults(own, _core(), files))
    if reason and (files or not paths):
        faults |= dict.fromkeys(linter.contradictions())
    return LintReport(tuple(map(str, read)), tuple(sorted(faults, key=_in_order)), tuple(unread))


def _in_order(fault: Fault) -> tuple[str, int, int, str, str]:
    gravity = -rank(fault.severity)
    return fault.file, fault.line or 0, gravity, fault.rule, fault.message


def _read(
    paths: Sequence[Path | str],
) -> tuple[dict[Path, list[Quad] | str], list[tuple[str, str]]]:
    """What files hold, and why others could not be read."""
    read: dict[Path, list[Quad] | str] = {}
    unread: list[tuple[str, str]] = []
    for path in map(Path, paths):
        try:
            listed = _files(path)
        except ReadError as error:
            unread.append((str(path), str(error)))
            continue
        for file in listed:
            try:
                read[file] = read_file(file)
            except ReadError as error:
                unread.append((str(file), str(error)))
    return read, unread


def _files(path: Path) -> list[Path]:
    if not path.is_dir() and path.suffix.lower() not in (*TRIPLE_SUFFIXES, QUESTION_SUFFIX):
        message = "an extension is a folder, a file of triples (.ttl) or a question (.rq)"
        raise ReadError(f"{path}: {message}")
    return extension_files(path)


def _sorted_out(
    read: Mapping[Path, list[Quad] | str],
) -> tuple[Extension, dict[Path, list[Quad]]]:
    """Rules and questions, and the triples of the files that go into the graph."""
    texts = {file: found for file, found in read.items() if isinstance(found, str)}
    triples = {file: found for file, found in read.items() if not isinstance(found, str)}
    rules = {file: tuple(quads) for file, quads in triples.items() if describes_rules(quads)}
    facts = {file: quads for file, quads in triples.items() if file not in rules}
    return Extension((), rules, texts), facts


@lru_cache(maxsize=1)
def _core() -> tuple[Quad, ...]:
    return tuple(read_graph())


class _Linter:
    def __init__(self, files: Mapping[Path, list[Quad]]) -> None:
        self._files = files
        self._core = _core()
        self._extension = [quad for quads in files.values() for quad in quads]
        self._all = [*self._core, *self._extension]
        self._facts = Facts(self._all)
        self._declared = self._facts.declared()
        self._lines = {path: Lines(path) for path in files}
        self._subjects = {_text(quad.subject) for quad in self._extension}

    def faults(self) -> Iterator[Fault]:
        """Yield the faults; shapes report nothing more about nodes that depend on a misspelling."""
        undefined = list(self._undefined())
        yield from undefined
        yield from self._undescribed()
        yield from self._deprecated()
        yield from self._foreign_properties()
        changed = list(self._changed_terms())
        yield from changed
        yield from self._clashing_forms()
        missing = {fault.subject for fault in undefined}
        reported = {(_DESCRIBED_ANEW, fault.subject) for fault in changed}
        store = Store()
        store.bulk_extend(self._all)
        seen: set[tuple[str, str, str]] = set()
        for broken in (
            *broken_alone(self._extension),
            *broken_together(store, self._named),
            *broken_shapes(self._core, self._extension),
        ):
            key = (broken.shape, broken.node, broken.value)
            unanswered = broken.value.startswith("TODO") and broken.shape != "question-left-open"
            if key in seen or unanswered or {broken.value, broken.path} & missing:
                continue
            if (broken.shape, broken.node) in reported:
                continue
            seen.add(key)
            if broken.node in self._subjects or self._mentions(broken.node):
                yield self._fault(broken)

    def contradictions(self) -> Iterator[Fault]:
        """Yield what the reasoner refutes: statements, and classes without a possible member."""
        proof = prove(self._core, self._extension)
        if proof.contradiction:
            first, *others = involved(proof.contradiction, self._files)
            words = f"{first.statement}: contradicts {len(others)} other statements"
            subject = _text(proof.contradiction[0].statement.subject)
            yield Fault(
                "contradiction", "violation", first.file, first.line, subject, words, tuple(others)
            )
        for iri in proof.unsatisfiable:
            why = involved(why_impossible(self._core, self._extension, iri), self._files)
            words = "nothing can belong to this class"
            fault = self._fault(Broken("unsatisfiable-class", "violation", iri, "", "", words))
            yield replace(fault, involved=why)

    def _named(self, iri: str) -> str:
        return iri.removeprefix(XSD) if iri.startswith(XSD) else self._facts.label(iri)

    def _mentions(self, node: str) -> bool:
        return any(_text(quad.object) == node for quad in self._extension) and not node.startswith(
            OQ + "ontology"
        )

    def _fault(self, broken: Broken) -> Fault:
        path = next(
            (
                path
                for path, quads in self._files.items()
                if any(_text(quad.subject) == broken.node for quad in quads)
            ),
            next(iter(self._files), None),
        )
        line = None
        if path is not None:
            lines = self._lines[path]
            line = lines.of_value(broken.node, broken.path or None, broken.value or None)
            line = line or lines.of_name(broken.node)
        message = broken.message
        if broken.path and not broken.path.startswith("_:") and broken.path.startswith("http"):
            message = f"{short(broken.path)}: {message}"
        return Fault(
            broken.shape,
            broken.severity,
            str(path or "ontology"),
            line,
            broken.node,
            f"{short(broken.node)}: {message}",
        )

    # ------------------------------------------------------- what no shape can check

    def _undefined(self) -> Iterator[Fault]:
        for path, quads in self._files.items():
            yield from undefined_terms(path, quads, self._declared)

    def _undescribed(self) -> Iterator[Fault]:
        """Names of the extension's own that are used and never described."""
        described = {s for s in self._subjects if not s.startswith(OQ)}
        bases = {_base(subject) for subject in described if not subject.startswith("_:")}
        for path, quads in self._files.items():
            used = dict.fromkeys(
                node.value
                for quad in quads
                for node in (quad.predicate, quad.object)
                if isinstance(node, NamedNode)
                and _base(node.value) in bases
                and node.value not in described
            )
            near = sorted(described)
            for iri in used:
                found = nearest(iri, near, 1, 0.8)
                hint = f"; did you mean {short(found[0])}?" if found else ""
                message = f"{short(iri)} is used but not described anywhere{hint}"
                line = self._lines[path].of_name(iri)
                yield Fault("undescribed-name", "violation", str(path), line, iri, message)

    def _deprecated(self) -> Iterator[Fault]:
        """Deprecated terms, whether of the core or of an extension, that are still written."""
        deprecated = deprecated_terms(self._all)
        for path, quads in self._files.items():
            for iri in renewed(quads, deprecated)[1]:
                message = deprecation(iri, deprecated)
                line = self._lines[path].of_name(iri)
                yield Fault("deprecated-term", "warning", str(path), line, iri, message)

    def _foreign_properties(self) -> Iterator[Fault]:
        """Properties of SKOS and Dublin Core that the core does not declare, misspelt as a rule."""
        known = {_text(quad.subject) for quad in self._core if quad.object == _ANNOTATION}
        for path, quads in self._files.items():
            used = dict.fromkeys(
                quad.predicate.value
                for quad in quads
                if quad.predicate.value.startswith((SKOS, DCTERMS))
                and quad.predicate.value not in known | self._subjects
            )
            for iri in used:
                base = _base(iri)
                near = nearest(iri, (each for each in known if each.startswith(base)), 1, 0.8)
                hint = f"; did you mean {short(near[0])}?" if near else ""
                message = f"{short(iri)} is not a property that the core declares{hint}"
                line = self._lines[path].of_name(iri)
                yield Fault("undefined-term", "violation", str(path), line, iri, message)

    def _changed_terms(self) -> Iterator[Fault]:
        """Statements about terms of the core that do not lead to something new."""
        described = {_text(quad.subject) for quad in self._core}
        for quad in overrides(self._core, self._extension):
            subject = _text(quad.subject)
            if subject not in described:  # reported as a term that is described anew
                continue
            message = "a term of the core may only be linked to what is new"
            yield self._fault(
                Broken(
                    "core-term-changed",
                    "violation",
                    subject,
                    quad.predicate.value,
                    _text(quad.object),
                    message,
                )
            )

    def _clashing_forms(self) -> Iterator[Fault]:
        """Printed forms that name another thing of the same sort already, as readers see them."""
        known: dict[tuple[bool, tuple[str, ...]], str] = {}
        for term in sorted(self._facts.members("Term"), key=lambda term: term in self._subjects):
            named = self._facts.one(term, "names") or ""
            instrument = named in set(self._facts.members("Instrument"))
            for form in (form for name in _FORMS for form in self._facts.objects(term, name)):
                other = known.setdefault((instrument, words_of(form)), named)
                if other != named and term in self._subjects:
                    message = f"the form {form!r} names {self._facts.label(other)} already"
                    yield self._fault(
                        Broken("form-of-another", "violation", term, "", form, message)
                    )


def _text(node: object) -> str:
    if isinstance(node, BlankNode):
        return f"_:{node.value}"
    return str(getattr(node, "value", node))


def _base(iri: str) -> str:
    return iri[: max(iri.rfind("/"), iri.rfind("#")) + 1]
