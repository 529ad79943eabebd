"""Every rule against small excerpts on both sides of its boundary.

A fixture is an excerpt in Turtle that declares what the checker must say of it, in a vocabulary
of its own that is taken out before the check: ``exp:finding [ exp:event ... ; exp:rule "slug" ;
exp:severity "violation" ]``. Terms in the namespace ``made:`` come from ``knowledge.ttl``.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
from msgspec.structs import replace
from pyoxigraph import NamedNode, Quad, Store

from orchq.derive.derivation import Derivation, derive
from orchq.excerpt import check_terms, read_excerpt_quads, score_from_quads
from orchq.knowledge import Knowledge, load
from orchq.knowledge.data_files import rule_files
from orchq.rules.catalogue import RULE, Shape
from orchq.rules.checking import (
    check_score,
    prefix_file,
    rules_of,
    structure_files,
)
from orchq.rules.engine import predicates_asked, run_fast, run_pyshacl
from orchq.rules.structure import structure_faults
from orchq.score import Score

HERE = Path(__file__).parent
EXPECT = "https://example.org/expect#"
SCORE = "https://example.org/score#"
FIXTURES = sorted(HERE.glob("*/*.ttl"))
SLUGS = sorted(file.stem for file in rule_files())

Told = frozenset[tuple[str, str, str]]
"""What is said of an excerpt: (event, rule, severity)."""


@dataclass(frozen=True)
class Fixture:
    path: Path
    quads: tuple[Quad, ...]
    expected: Told

    @property
    def name(self) -> str:
        return f"{self.path.parent.name}/{self.path.stem}"


@cache
def knowledge() -> Knowledge:
    return load([HERE / "knowledge.ttl", "harp"])


@cache
def stated(asked: frozenset[NamedNode] | None) -> list[Quad]:
    return [quad for quad in knowledge().quads if asked is None or quad.predicate in asked]


def store_for(shapes: Sequence[Shape], *excerpts: Iterable[Quad]) -> Store:
    """Excerpts and the graph, without what the shapes do not ask: to fill a store takes long."""
    asked = predicates_asked(shapes)
    store = Store()
    for quads in (stated(asked), *excerpts):
        store.extend(quad for quad in quads if asked is None or quad.predicate in asked)
    return store


@cache
def fixture(path: Path) -> Fixture:
    """Read a fixture; its events are named after the file, so that fixtures can be joined."""
    quads, declared = [], defaultdict[str, dict[str, str]](dict)
    own = f"https://example.org/{path.parent.name}/{path.stem}#"
    for quad in read_excerpt_quads(path):
        moved = Quad(_moved(quad.subject, own), quad.predicate, _moved(quad.object, own))
        if moved.predicate.value.startswith(EXPECT):
            name = moved.predicate.value.removeprefix(EXPECT)
            declared[moved.subject.value][name] = moved.object.value
        else:
            quads.append(moved)
    findings = [row for row in declared.values() if "finding" not in row]
    expected = frozenset((row["event"], row["rule"], row["severity"]) for row in findings)
    return Fixture(path, tuple(quads), expected)


def _moved(node, own: str):
    if isinstance(node, NamedNode) and node.value.startswith(SCORE):
        return NamedNode(own + node.value.removeprefix(SCORE))
    return node


def of_rule(slug: str) -> list[Fixture]:
    return [fixture(path) for path in FIXTURES if path.parent.name == slug]


def told(score: Score, quads: Sequence[Quad], engine: str) -> Told:
    report = check_score(score, knowledge(), file="fixture", asserted=quads, engine=engine)
    return frozenset((f.event, f.rule, f.severity) for f in report.findings)


# ------------------------------------------------------------------ each fixture


@pytest.mark.parametrize("path", FIXTURES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_fixture_triggers_exactly_what_it_declares(path):
    case = fixture(path)
    score = score_from_quads(case.quads, path)
    assert told(score, case.quads, "fast") == case.expected


@pytest.mark.sampled(12)
@pytest.mark.parametrize("slug", SLUGS)
def test_reference_engine_agrees(slug):
    """On the shapes of the rule: pySHACL would run all others at every node of every fixture."""
    shapes = [shape for shape in rules_of(knowledge())[1] if shape.rule_slug == slug]
    files = [file for file in rule_files() if file.stem == slug]
    assert reported(slug, shapes, files) == {row for row in declared(slug) if row[1] == slug}


@pytest.mark.nightly
@pytest.mark.parametrize("slug", SLUGS)
def test_reference_engine_agrees_on_all_rules(slug):
    assert reported(slug, rules_of(knowledge())[1], rule_files()) == declared(slug)


def declared(slug: str) -> Told:
    return frozenset[tuple[str, str, str]]().union(*(case.expected for case in of_rule(slug)))


def reported(slug: str, shapes: Sequence[Shape], files: Sequence[Path]) -> Told:
    """What both engines report of all fixtures of a rule in one store, each derived by itself."""
    cases = derived(slug)
    store = store_for(shapes, *((*case.quads, *d.quads) for case, d in cases))
    events = {node: event for _, d in cases for node, event in d.first_events.items()}
    fast, reference = (
        frozenset((events.get(r.focus, r.focus), r.shape.rule_slug, r.shape.severity) for r in rows)
        for rows in (
            run_fast(store, shapes),
            run_pyshacl(store, shapes, (prefix_file(), *files)),
        )
    )
    assert fast == reference
    return reference


@pytest.mark.parametrize("slug", SLUGS)
def test_rule_has_fixtures_on_both_sides(slug):
    cases = of_rule(slug)
    assert any(not case.expected for case in cases)
    for case in cases:
        assert case.path.name.startswith("fail-" if case.expected else "pass-"), case.name
    fired = {s for case in cases for _, rule, s in case.expected if rule == slug}
    shapes = [shape for shape in rules_of(knowledge())[1] if shape.rule_slug == slug]
    assert fired == {shape.severity for shape in shapes}


def test_every_folder_of_fixtures_is_of_a_rule():
    assert {path.parent.name for path in FIXTURES} == set(SLUGS)


@pytest.mark.parametrize("slug", SLUGS)
def test_fixtures_are_well_formed_excerpts(slug):
    store = Store()
    store.extend(knowledge().quads)
    for case in of_rule(slug):
        check_terms(case.quads, knowledge().declared, case.path)
        store.extend(case.quads)
    # A fault names its node, and each node the file that it is of.
    assert list(structure_faults(store, structure_files())) == []


# --------------------------------------------------------------------- mutations

_COMPARISON = re.compile(r"(?<= )(<=|>=|!=|<|>|=)(?= )")
_NUMBER = re.compile(r"(?<![\w?#:/-])\d+(?![\w.])")
_TRUTH = re.compile(r"(?<= )(true|false)(?=[ .;])")
_FILTER = re.compile(r"FILTER\b")
_NEIGHBOURS = {
    "<": ("<=", ">="),
    "<=": ("<", ">"),
    ">": (">=", "<="),
    ">=": (">", "<"),
    "=": ("!=",),
    "!=": ("=",),
}

EQUIVALENT = {
    # (shape, what is changed): why no excerpt can tell
    ("artificial-harmonics-too-fast-warning", "<= -> <"): "the gravest zone has no end",
    ("artificial-harmonics-leap-too-quick-warning", "<= -> <"): "the gravest zone has no end",
    ("more-divisi-than-players-warning", "FILTER NOT EXISTS { ?part oq:isSection false } -> "): (
        "the third shape reports a part for one player; the filter spares it a second sentence"
    ),
    (
        "note-above-compass-violation",
        "FILTER NOT EXISTS { ?scope oq:scopeTechnique ?technique } -> ",
    ): ("limits of a single technique make no violation on this yardstick"),
    ("note-above-compass-warning", "> -> >="): "a warning begins between two semitones",
    ("note-above-technique-compass-warning", "> -> >="): "as above",
    ("note-needs-extension-info", "FILTER (?lowest <= ?midi) -> "): (
        "it chooses the stringing whose authority is named"
    ),
    ("note-needs-extension-info", "<= -> <"): "as above",
    ("note-needs-extension-info", "<= -> >"): "as above",
    ("open-string-mark-on-stopped-pitch-violation", "< -> <="): (
        "a note at the pitch of the lowest string is open and was let pass before"
    ),
    ("techniques-exclude-each-other-violation", "< -> <="): "no technique excludes itself",
}


def mutants(query: str) -> Iterator[tuple[str, str]]:
    """Yield a description and the query with one thing changed or left out."""
    for match in _COMPARISON.finditer(query):
        for other in _NEIGHBOURS[match[0]]:
            yield _change(query, match.start(), match.end(), other)
    for match in _NUMBER.finditer(query):
        for step in (-1, 1):
            yield _change(query, match.start(), match.end(), str(int(match[0]) + step))
    for match in _TRUTH.finditer(query):
        other = "false" if match[0] == "true" else "true"
        yield _change(query, match.start(), match.end(), other)
    for match in _FILTER.finditer(query):
        yield _change(query, match.start(), _end_of_filter(query, match.end()), "")


def _change(query: str, start: int, end: int, text: str) -> tuple[str, str]:
    return f"{' '.join(query[start:end].split())} -> {text}", query[:start] + text + query[end:]


def _end_of_filter(query: str, start: int) -> int:
    """The end of the bracketed expression or group that begins at or after ``start``."""
    depth = 0
    for place in range(start, len(query)):
        depth += (query[place] in "({") - (query[place] in ")}")
        if depth == 0 and query[place] in ")}":
            return place + 1
    raise AssertionError(query)


@cache
def derived(slug: str) -> tuple[tuple[Fixture, Derivation], ...]:
    return tuple(
        (case, derive(score_from_quads(case.quads, case.path), knowledge()))
        for case in of_rule(slug)
    )


Judged = Sequence[tuple[Fixture, Store, Derivation]]


def differs(slug: str, fixtures: Judged, shapes: Sequence[Shape]) -> bool:
    """Whether the rule with these shapes says anything else of some fixture of its own."""
    for case, store, derivation in fixtures:
        said = {
            (derivation.first_events.get(row.focus, row.focus), slug, row.shape.severity)
            for row in run_fast(store, shapes)
        }
        if said != {expected for expected in case.expected if expected[1] == slug}:
            return True
    return False


@pytest.mark.sampled(20)
@pytest.mark.parametrize("slug", SLUGS)
def test_every_part_of_a_rule_is_needed(slug):
    """Leaving out a shape or a filter, or moving a boundary, turns some fixture red."""
    shapes = [shape for shape in rules_of(knowledge())[1] if shape.rule_slug == slug]
    fixtures = [(case, store_for(shapes, case.quads, d.quads), d) for case, d in derived(slug)]
    assert not differs(slug, fixtures, shapes)
    survivors = set()
    for place, shape in enumerate(shapes):
        name = shape.iri.removeprefix(RULE)
        others = shapes[:place] + shapes[place + 1 :]
        if not differs(slug, fixtures, others):
            survivors.add((name, "the whole shape"))
        for change, query in mutants(shape.query):
            if not differs(slug, fixtures, [*others, replace(shape, query=query)]):
                survivors.add((name, change))
    assert survivors == {key for key in EQUIVALENT if key[0].startswith(f"{slug}-")}
