"""Every question over all instruments and techniques: no crash, evidence, nothing empty amiss."""

from contextlib import nullcontext, suppress
from itertools import product

import pytest

from orchq.errors import OrchqError
from orchq.notation import Pitch
from orchq.questions import catalogue
from orchq.questions.sound_words import colour_words

OQ = "https://w3id.org/orchq/"
PITCHES = [Pitch.from_midi(midi).name for midi in range(19, 112, 7)]
CHORDS = ["G3 D4", "C2 G2 E3", "E1 A1", "G3 D4 B4 G5", "C4 C#4 D4 Eb4 E4"]
NEVER_EMPTY = {
    "bow", "compass", "divisi", "levels", "mute", "players", "registers", "section", "stops",
    "techniques",
}  # fmt: skip

SOUND = {
    "on": "violin", "technique": "sul tasto", "techniques": "sul tasto", "at": "mf",
    "pitch": "A5", "pitches": "G3 D4", "like": "dark", "for": "arco", "about": "arco",
    "from": "violin", "to": "con sordino", "players": "14", "into": "3", "language": "de",
    "notes": "G3 B3 D4", "stopped": "B4", "touched": "E5",
}  # fmt: skip
MORE = {
    "level": ["student", "orchestral", "soloist"],
    "source": ["berlioz", "tavan", "rimsky-korsakov", "klanner"],
    "harmonic-kind": ["natural", "artificial"],
    "harmonic": ["E6", "artificial"],
    "change": ["pizz. arco", "senza sord. to con sord.", "sul G, sul D"],
    "composer": ["Brahms", "Haydn"],
    "seconds": ["1", "0.5s"],
    "tempo": ["40", "96.5", "240"],
    "flag": [True, False],
}


@pytest.fixture(scope="module")
def values(graph):
    """What each kind of parameter is given."""
    techniques = [
        technique.label
        for technique in graph.techniques.values()
        if "ForeignTechnique" not in technique.kinds
    ]
    instruments = [instrument.label for instrument in graph.instruments.values()]
    things = [directive.iri for directive in graph.directives.values()]
    return {
        "instrument": instruments,
        "technique": techniques,
        "techniques": [*techniques, "sul tasto, pizz.", "spiccato, con sordino, flautando"],
        "directive": things,
        "directives": [*things, "con sord., pizz., sul tasto"],
        "thing": [*things, *instruments],
        "dynamic": [dynamic.label for dynamic in graph.dynamics.values()],
        "pitch": PITCHES,
        "pitches": CHORDS,
        "passage": [" | ".join(CHORDS)],
        "setting": ["D C B | E F G A", "Eb"],
        "colour": colour_words(graph.ask),
        "language": ["it", "fr", "de", "en"],
        "count": ["1", "2", "14"],
    }


def walk(graph, question, values):
    """All answers to a question over the values of what it requires."""
    required = [each for each in question.parameters if each.required]
    for chosen in product(*(values[each.kind] for each in required)):
        given = dict(zip((each.name for each in required), chosen, strict=True))
        # Two pitches taken at random seldom make a harmonic.
        fails = question.name == "replace-harmonic"
        with suppress(OrchqError) if fails else nullcontext():
            yield given, graph.ask.question(question.name, given)


@pytest.mark.sampled(3, "nightly")
@pytest.mark.parametrize("question", catalogue(), ids=lambda each: each.name)
def test_every_answer_says_who_says_so(graph, values, question):
    asked = 0
    for given, answers in walk(graph, question, values):
        asked += 1
        for answer in answers:
            # The colour of a technique is no limit, and nobody's in particular.
            colour = question.name == "colours" or getattr(answer, "what", "") == "colour"
            level = question.name == "levels"
            assert answer.evidence or colour or level, (given, answer)
        assert answers or answers.remarks, given
        assert answers or question.name not in NEVER_EMPTY or beyond_all(graph, question, given)
        assert list(answers.rows()) == [row for row in answers.rows() if len(row) > 1]
    assert asked


def beyond_all(graph, question, given):
    """Whether no technique is allowed so softly or loudly; all are shown with the objections."""
    if question.name != "techniques" or given["at"] not in {"pppp", "ffff"}:
        return False
    every = graph.ask.question(question.name, given | {"all": True})
    return bool(every) and all(each.because for each in every)


SLOW = {"examples"}
"""Questions that take so long that one value in twelve must do, unless long tests are asked for."""


