"""A verdict is what the rules find, for every rule that has limits."""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from random import Random

import pytest
from pyoxigraph import Literal, NamedNode, Quad, Store

from orchq.derive.scopes import Scopes
from orchq.excerpt import decimal
from orchq.knowledge import load
from orchq.notation import Pitch
from orchq.questions.asking import Asking
from orchq.questions.judging import weighed_at
from orchq.rules.checking import check_score, rules_of
from orchq.rules.engine import run_fast
from orchq.score import Event, Note, Part, Score, State
from orchq.severity import rank
from orchq.terms import RDF_TYPE, local_name, oq

EXTENSION = Path(__file__).parents[1] / "rules" / "knowledge.ttl"

OQ = "https://w3id.org/orchq/"
BASE = "tag:example.org,2026:verdicts#"
VERDICTS_OF = {
    # severity of a finding, or none: what an answer may say then
    None: {"allowed", "disputed"},
    "info": {"disputed", "unusual"},
    "warning": {"unusual", "not allowed"},
    "violation": {"not allowed"},
}


def events_of(states):
    """One event for each (state, pitch), a measure each."""
    for number, (state, pitch) in enumerate(states):
        iri = f"{BASE}P1.e{number}"
        note = Note(f"{iri}n1", pitch)
        yield Event(
            iri, number, str(number + 1), Fraction(0), Fraction(number), Fraction(1), (note,),
            state=state,
        )  # fmt: skip


def severities(graph, instrument, states, rules, trust=None):
    """The gravest that the rules find at each event, in order; ``None`` for nothing."""
    events = tuple(events_of(states))
    part = Part(f"{BASE}P1", "P1", 0, "Part", instrument, section=True, events=events)
    report = check_score(
        Score(BASE, "", (part,)), graph, file="", level=OQ + "orchestral", trust=trust, rules=rules
    )
    found = {}
    for finding in report.findings:
        found.setdefault(finding.event, []).append(finding.severity)
    return [max(found.get(event.iri, [None]), key=_grave) for event in events]


def _grave(severity):
    return -1 if severity is None else rank(severity)


def agree(found, answers):
    """Findings and answers are of the same gravity, and all kinds of both occur."""
    for severity, answer in zip(found, answers, strict=True):
        assert answer.verdict in VERDICTS_OF[severity], (severity, answer)
    assert {answer.verdict for answer in answers} >= {"allowed", "disputed", "unusual"}


@pytest.mark.sampled(4)
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
    found = severities(graph, iri, states, rules, trust and OQ + trust)
    agree(found, [answer for _, answer in answers])


@pytest.mark.sampled(4)
@pytest.mark.parametrize("technique", ["arco", "pizzicato", "spiccato"])
@pytest.mark.parametrize("instrument", ["violin", "viola", "cello", "double-bass"])
def test_pitches_are_judged_as_the_rules_judge_them(graph, ask, instrument, technique):
    iri = OQ + instrument
    pitches = [Pitch.from_midi(midi) for midi in range(20, 112)]
    state = State(f"{BASE}s", frozenset({OQ + technique}), OQ + "mp")
    rules = ["note-above-compass", "note-above-technique-compass", "note-below-lowest-string"]
    found = severities(graph, iri, [(state, pitch) for pitch in pitches], rules)
    told = [
        answer
        for pitch in pitches
        for answer in ask.players(pitch=pitch.name, at="mp", technique=technique, on=instrument)
    ]
    for severity, answer in zip(found, told, strict=True):
        assert answer.verdict in VERDICTS_OF[severity], (severity, answer)
    assert {"allowed", "unusual", "not allowed"} <= {answer.verdict for answer in told}


# ------------------------------------------------------------- rates, times and counts


@dataclass(frozen=True)
class Measured:
    """A rule that compares one figure of a fact: the class and property of the fact."""

    kind: str
    name: str
    fact: str
    figure: str
    technique: str | None = None
    into: str | None = None
    gravest: str = "violation"
    also: tuple[tuple[str, object], ...] = ()


