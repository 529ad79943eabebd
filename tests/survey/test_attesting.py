"""Limits are what enough passages by enough composers reach, and Turtle says so."""

import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest
from msgspec.structs import replace
from rdflib import Graph, Literal, Namespace
from rdflib.namespace import RDF

import orchq
from orchq.cli.app import main
from orchq.lint import lint
from orchq.survey.attested_turtle import attested_turtle
from orchq.survey.attesting import ORCHESTRAL, SOLOIST, attest
from orchq.survey.rows import (
    ChangeRow,
    HarmonicRow,
    LeapRow,
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
from orchq.survey.table_files import Tables, values_of
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
        RunRow(*_place(work, setting), stroke, "", None, 8, rate, 8 / rate, tempo)
        for work, rate in zip(works, rates, strict=True)
    ]


def _limits(knowledge, **tables):
    return attest(Sightings(knowledge).of({"works": WORKS, **tables}))


def _found(limits, kind, level=SOLOIST, technique=None, holder="bowed-strings"):
    wanted = oq(technique).value if technique else None
    [limit] = [
        each
        for each in limits
        if each.subject.kind == kind
        and each.level == level
        and each.subject.technique == wanted
        and each.subject.holder == oq(holder).value
    ]
    return limit


def test_the_fifth_passage_is_the_limit_where_three_composers_have_come_by_then(knowledge):
    runs = [*_runs([9, 8, 7, 6.123, 5, 4]), *_runs([1] * 6)]
    limit = _found(_limits(knowledge, runs=runs), "RateLimit", SOLOIST, "pizzicato", "violin")
    assert limit.figures == (("fastestRate", 5.0),)
    counts = limit.counts
    assert (counts.passages, counts.works, counts.composers, counts.notes) == (12, 6, 3, 96)
    assert (counts.reaching_passages, counts.reaching_composers) == (5, 3)
    assert counts.quantile == 0.6666


@pytest.mark.parametrize(
    ("slow", "figures"), [(0, None), (15, None), (16, (("fastestRate", 0.5),))]
)
def test_two_composers_however_often_attest_nothing(slow, figures, knowledge):
    """The third one's figure counts where at least half of all notes keep to it."""
    runs = [
        *_runs([9, 8, 7, 6] * 4, works=WORKS[:4] * 4),
        *_runs([0.5] * slow, works=WORKS[-1:] * slow),
    ]
    found = [
        limit.figures
        for limit in _limits(knowledge, runs=runs)
        if limit.subject.holder == oq("violin").value
    ]
    assert found == ([] if figures is None else [figures])


def test_sections_speak_for_orchestral_players_and_everybody_for_soloists(knowledge):
    runs = [*_runs([9, 8, 7, 6, 5, 4]), *_runs([3] * 6, setting="section")]
    limits = _limits(knowledge, runs=runs)
    found = {
        level: _found(limits, "RateLimit", level, "pizzicato", "violin").figures
        for level in (ORCHESTRAL, SOLOIST)
    }
    assert found == {ORCHESTRAL: (("fastestRate", 3.0),), SOLOIST: (("fastestRate", 5.0),)}


@pytest.mark.parametrize(("marked", "figure", "tempo"), [(5, 2.0, "marked"), (4, 8.0, "assumed")])
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
    limit = _found(
        _limits(knowledge, passages=passages), "DynamicEnvelope", SOLOIST, "sul-ponticello"
    )
    assert dict(limit.figures) == {"softest": 3, "loudest": 8}
    assert limit.counts.reaching_passages == 5
    assert limit.counts.quantile == 0.909


def _leaps(speeds, instrument):
    return [
        LeapRow(*_place(work, instrument=instrument), speed, 0.5, "marked")
        for work, speed in zip(WORKS, speeds, strict=True)
    ]


def _holders(limits):
    return {each.subject.holder.removeprefix(OQ): dict(each.figures) for each in limits}