@pytest.mark.sampled(3, "nightly")
@pytest.mark.parametrize("question", catalogue(), ids=lambda each: each.name)
def test_what_may_be_left_out_may_be_said(graph, values, question):
    each_may_be_said(graph, values, question, 12 if question.name in SLOW else 1)


@pytest.mark.nightly
@pytest.mark.parametrize(
    "question", [each for each in catalogue() if each.name in SLOW], ids=lambda each: each.name
)
def test_everything_that_may_be_left_out_may_be_said(graph, values, question):
    each_may_be_said(graph, values, question, 1)


def each_may_be_said(graph, values, question, step):
    """Ask with one more parameter each time: every ``step``th thing of the graph, all else."""
    given = {each.name: SOUND[each.name] for each in question.parameters if each.required}
    for parameter in question.parameters:
        if parameter.required:
            continue
        for value in [*values.get(parameter.kind, ())[::step], *MORE.get(parameter.kind, ())]:
            answers = graph.ask.question(question.name, given | {parameter.name: value})
            assert answers or answers.remarks
            if value is not False:
                assert parameter.name in answers.parameters


def test_levels_with_an_instrument_say_who_says_so(graph):
    for instrument in graph.instruments.values():
        assert all(each.evidence for each in graph.ask.levels(on=instrument.label) if each.highest)


def test_no_opinion_on_loudness_is_left_out(graph, ask):
    """Without a technique every envelope of the instrument or its family is told."""
    for instrument in graph.instruments.values():
        told = {
            said.limit for answer in ask.dynamics(on=instrument.label) for said in answer.evidence
        }
        assert told == {
            limit.iri
            for limit in graph.limits
            if limit.kind == "DynamicEnvelope"
            and (instrument.iri == limit.instrument or instrument.family == limit.family)
        }


def test_rates_are_empty_only_where_nobody_states_one(graph, ask):
    for instrument, technique in product(graph.instruments.values(), graph.techniques.values()):
        if "ForeignTechnique" in technique.kinds:
            continue
        about = {technique.iri, *technique.implies}
        stated = any(
            limit.technique in about
            and (instrument.iri == limit.instrument or instrument.family == limit.family)
            for limit in graph.limits
            if limit.kind == "RateLimit"
        )
        assert bool(ask.rates(on=instrument.label, technique=technique.label)) == stated


@pytest.mark.long
def test_terms_are_empty_only_where_none_is_in_the_graph(graph, ask):
    named = {quad.object.value for quad in graph.quads if quad.predicate.value == OQ + "names"}
    for iri in (*graph.directives, *graph.instruments):
        assert bool(ask.terms(for_=iri)) == (iri in named), iri
        assert bool(ask.prints(technique=iri, language="it")) == bool(
            [a for a in ask.terms(for_=iri) if a.language == "Italian"]
        ), iri


def test_signs_are_empty_only_where_none_is_in_the_graph(graph, ask):
    predicates = {OQ + name for name in ("musicxmlElement", "smuflGlyph", "meiValue")}
    signed = {quad.subject.value for quad in graph.quads if quad.predicate.value in predicates}
    for iri in graph.directives:
        assert bool(ask.encoding(technique=iri)) == (iri in signed), iri


@pytest.mark.long
def test_strings_are_empty_only_beyond_the_instrument(graph, ask):
    for instrument in graph.instruments.values():
        tunings = (instrument.standard, *instrument.variants)
        lowest = min(tuning.lowest.pitch.midi for tuning in tunings)
        highest = max(string.pitch.midi for string in instrument.standard.strings)
        for midi in range(lowest - 3, highest + 25):
            assert bool(ask.strings(on=instrument.label, pitch=midi)) == (midi >= lowest)


def test_what_excludes_is_mutual(graph, ask):
    techniques = [
        technique.label
        for technique in graph.techniques.values()
        if "ForeignTechnique" not in technique.kinds
    ]
    found = {
        (technique, answer.technique)
        for technique in techniques
        for answer in ask.excludes(technique=technique)
    }
    assert found == {(other, one) for one, other in found}
    assert len(found) > 100


def test_sources_tell_every_limit_of_an_instrument(graph, ask):
    for instrument in graph.instruments.values():
        told = {
            said.limit for answer in ask.sources(about=instrument.label) for said in answer.evidence
        }
        stated = {
            limit.iri
            for limit in graph.limits
            if limit.instrument == instrument.iri and limit.statement
        }
        assert stated <= told
