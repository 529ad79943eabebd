"""Checks a score: derived facts, rules, findings."""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import islice
from pathlib import Path
from time import perf_counter

from msgspec import Struct
from msgspec.structs import replace
from pyoxigraph import NamedNode, Quad, Store

from orchq.derive.circumstances import level_of_players
from orchq.derive.derivation import Derivation, Derived, derive
from orchq.errors import OrchqError
from orchq.evidence import Evidence, evidence_of, witnesses
from orchq.excerpt import score_quads
from orchq.knowledge import Knowledge, Limit
from orchq.knowledge.data_files import data_directory, rule_files, turtle_files
from orchq.rules.accepting import accept_in_excerpt
from orchq.rules.catalogue import RuleInfo, Shape, load_rules
from orchq.rules.engine import ResultRow, predicates_asked, run_fast, run_pyshacl
from orchq.rules.finding import FileReport, Finding, PartReport, Seconds, ValidationResult
from orchq.rules.node_names import NodeNames
from orchq.rules.own_rules import run_own, with_own
from orchq.score import Part, Score
from orchq.severity import rank
from orchq.terms import local_name

ENGINES = ("fast", "pyshacl")
"""The engines that can run the rules; the second is the reference."""

_AT_ONCE = 5_000  # triples
_SLOT = re.compile(r"\{[?$](value|other|limit)\}")


def prefix_file() -> Path:
    """The Turtle file that declares the prefixes of the rules' queries."""
    return data_directory("shapes") / "prefixes.ttl"


def structure_files() -> tuple[Path, ...]:
    """The Turtle files of the shapes that an excerpt must conform to."""
    return tuple(turtle_files(data_directory("shapes") / "structure"))


@lru_cache(maxsize=4)
def rules_of(knowledge: Knowledge) -> tuple[tuple[RuleInfo, ...], tuple[Shape, ...]]:
    """Return the rules with their shapes, sources named by the graph's labels.

    Raises ``OrchqError`` naming file, line and rule for a broken rule of an extension.
    """
    core = load_rules(rule_files(), knowledge.label)
    if not any(extension.rules for extension in knowledge.extensions):
        return core
    return with_own(core, knowledge)


def check_score(
    score: Score,
    knowledge: Knowledge,
    *,
    file: str,
    asserted: Sequence[Quad] | None = None,
    level: str | None = None,
    trust: str | None = None,
    rules: Collection[str] | None = None,
    engine: str = "fast",
    read_seconds: float = 0.0,
    derivation: Derivation | None = None,
) -> FileReport:
    """Check a score; ``asserted`` are its triples where it was read from some.

    ``derivation`` is what was derived from it for this level and trust, if it was already.

    ``level`` and ``trust`` are IRIs of the graph; ``rules`` are slugs, all when ``None``.
    Raises ``OrchqError`` for an unknown rule or engine.
    """
    if derivation is None:
        derivation = derive(score, knowledge, level=level, trust=trust)
    started = perf_counter()
    infos, shapes = rules_of(knowledge)
    by_slug = {info.slug: info for info in infos}
    if rules is not None:
        unknown = sorted(set(rules) - set(by_slug))
        if unknown:
            raise OrchqError(f"there is no rule called {unknown[0]!r}")
        shapes = tuple(shape for shape in shapes if shape.rule_slug in rules)
    if engine not in ENGINES:
        raise OrchqError(f"there is no engine called {engine!r}")
    running = _Running(
        knowledge,
        by_slug,
        shapes=tuple(shape for shape in shapes if not shape.origin),
        own=tuple(shape for shape in shapes if shape.origin),
        engine=engine,
    )
    derived_before = derivation.seconds
    # An untrusted query may join any parts, and an excerpt is small.
    if running.own or asserted is not None or engine != "fast":
        findings = running.findings(score, derivation.whole, asserted)
    else:
        findings = []
        for derived in derivation.by_parts():
            some = replace(score, parts=tuple(derived.parts))
            findings += running.findings(some, derived)
    findings.sort(key=_in_score_order)
    finished = perf_counter() - (derivation.seconds - derived_before)
    report = FileReport(
        file=file,
        notes=sum(part.note_count for part in score.parts if part.instrument is not None),
        parts=tuple(_part_report(part, knowledge, level) for part in score.parts),
        findings=tuple(findings),
        seconds=Seconds(read_seconds, derivation.seconds, finished - started),
        remarks=score.remarks,
        heading=score.heading,
    )
    if not score.acceptances:
        return report
    ran = {shape.rule_slug for shape in shapes}
    return accept_in_excerpt(report, score.acceptances, ran)