RULES = {
    "stroke-too-fast": Measured(
        "RateLimit", "fastestRate", "StrokeRun", "notesPerSecond", "spiccato"
    ),
    "stroke-too-slow": Measured(
        "RateLimit", "slowestRate", "StrokeRun", "mostNotesPerSecond", "sautille"
    ),
    "pizzicato-too-fast": Measured(
        "RateLimit", "fastestRate", "PluckedRun", "notesPerSecond", "pizzicato"
    ),
    "mute-change-too-quick": Measured(
        "ChangeTime", "shortestSeconds", "MuteChange", "secondsAtHand", None, "con-sordino"
    ),
    "pluck-bow-change-too-quick": Measured(
        "ChangeTime", "shortestSeconds", "PluckBowChange", "secondsAtHand", None, "arco"
    ),
    "retuning-too-quick": Measured(
        "ChangeTime", "shortestSeconds", "TuningChange", "secondsAtHand", None, "scordatura"
    ),
    "bow-direction-repeated": Measured(
        "ChangeTime", "shortestSeconds", "BowReturn", "secondsAtHand", None, "bow-retake", "warning"
    ),
    "pedal-change-too-quick": Measured(
        "PedalTime", "shortestSeconds", "PedalRush", "secondsForEach"
    ),
    "tremolo-without-rest": Measured(
        "DurationLimit", "longestSeconds", "LongTremolo", "lastsSeconds", "tremolo-unmeasured"
    ),
    "double-stops-in-quick-succession": Measured(
        "DoubleStopRate", "mostStopsPerSecond", "DoubleStopRun", "stopsPerSecond"
    ),
    "position-leap-too-quick": Measured(
        "HandTravel", "fastestHandTravel", "HandLeap", "travelSpeed"
    ),
    "too-many-notes-in-a-throw": Measured(
        "ThrowCount", "mostNotesInThrow", "Throw", "notesInThrow", "ricochet"
    ),
    "artificial-harmonics-too-fast": Measured(
        "RateLimit",
        "fastestRate",
        "HarmonicRun",
        "harmonicsPerSecond",
        "artificial-harmonic",
        gravest="warning",
    ),
    "artificial-harmonics-leap-too-quick": Measured(
        "HandTravel",
        "fastestHandTravel",
        "HarmonicLeap",
        "frameSpeed",
        "artificial-harmonic",
        gravest="warning",
    ),
    "plucked-chords-too-fast": Measured(
        "PluckedChordRate",
        "mostChordsPerSecond",
        "PluckedChordRun",
        "chordsPerSecond",
        gravest="warning",
    ),
    "leaps-in-a-row-too-quick": Measured(
        "RepeatedTravel", "fastestRepeatedTravel", "LeapRow", "travelInARow", gravest="warning"
    ),
    "string-called-too-high": Measured(
        "StringCallHeight", "highestSemitone", "HighOnString", "semitonesAbove", gravest="warning"
    ),
    "fingered-tremolo-too-wide": Measured(
        "HandSpan",
        "spanSemitones",
        "FingeredTremolo",
        "spansSemitones",
        "fingered-tremolo",
        also=(("staysOnOneString", True),),
    ),
}
BY_STATE = {
    # tied to their answers above
    "dynamic-outside-envelope",
    "technique-not-on-instrument",
    "note-above-compass",
    "note-above-technique-compass",
}


def test_every_rule_that_reads_weighings_is_tied_to_its_answers(graph):
    _, shapes = rules_of(graph)
    reading = {shape.rule_slug for shape in shapes if "oq:hasWeighing" in shape.query}
    assert reading == RULES.keys() | BY_STATE


def tried(weighing, draw):
    """The ends of all zones, values just beside them, and some anywhere."""
    ends = [float(zone.up_to) for zone in weighing.zones if zone.up_to is not None]
    beside = [end * factor for end in ends for factor in (0.999, 1, 1.001)]
    anywhere = [draw.uniform(0, 2 * max(ends)) for _ in range(20)]
    return [Fraction(f"{value:.6f}") for value in (*beside, *anywhere)]


@pytest.mark.sampled(4)
@pytest.mark.parametrize("slug", RULES)
def test_a_figure_is_judged_as_the_rule_judges_it(harped, slug):
    """For every instrument and level, at random values and at the ends of all zones."""
    rule, asking = RULES[slug], Asking(harped)
    technique = rule.technique and OQ + rule.technique
    draw = Random(slug)  # noqa: S311 - values to try
    scopes = Scopes(harped, None)
    facts, expected = [], {}
    for instrument in harped.instruments.values():
        for level in harped.levels:
            stand = asking.standpoint(local_name(level))
            answers = [
                each
                for each in asking.weighings(rule.kind, instrument, technique, stand)
                if each.yardstick.name == rule.name
                and each.topics.get("changesTo") == (rule.into and OQ + rule.into)
            ]
            scope = scopes.scope(instrument, technique, level)
            for value in tried(answers[0], draw) if answers else [Fraction(1)]:
                node = NamedNode(f"{BASE}{slug}.{len(expected)}")
                facts += quads_of(rule, node, scope, value)
                judgement = weighed_at(asking, answers, value)
                expected[node.value] = judgement.verdict, severity_at(rule, answers, value)
    _, shapes = rules_of(harped)
    shapes = [shape for shape in shapes if shape.rule_slug == slug]
    store = Store()
    store.extend((*harped.quads, *scopes.quads(), *facts))
    found = {row.focus: row.shape.severity for row in run_fast(store, shapes)}
    assert found == {node: grave for node, (_, grave) in expected.items() if grave}
    for node, (verdict, _) in expected.items():
        if verdict == "allowed":
            assert node not in found
        elif verdict in ("unusual", "not allowed"):
            assert node in found
    assert found


def severity_at(rule, weighings, value):
    """The gravest that the weighings say, and no more than the rule has a shape for."""
    said = [each.at(value).severity for each in weighings]
    known = [each for each in said if each]
    return min(max(known, key=rank), rule.gravest, key=rank) if known else None


def quads_of(rule, node, scope, value):
    """A fact as ``derive`` writes it."""
    yield Quad(node, RDF_TYPE, oq(rule.fact))
    yield Quad(node, oq(rule.figure), decimal(value))
    yield Quad(node, oq("underScope"), scope)
    yield Quad(node, oq("atPrintedTempo"), Literal(True))
    for said in ("rateSaid", "timeSaid", "noteSaid", "notesSaid", "pedalsSaid"):
        yield Quad(node, oq(said), Literal("so much"))
    yield Quad(node, oq("repeatsSign"), oq("down-bow"))
    yield Quad(node, oq("onCalledString"), oq("violin-string-4"))
    if rule.into:
        yield Quad(node, oq("changesInto"), oq(rule.into))
    if rule.technique:
        yield Quad(node, oq("playsStroke"), oq(rule.technique))
    for name, other in rule.also:
        yield Quad(node, oq(name), Literal(other))


@pytest.fixture(scope="module")
def harped():
    """The graph with an instrument that has pedals, and a figure for a tremolo of the fingers."""
    return load(["harp", EXTENSION])
