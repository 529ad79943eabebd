"""Lints the rules and questions of extensions."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from pyoxigraph import NamedNode, Quad

from orchq.errors import OrchqError
from orchq.knowledge import Knowledge
from orchq.knowledge.data_files import rule_files
from orchq.knowledge.extensions import Extension
from orchq.knowledge.line_numbers import Lines
from orchq.lint.faults import Fault
from orchq.questions.own_questions import own_questions
from orchq.rules.catalogue import SHAPE_PREFIXES, load_rules
from orchq.rules.own_rules import with_own
from orchq.sandbox.flaws import Flaw
from orchq.sandbox.screening import bare, plain
from orchq.terms import OQ, slug_of, undeclared

_TERM = re.compile(r"(?<![\w:?$-])oq:([\w-]+)")


def own_faults(
    extension: Extension, core: Sequence[Quad], facts: Mapping[Path, Sequence[Quad]]
) -> Iterator[Fault]:
    """Yield the faults of rules and questions, apart from those of the ``facts`` beside them."""
    if not extension.rules and not extension.questions:
        return
    knowledge = _with_facts(extension, core, facts)
    flaws: list[Flaw] = []
    if extension.rules:
        with_own(load_rules(rule_files(), knowledge.label), knowledge, flaws.append)
    own_questions(knowledge.extensions, flaws.append)
    for flaw in flaws:
        yield Fault(
            flaw.kind,
            flaw.severity,
            str(flaw.path),
            flaw.line,
            flaw.node,
            f"{slug_of(flaw.node)} {flaw.text}",
        )
    for path, quads in extension.rules.items():
        yield from undefined_terms(path, quads, knowledge.declared | {SHAPE_PREFIXES})
        for quad in quads:
            if quad.predicate.value.endswith("#select"):
                query = str(getattr(quad.object, "value", ""))
                yield from _undefined_in_query(path, query, knowledge.declared)
    for path, text in extension.questions.items():
        yield from _undefined_in_query(path, plain(text), knowledge.declared)


def _with_facts(
    extension: Extension, core: Sequence[Quad], facts: Mapping[Path, Sequence[Quad]]
) -> Knowledge:
    """The graph around rules and questions; without facts that are too broken for it."""
    try:
        return Knowledge([*core, *(q for quads in facts.values() for q in quads)], [extension])
    except (OrchqError, ValueError):
        return Knowledge(core, [extension])


def undefined_terms(path: Path, quads: Iterable[Quad], declared: frozenset[str]) -> Iterator[Fault]:
    """Yield names in the namespace of the core that nothing declares."""
    used = (
        node.value
        for quad in quads
        for node in (quad.subject, quad.predicate, quad.object)
        if isinstance(node, NamedNode) and node.value.startswith(OQ)
    )
    yield from _undefined(path, used, declared)


def _undefined_in_query(path: Path, query: str, declared: frozenset[str]) -> Iterator[Fault]:
    used = (OQ + name for name in _TERM.findall(bare(query)))
    yield from _undefined(path, used, declared)


def _undefined(path: Path, used: Iterable[str], declared: frozenset[str]) -> Iterator[Fault]:
    lines = Lines(path)
    for iri in dict.fromkeys(each for each in used if each not in declared):
        message = undeclared(iri, declared)
        yield Fault("undefined-term", "violation", str(path), lines.of_name(iri), iri, message)