def test_a_family_is_measured_only_where_no_instrument_attests_for_itself(knowledge):
    violins = _leaps([900.0] * 6, "violin")
    few = _leaps([300.0] * 6, "cello")[2:]
    limits = _limits(knowledge, leaps=[*violins, *few])
    assert _holders(limits) == {"violin": {"fastestHandTravel": 900.0}}
    limits = _limits(knowledge, leaps=[*violins, *_leaps([300.0] * 6, "cello")])
    assert _holders(limits) == {
        "violin": {"fastestHandTravel": 900.0},
        "cello": {"fastestHandTravel": 300.0},
    }
    # two composers ask it of one and two of the other: only together are they enough
    limits = _limits(knowledge, leaps=[*violins[:4], *few])
    assert _holders(limits) == {"bowed-strings": {"fastestHandTravel": 300.0}}


def test_loudness_and_changes_are_alike_for_a_family(knowledge):
    passages = [
        PassageRow(*_place(work), "sul-ponticello", "", 3, 10, None, "none", "") for work in WORKS
    ]
    changes = [
        ChangeRow(*_place(work), "pluck-bow", "arco", "pizzicato", 0.5, 0.5, "marked")
        for work in WORKS
    ]
    limits = _limits(knowledge, passages=passages, changes=changes)
    assert {*_holders(limits)} == {"bowed-strings"}


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
    passages = [PassageRow(*_place(work), "tenuto", "f", 7, 10, None, "none", "") for work in WORKS]
    assert _limits(knowledge, passages=passages) == []


def _everything():
    """Rows that attest a limit of every kind."""
    for work in WORKS:
        at, section = _place(work), _place(work, "section")
        yield "pitches", PitchRow(*at, "arco", 100, "E7", 3)
        yield (
            "passages",
            PassageRow(*section, "con-sordino", "pp", 3, 9, 4.0, "marked", "con sord."),
        )
        yield "runs", RunRow(*at, "detache", "f", 7, 16, 11.4664, 1.3, "assumed")
        yield "changes", ChangeRow(*at, "pluck-bow", "pizzicato", "arco", 0.2, 1.0, "marked")
        yield "changes", ChangeRow(*at, "bow-return", "down-bow", "down-bow", 0.21, 1.0, "marked")
        yield "slurs", SlurRow(*at, "legato", "pp", 3, 12, 8.5, "marked")
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


@pytest.fixture(scope="module")
def source(knowledge):
    return knowledge.sources[oq("open-scores").value]


def test_turtle_says_what_was_measured(limits, knowledge, source):
    graph = Graph().parse(data=attested_turtle(limits, knowledge, source), format="turtle")
    kinds = {str(kind).removeprefix(OQ) for kind in graph.objects(None, RDF.type)}
    assert {limit.subject.kind for limit in limits} < kinds
    [slur] = graph.subjects(NAMES.limitsDynamic, NAMES.pp)
    assert str(slur) == f"{OQ}limit-duration-legato-pp-violin-soloist-attested"
    assert graph.value(slur, NAMES.longestSeconds) == Literal(Decimal("8.5"))
    assert graph.value(slur, NAMES.attestedNotes) == Literal(72)
    muted = graph.subjects(NAMES.limitsTechnique, NAMES["con-sordino"])
    levels = {graph.value(limit, NAMES.forLevel) for limit in muted}
    assert levels == {NAMES.orchestral, NAMES.soloist}
    assert str(graph.value(slur, NAMES.statement)) == (
        "Legato at pp on the violin, 8.5 s or longer: 6 of 6 works, by 3 composers."
    )