class _Running(Struct, frozen=True):
    """Rules to run: ``shapes`` are those of the core, ``own`` those of extensions."""

    knowledge: Knowledge
    infos: Mapping[str, RuleInfo]
    shapes: tuple[Shape, ...]
    own: tuple[Shape, ...]
    engine: str

    def findings(
        self, score: Score, derived: Derived, asserted: Sequence[Quad] | None = None
    ) -> list[Finding]:
        """What the rules find in the parts that something was derived from, in any order."""
        return _Findings(self.knowledge, derived, self.infos).collect(
            self._rows(score, derived, asserted)
        )

    def _rows(
        self, score: Score, derived: Derived, asserted: Sequence[Quad] | None
    ) -> Iterator[ResultRow]:
        asked = predicates_asked(self.shapes) if self.engine == "fast" else None
        stated: Iterable[Quad] = asserted or ()
        if asserted is None:
            stated = score_quads(score, None if self.own else asked)
            stated = tuple(stated) if self.own else stated
        store = Store()
        store.bulk_extend(_asked_of(self.knowledge, asked))
        store.bulk_extend(q for q in stated if asked is None or q.predicate in asked)
        # Nearly all are asked for: looking costs more. The store copies what it is given at once.
        quads = iter(derived.quads)
        while some := tuple(islice(quads, _AT_ONCE)):
            store.bulk_extend(some)
        if self.engine == "fast":
            yield from run_fast(store, self.shapes)
        else:
            slugs = {shape.rule_slug for shape in self.shapes}
            files = (file for file in rule_files() if file.stem in slugs)
            yield from run_pyshacl(store, self.shapes, (prefix_file(), *files))
        if self.own:
            # Such a query may also touch anything, so nothing is left out.
            everything = (*self.knowledge.quads, *stated, *derived.quads)
            prefixes = prefix_file().read_text(encoding="utf-8")
            extensions = self.knowledge.extensions
            yield from run_own(self.own, extensions, store, everything, self.engine, prefixes)


@lru_cache(maxsize=4)
def _asked_of(knowledge: Knowledge, asked: frozenset[NamedNode] | None) -> tuple[Quad, ...]:
    """The triples of the graph whose predicates are asked for; all when ``None``."""
    return tuple(quad for quad in knowledge.quads if asked is None or quad.predicate in asked)


def _in_score_order(finding: Finding) -> tuple[object, ...]:
    return (
        finding.part_index,
        finding.measure_index,
        finding.beat,
        -rank(finding.severity),
        finding.rule,
        finding.event,
    )


def _part_report(part: Part, knowledge: Knowledge, level: str | None) -> PartReport:
    instrument = knowledge.instruments.get(part.instrument or "")
    return PartReport(
        name=part.name,
        id=part.id,
        index=part.index,
        instrument=instrument.slug if instrument else None,
        checked=instrument is not None,
        notes=part.note_count,
        level=local_name(level or level_of_players(several=part.section)) if instrument else "",
        section=part.section,
    )


class _Findings:
    """Turns rows into findings: one for each event, rule and severity."""

    def __init__(
        self, knowledge: Knowledge, derived: Derived, rules: Mapping[str, RuleInfo]
    ) -> None:
        self._knowledge = knowledge
        self._derived = derived
        self._rules = rules
        self._limits = {limit.iri: limit for limit in knowledge.limits}
        self._words = NodeNames(knowledge, derived)

    def collect(self, rows: Iterable[ResultRow]) -> list[Finding]:
        grouped: dict[tuple[str, str, str], list[ResultRow]] = {}
        for row in rows:
            event = self._derived.first_events.get(row.focus, row.focus)
            if event in self._derived.places:
                key = (event, row.shape.rule_slug, row.shape.severity)
                grouped.setdefault(key, []).append(row)
        return [self._finding(event, same) for (event, _, _), same in grouped.items()]

    def _finding(self, event_iri: str, rows: list[ResultRow]) -> Finding:
        part, event = self._derived.places[event_iri]
        rows = sorted(rows, key=lambda row: (str(row.value), str(row.other), str(row.limit)))
        pitches = {note.iri: note.pitch.name for note in event.notes}
        self._words.call(pitches)
        concerned = [
            pitches[row.value.value]
            for row in rows
            if isinstance(row.value, NamedNode) and row.value.value in pitches
        ]
        shape = rows[0].shape
        messages = list(dict.fromkeys(self._message(row) for row in rows))
        message = "; ".join(messages)
        return Finding(
            rule=shape.rule_slug,
            severity=shape.severity,
            part=part.name,
            part_id=part.id,
            part_index=part.index,
            measure=event.measure_number,
            measure_index=event.measure_index,
            beat=round(float(event.beat), 6),
            notes=tuple(dict.fromkeys(concerned)) or tuple(pitches.values()),
            event=event.iri,
            message=message,
            evidence=self._evidence(rows),
            line=event.line,
            results=tuple(
                {
                    (row.focus, row.shape.iri): ValidationResult(
                        row.focus, row.shape.iri, self._message(row)
                    )
                    for row in rows
                }.values()
            ),
            cause=message if shape.severity == "violation" else self._cause(rows, pitches),
        )

    @staticmethod
    def _cause(rows: Iterable[ResultRow], pitches: Mapping[str, str]) -> str:
        """What the rows are about, such as a technique or a dynamic, whatever the notes are."""
        terms = (term for row in rows for term in (row.value, row.other))
        named = {t.value for t in terms if isinstance(t, NamedNode) and t.value not in pitches}
        return " ".join(sorted(named))

    def _message(self, row: ResultRow) -> str:
        columns = {"value": row.value, "other": row.other, "limit": row.limit}
        return _SLOT.sub(lambda slot: self._words.of(columns[slot[1]]), row.shape.message)

    # ------------------------------------------------------------ who says so

    def _evidence(self, rows: list[ResultRow]) -> tuple[Evidence, ...]:
        """Who opposes and who permits, the best witness first, or the rule's own ground."""
        limits = dict.fromkeys(
            limit.iri
            for row in rows
            if row.limit is not None
            for limit in self._witnesses(row.limit)
        )
        if limits:
            return tuple(evidence_of(self._limits[iri]) for iri in limits)
        return self._rules[rows[0].shape.rule_slug].evidence

    def _witnesses(self, node: str) -> Sequence[Limit]:
        """The limits that a node stands for: one limit, or those of a weighing."""
        if node in self._derived.weighed:
            return witnesses(self._derived.weighed[node][1])
        return [self._limits[node]] if node in self._limits else []
