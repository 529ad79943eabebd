"""A verdict is what the rules find: violation, warning or nothing."""

from fractions import Fraction

import pytest

from orchq.knowledge import Limit, verdict_of
from orchq.notation import Pitch
from orchq.rules.checking import check_score
from orchq.score import Event, Note, Part, Score, State

OQ = "https://w3id.org/orchq/"
BASE = "tag:example.org,2026:verdicts#"
MEANS = {"violation": "not allowed", "warning": "disputed"}


def events_of(states):
    """One event for each (state, pitch), a measure each."""
    for number, (state, pitch) in enumerate(states):
        iri = f"{BASE}P1.e{number}"
        note = Note(f"{iri}n1", pitch)
        yield Event(
            iri, number, str(number + 1), Fraction(0), Fraction(number), Fraction(1), (note,),
            state=state,
        )  # fmt: skip


def verdicts(graph, instrument, states, rules, trust=None):
    """What the rules find at each event, as verdicts in order."""
    events = tuple(events_of(states))
    part = Part(f"{BASE}P1", "P1", 0, "Part", instrument, section=True, events=events)
    report = check_score(
        Score(BASE, "", (part,)), graph, file="", level=OQ + "orchestral", trust=trust, rules=rules
    )
    gravest = {}
    for finding in report.findings:
        found = MEANS.get(finding.severity, "allowed")
        known = gravest.get(finding.event, "allowed")
        order = ("allowed", "disputed", "not allowed")
        gravest[finding.event] = max(found, known, key=order.index)
    return [gravest.get(event.iri, "allowed") for event in events]


@pytest.mark.parametrize("trust", [None, "berlioz", "rimsky-korsakov"])
@pytest.mark.parametrize("instrument", ["violin", "viola", "cello", "double-bass"])
def test_techniques_are_judged_as_the_rules_judge_them(graph, ask, instrument, trust):
    iri = OQ + instrument
    pitch = graph.instruments[iri].standard.strings[1].pitch
    answers = [
        (dynamic, answer)
        for dynamic in graph.dynamics.values()
        for answer in ask.techniques(on=instrument, at=dynamic.label, all=True, trust=trust)
    ]
    labels = {technique.label: technique.iri for technique in graph.techniques.values()}
    states = [
        (State(f"{BASE}s{n}", frozenset({labels[answer.technique]}), dynamic.iri), pitch)
        for n, (dynamic, answer) in enumerate(answers)
    ]
    rules = ["dynamic-outside-envelope", "technique-not-on-instrument"]
    found = verdicts(graph, iri, states, rules, trust and OQ + trust)
    assert found == [answer.verdict for _, answer in answers]
    assert set(found) == {"allowed", "disputed", "not allowed"}


@pytest.mark.parametrize("technique", ["arco", "pizzicato", "spiccato"])
@pytest.mark.parametrize("instrument", ["violin", "viola", "cello", "double-bass"])
def test_pitches_are_judged_as_the_rules_judge_them(graph, ask, instrument, technique):
    iri = OQ + instrument
    pitches = [Pitch.from_midi(midi) for midi in range(20, 112)]
    state = State(f"{BASE}s", frozenset({OQ + technique}), OQ + "mp")
    rules = ["note-above-compass", "note-above-technique-compass", "note-below-lowest-string"]
    found = verdicts(graph, iri, [(state, pitch) for pitch in pitches], rules)
    told = [
        answer.verdict
        for pitch in pitches
        for answer in ask.players(pitch=pitch.name, at="mp", technique=technique, on=instrument)
    ]
    assert found == told


@pytest.mark.parametrize(
    ("given", "verdict"),
    [
        ([], "allowed"),
        ([("published", True)], "allowed"),
        ([("published", False)], "not allowed"),
        ([("memory", False)], "disputed"),
        ([("published", True), ("published", False)], "disputed"),
        ([("published", True), ("memory", False)], "disputed"),
        ([("published", False), ("memory", True)], "not allowed"),
        ([("memory", True), ("memory", False)], "disputed"),
        ([("attested", False)], "allowed"),
        ([("published", False), ("attested", True)], "disputed"),
        ([("published", False), ("attested", False)], "not allowed"),
        ([("memory", False), ("attested", True)], "allowed"),
        ([("memory", False), ("attested", False)], "disputed"),
        ([("derived", False), ("attested", True)], "disputed"),
    ],
)
def test_opinions_are_weighed(make_limit, given, verdict):
    """Pairs of the basis of a limit and whether the limit allows the mark."""
    limits = [make_limit(basis) for basis, _ in given]
    allowed = {id(limit): allows for limit, (_, allows) in zip(limits, given, strict=True)}
    assert verdict_of(limits, lambda limit: allowed[id(limit)]) == verdict


@pytest.fixture
def make_limit():
    def make(basis):
        return Limit(
            "urn:x", "DynamicEnvelope", None, None, None, None, None, None, None,
            basis, basis == "published", None, "", "", {},
            excuses=basis in {"published", "attested"},
        )  # fmt: skip

    return make
