"""The fast engine and pySHACL report the same on excerpts made at random."""

from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st
from pyoxigraph import Store

from orchq import load
from orchq.derive.derivation import derive
from orchq.excerpt import score_quads
from orchq.knowledge.data_files import rule_files
from orchq.notation import Pitch
from orchq.rules.checking import prefix_file, rules_of
from orchq.rules.engine import predicates_asked, run_fast, run_pyshacl
from orchq.score import Event, Hairpin, Mark, Note, Part, Score, Slur

KNOWLEDGE = load(["harp"])
SHAPES = rules_of(KNOWLEDGE)[1]
ASKED = predicates_asked(SHAPES)
GRAPH = [quad for quad in KNOWLEDGE.quads if quad.predicate in ASKED]
"""What rules ask of the graph: rdflib is slow to read all of it for every store."""
INSTRUMENTS = sorted(KNOWLEDGE.instruments)
TECHNIQUES = sorted(KNOWLEDGE.techniques)
DYNAMICS = sorted(KNOWLEDGE.dynamics)
DIRECTIVES = sorted(KNOWLEDGE.directives)
LENGTHS = [Fraction(0), Fraction(1, 8), Fraction(1, 2), Fraction(1), Fraction(4), Fraction(64)]
EXCERPTS, GRAPHS, LOTS = 25, 3, 5
"""Excerpts in one graph, graphs in one test, tests: 375 excerpts in all."""
FEW = 12
"""Excerpts in one graph that always runs: of two graphs, for the first drawn is the simplest."""


@st.composite
def _scores(draw: st.DrawFn, name: str) -> Score:
    base = f"tag:example.org,2026:{name}#"
    events = []
    onset = Fraction(0)
    count = draw(st.integers(1, 3))
    run = draw(st.sampled_from([0, 0, 0, 0, 0, 8]))
    for number in range(count + run):
        iri = f"{base}P1.e{number}"
        duration = draw(st.sampled_from(LENGTHS)) if number < count else Fraction(1, 8)
        notes = tuple(
            Note(
                iri=f"{iri}n{index}",
                pitch=Pitch.from_midi(draw(st.integers(20, 110))),
                string=draw(st.sampled_from([None, None, 1, 4])),
                role=draw(st.sampled_from([None, None, None, "touching", "sounding"])),
                tied_back=draw(st.booleans()) if number < count else False,
            )
            for index in range(draw(st.integers(1, 3)) if number < count else 1)
        )
        marks = draw(st.frozensets(st.sampled_from(TECHNIQUES), max_size=2))
        events.append(
            Event(iri, 0, "1", onset, onset, duration, notes, marks=marks, grace=duration == 0)
        )
        onset += duration or Fraction(1, 4)
    places = st.sampled_from([Fraction(0), *(event.onset for event in events)])
    marks = tuple(
        Mark(
            iri=f"{base}P1.m{number}",
            measure_index=0,
            measure_number="1",
            offset=place,
            onset=place,
            directives=(draw(st.sampled_from(draw(st.sampled_from([DIRECTIVES, DYNAMICS])))),),
            number=draw(st.sampled_from([None, 3, 20])),
            tempo=draw(st.sampled_from([None, None, Fraction(50), Fraction(200)])),
            retuned=draw(st.sampled_from([(), (), ((4, Pitch.parse("E2")),)])),
        )
        for number in range(draw(st.integers(0, 5)))
        for place in [draw(places)]
    )
    part = Part(
        iri=f"{base}P1",
        id="P1",
        index=0,
        name="random",
        instrument=draw(st.sampled_from(INSTRUMENTS)),
        section=draw(st.booleans()),
        players=draw(st.sampled_from([None, 1, 8])),
        events=tuple(events),
        marks=tuple(sorted(marks, key=lambda mark: mark.onset)),
        slurs=(Slur(f"{base}P1.s", events[0].iri, events[-1].iri),) if draw(st.booleans()) else (),
        hairpins=(Hairpin(f"{base}P1.h", draw(st.booleans()), events[0].onset, events[0].end),),
    )
    return Score(iri=base + "excerpt", title=name, parts=(part,))


def several(count: int) -> st.SearchStrategy[tuple[Score, ...]]:
    return st.tuples(*(_scores(f"x{number}") for number in range(count)))


def filled(scores: tuple[Score, ...]) -> Store:
    """A store with the graph, the excerpts and what is derived from them."""
    store = Store()
    store.extend(GRAPH)
    for score in scores:
        store.extend((*score_quads(score), *derive(score, KNOWLEDGE).quads))
    return store


def agreement(lot: int, excerpts: int, graphs: int) -> None:
    """Compare the engines on graphs of excerpts; ``lot`` says which are drawn."""

    @seed(lot)
    @settings(
        max_examples=graphs,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(several(excerpts))
    def agree(scores: tuple[Score, ...]) -> None:
        store = filled(scores)
        fast = {(row.focus, row.shape.iri) for row in run_fast(store, SHAPES)}
        files = (prefix_file(), *rule_files())
        reference = {(row.focus, row.shape.iri) for row in run_pyshacl(store, SHAPES, files)}
        assert fast == reference

    agree()


def test_engines_agree_on_some_excerpts() -> None:
    agreement(0, FEW, 2)


@pytest.mark.parametrize(
    "lot",
    [
        pytest.param(lot, marks=pytest.mark.nightly if lot else pytest.mark.long)
        for lot in range(LOTS)
    ],
)
def test_engines_agree(lot: int) -> None:
    agreement(lot, EXCERPTS, GRAPHS)


@pytest.mark.long
def test_random_excerpts_set_rules_off() -> None:
    """The agreement would be empty praise if random excerpts broke no rule."""
    seen: set[str] = set()

    @settings(max_examples=8, deadline=None, derandomize=True, database=None)
    @given(several(EXCERPTS))
    def collect(scores: tuple[Score, ...]) -> None:
        seen.update(row.shape.rule_slug for row in run_fast(filled(scores), SHAPES))

    collect()
    if not seen:
        pytest.fail("no rule fired")
    assert len(seen) >= len({shape.rule_slug for shape in SHAPES}) // 2, sorted(seen)
