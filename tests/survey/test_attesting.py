"""Limits are what enough passages by enough composers reach, and Turtle says so."""

from dataclasses import replace

import pytest
from rdflib import Graph, Literal, Namespace
from rdflib.namespace import RDF

import orchq
from orchq.survey.attested_turtle import attested_turtle
from orchq.survey.attesting import ORCHESTRAL, SOLOIST, attest
from orchq.survey.model import (
    ChangeRow,
    HarmonicRow,
    PassageRow,
    PitchRow,
    RunRow,
    SlurRow,
    StopRow,
    StopRunRow,
    TremoloRow,
    Work,
)
from orchq.survey.sightings import Sightings, spoken_subjects
from orchq.terms import OQ, oq

NAMES = Namespace(OQ)
COMPOSERS = ("haydn", "mozart", "bridge")


@pytest.fixture(scope="module")
def knowledge():
    return orchq.load()


def _work(composer, number=1):
    name = f"{composer}/{number}.mxl"
    return Work(name, composer, composer.title(), "", "", "scores", 100, 4, "marked")


WORKS = [_work(composer, number) for composer in COMPOSERS for number in (1, 2)]


def _place(work, setting="solo", instrument="violin"):
    return (work.work, "Violin I", 0, instrument, setting, "1", 0, 1.0)


def _runs(rates, *, works=WORKS, tempo="marked", setting="solo", stroke="pizzicato"):
    """One run for each work and rate."""
    return [
        RunRow(*_place(work, setting), stroke, 8, rate, 8 / rate, tempo)
        for work, rate in zip(works, rates, strict=True)
    ]


def _limits(knowledge, **tables):
    return attest(Sightings(knowledge).of({"works": WORKS, **tables}))


def _found(limits, kind, level=SOLOIST, technique=None, holder="bowed-strings"):
    wanted = oq(technique).value if technique else None
    [limit] = [
        each
        for each in limits
        if (each.subject.kind, each.level) == (kind, level)
        and each.subject.technique == wanted
        and each.subject.holder == oq(holder).value
    ]
    return limit


def test_the_fifth_passage_is_the_limit_where_three_composers_have_come_by_then(knowledge):
    limit = _found(
        _limits(knowledge, runs=_runs([9, 8, 7, 6.123, 5, 4])), "RateLimit", technique="pizzicato",
        holder="violin",
    )
    assert limit.figures == (("fastestRate", 5.0),)
    counts = limit.counts
    assert (counts.passages, counts.works, counts.composers, counts.notes) == (6, 6, 3, 48)
    assert (counts.reaching_passages, counts.reaching_composers) == (5, 3)
    assert counts.quantile == 0.3333


def test_two_composers_however_often_attest_nothing(knowledge):
    runs = _runs([9, 8, 7, 6]*4, works=WORKS[:4]*4)
    assert _limits(knowledge, runs=runs) == []
    assert _limits(knowledge, runs=[*runs, *_runs([0.5], works=WORKS[-1:])])


def test_sections_speak_for_orchestral_players_and_everybody_for_soloists(knowledge):
    runs = [*_runs([9, 8, 7, 6, 5, 4]), *_runs([3] * 6, setting="section")]
    limits = _limits(knowledge, runs=runs)
    found = {
        level: _found(limits, "RateLimit", level, "pizzicato", "violin").figures
        for level in (ORCHESTRAL, SOLOIST)
    }
    assert found == {ORCHESTRAL: (("fastestRate", 3.0),), SOLOIST: (("fastestRate", 5.0),)}


@pytest.mark.parametrize(
    ("marked", "figure", "tempo"), [(5, 2.0, "marked"), (4, 8.0, "assumed")]
)
def test_marked_tempi_are_heard_alone_where_they_suffice(marked, figure, tempo, knowledge):
    works = WORKS[:5]
    runs = [
        *_runs([9, 9, 9, 9, 8], works=works, tempo="assumed"),
        *_runs([2] * marked, works=works[-marked:]),
        *_runs([99], works=works[:1], tempo="none"),
    ]
    runs[-1] = replace(runs[-1], notes_per_second=None, seconds=None)
    limit = _found(_limits(knowledge, runs=runs), "RateLimit", SOLOIST, "pizzicato", "violin")
    assert (limit.figures, limit.tempo) == ((("fastestRate", figure),), tempo)


