"""The rule catalogue with what the page adds: remedies, shapes, terms that are asked for."""

from msgspec import Struct

from orchq.questions import Graph
from orchq.report.reference.term_links import Link, TermLinks
from orchq.report.reference.term_uses import asked_of
from orchq.report.wording import attribution
from orchq.rules.catalogue import RuleInfo
from orchq.rules.checking import rules_of
from orchq.severity import Severity


class RuleEntry(Struct, frozen=True):
    """A rule as the page shows it; ``shapes`` are anchors with the severity of each."""

    info: RuleInfo
    shapes: tuple[tuple[str, Severity], ...]
    remedies: tuple[Link, ...]
    sources: tuple[str, ...]
    asks: tuple[Link, ...]


def rule_entries(graph: Graph, names: TermLinks) -> tuple[RuleEntry, ...]:
    """The rules in the order of their names."""
    infos, shapes = rules_of(graph)
    entries = []
    for info in infos:
        own = [shape for shape in shapes if shape.rule_slug == info.slug]
        entries.append(
            RuleEntry(
                info=info,
                shapes=tuple((names.anchor(shape.iri), shape.severity) for shape in own),
                remedies=names.links(info.remedies),
                sources=tuple(attribution(evidence, info.slug) for evidence in info.evidence),
                asks=names.links(sorted({iri for shape in own for iri in asked_of(shape)})),
            )
        )
    return tuple(entries)