def test_a_statement_says_how_rare_it_is(knowledge, source):
    changes = [
        ChangeRow(*_place(WORKS[n % 6]), "pluck-bow", "arco", "pizzicato", s, 0.5, "marked")
        for n, s in enumerate([0.18] * 5 + [0.9] * 20)
    ]
    runs = _runs([9.5] * 5 + [1], setting="section", tempo="assumed")
    passages = [
        PassageRow(*_place(WORKS[n % 6]), "sul-ponticello", "", rank, 10, None, "none", "")
        for n, rank in enumerate([3] * 5 + [8] * 7)
    ]
    limits = _limits(knowledge, changes=changes, runs=runs, passages=passages)
    graph = Graph().parse(data=attested_turtle(limits, knowledge, source), format="turtle")
    assert {str(each) for each in graph.objects(None, NAMES.statement)} > {
        "From arco to pizzicato in 0.18 s or less: 5 of 25 places, by 3 composers.",
        (
            "Sul ponticello on bowed strings, pp or softer and ff or louder: "
            "5 of 12 places at the rarer end, by 3 composers."
        ),
        (
            "Pizzicato on the violin in section parts, 9.5 notes a second or more, "
            "some tempi assumed from words: 5 of 6 works, by 3 composers."
        ),
    }


def test_turtle_stands_as_the_formatter_would_have_it(limits, knowledge, source, tmp_path):
    written = tmp_path / "attested.ttl"
    written.write_text(attested_turtle(limits, knowledge, source), encoding="utf-8")
    formatter = [str(Path(sys.executable).with_name("turtlefmt")), "--check", str(written)]
    assert subprocess.run(formatter, check=False).returncode == 0


def test_the_order_of_rows_does_not_matter(knowledge, limits, source):
    tables = {"works": WORKS[::-1]}
    for name, row in reversed(list(_everything())):
        tables.setdefault(name, []).append(row)
    again = attest(Sightings(knowledge).of(tables))
    texts = [attested_turtle(each, knowledge, source) for each in (limits, again)]
    assert texts[0] == texts[1]


DATA_SET = """\
@prefix dcterms: <http://purl.org/dc/terms/> .
@prefix mine: <https://example.org/mine#> .
@prefix oq: <https://w3id.org/orchq/> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .

mine:scores a oq:DataSet ;
    skos:prefLabel "my scores"@en ;
    dcterms:title "Scores of my own" ;
    dcterms:hasVersion "1" ;
    dcterms:creator mine:me ;
    oq:yearIssued 2026 ;
    dcterms:rights oq:rights-reserved ;
    rdfs:seeAlso <https://example.org/scores> .

mine:me a oq:Agent ;
    skos:prefLabel "Me"@en .
"""


def _write(folder, works):
    tables = Tables()
    tables.add({"works": values_of(works)})
    for name, row in _everything():
        tables.add({name: values_of([row])})
    tables.write(folder)


@pytest.fixture
def survey(tmp_path):
    """Tables as orchq survey writes them, and a description of the scores."""
    pytest.importorskip("pyarrow")
    folder = tmp_path / "survey"
    folder.mkdir()
    _write(folder, WORKS)
    (tmp_path / "mine.ttl").write_text(DATA_SET, encoding="utf-8")
    return folder


@pytest.mark.long
def test_scores_of_ones_own_make_an_extension_without_fault(survey, tmp_path, capfd):
    mine, out = tmp_path / "mine.ttl", tmp_path / "attested.ttl"
    call = ["attest", str(survey), "--source", "my scores", "--with", str(mine), "-o", str(out)]
    assert main(call) == 0
    assert [fault for fault in lint([mine, out]).faults if fault.severity == "violation"] == []
    [slur] = [
        limit
        for limit in orchq.load([mine, out]).limits
        if limit.iri == "https://example.org/mine#limit-rate-detache-violin-soloist-attested"
    ]
    assert (slur.basis, slur.source.label, slur.values["fastestRate"]) == (
        "attested",
        "my scores",
        Decimal("11.47"),
    )
    assert capfd.readouterr() == ("", f"wrote {out}\n")


def test_what_cannot_be_attested_is_told(survey, tmp_path, capfd):
    assert main(["attest", str(tmp_path), "--source", "open-scores"]) == 2
    assert "works.parquet" in capfd.readouterr().err
    assert main(["attest", str(survey), "--source", "my scores"]) == 2
    _write(survey, WORKS[:4])
    assert main(["attest", str(survey), "--source", "open-scores"]) == 2
    out, err = capfd.readouterr()
    assert (out, len(err.splitlines())) == ("", 2)