def test_a_rounded_figure_holds_where_it_was_measured(knowledge):
    changes = [
        ChangeRow(*_place(work), "pluck-bow", "arco", "pizzicato", 0.3333, 0.5, "marked")
        for work in WORKS
    ]
    limit = _found(_limits(knowledge, changes=changes), "ChangeTime")
    assert limit.figures == (("shortestSeconds", 0.33),)
    assert limit.subject.about == (
        ("changesFrom", oq("arco").value),
        ("changesTo", oq("pizzicato").value),
    )
    assert (limit.counts.quantile, limit.counts.reaching_passages) == (1.0, 6)
    sightings = list(Sightings(knowledge).of({"works": WORKS, "changes": changes}))
    assert all(limit.holds(each) for each in sightings)
    quicker = [replace(each, figures=(("shortestSeconds", 0.329),)) for each in sightings]
    assert not any(limit.holds(each) for each in quicker)


def test_an_envelope_has_two_ends(knowledge):
    ranks = [3, 3, 3, 3, 3, 8, 8, 8, 8, 8, 10]
    passages = [
        PassageRow(*_place(WORKS[place % 5]), "sul-ponticello", "", rank, 10, None, "none", "")
        for place, rank in enumerate(ranks)
    ]
    limit = _found(_limits(knowledge, passages=passages), "DynamicEnvelope", SOLOIST,
                   "sul-ponticello")
    assert dict(limit.figures) == {"softest": 3, "loudest": 8}
    assert limit.counts.reaching_passages == 5
    assert limit.counts.quantile == 0.909


def test_of_a_compass_each_work_is_one_passage(knowledge):
    def pitches(works):
        return [
            PitchRow(*_place(work), "arco", midi, "", 1) for work in works for midi in (93, 95, 96)
        ]

    assert _limits(knowledge, pitches=pitches(WORKS[:4] + WORKS[5:])) != []
    assert _limits(knowledge, pitches=pitches([WORKS[0], WORKS[2], WORKS[4]])) == []


def test_what_nobody_else_limits_is_not_measured(knowledge):
    spoken = spoken_subjects(knowledge)
    assert not any(subject.technique == oq("tenuto").value for subject in spoken)
    passages = [
        PassageRow(*_place(work), "tenuto", "f", 7, 10, None, "none", "") for work in WORKS
    ]
    assert _limits(knowledge, passages=passages) == []


def _everything():
    """Rows that attest a limit of every kind."""
    for work in WORKS:
        at, section = _place(work), _place(work, "section")
        yield "pitches", PitchRow(*at, "arco", 100, "E7", 3)
        yield "passages", PassageRow(*section, "con-sordino", "pp", 3, 9, 4.0, "marked", "con sord.")
        yield "runs", RunRow(*at, "detache", 16, 11.4664, 1.3, "assumed")
        yield "changes", ChangeRow(*at, "pluck-bow", "pizzicato", "arco", 0.2, 1.0, "marked")
        yield "changes", ChangeRow(*at, "bow-return", "down-bow", "down-bow", 0.21, 1.0, "marked")
        yield "slurs", SlurRow(*at, "pp", 3, 12, 8.5, "marked")
        yield "stops", StopRow(*at, "B3 G4", "8", True, True, False, "f", 7, "easy", 1.0, "marked")
        yield "harmonics", HarmonicRow(*at, "natural", 1, 4, "E7", "A5")
        yield "tremolos", TremoloRow(*at, "tremolo-unmeasured", 20, 31.0, "marked")
        yield "double_stop_runs", StopRunRow(*at, 6, 4.4, 1.4, "marked")


@pytest.fixture(scope="module")
def limits(knowledge):
    tables = {"works": WORKS}
    for name, row in _everything():
        tables.setdefault(name, []).append(row)
    return attest(Sightings(knowledge).of(tables))


def test_turtle_says_what_was_measured(limits, knowledge):
    source = knowledge.sources[oq("open-scores").value]
    graph = Graph().parse(data=attested_turtle(limits, knowledge, source), format="turtle")
    kinds = {str(kind).removeprefix(OQ) for kind in graph.objects(None, RDF.type)}
    assert {limit.subject.kind for limit in limits} <= kinds
    [slur] = graph.subjects(NAMES.limitsDynamic, NAMES.pp)
    assert str(slur) == f"{OQ}limit-duration-legato-pp-bowed-strings-soloist-attested"
    assert graph.value(slur, NAMES.longestSeconds) == Literal("8.5", datatype=_XSD.decimal)
    assert graph.value(slur, NAMES.attestedNotes) == Literal(72)
    [muted] = graph.subjects(NAMES.limitsTechnique, NAMES["con-sordino"])
    assert set(graph.objects(muted, NAMES.forLevel)) == {NAMES.orchestral, NAMES.soloist}
