"""A house of one's own, used through every command and from Python."""

import json

import pyrudof
import pytest

import orchq
from orchq.rules import own_rules
from orchq.settings import read_settings

STRUCK = ("https://example.org/passage#struck", "no-col-legno", "violation")
DRAWN = ("https://example.org/passage#drawn", "no-col-legno", "warning")


def told(report, rule="no-col-legno"):
    return {(f.event, f.rule, f.severity) for f in report.findings if f.rule == rule}


@pytest.mark.sampled(2)
@pytest.mark.parametrize("engine", ["fast", "pyshacl"])
def test_both_engines_run_the_rule_and_agree(house, passage, engine):
    graph = orchq.load([house()])
    report = orchq.check(passage, knowledge=graph, engine=engine, advice=False)
    assert told(report) == {STRUCK, DRAWN}
    evidence = {e for f in report.findings if f.rule == "no-col-legno" for e in f.evidence}
    assert {(e.source, e.locator, e.basis) for e in evidence} == {
        ("House contract", "section 4", "published")
    }


def test_without_the_house_nothing_is_said(passage):
    assert not told(orchq.check(passage, advice=False))


@pytest.mark.long
def test_rules_of_the_core_are_reported_as_ever(house, passage):
    folder = house(facts=("oq:limitsTechnique oq:spiccato", "oq:limitsTechnique oq:chop"))
    with_it = orchq.check(passage, knowledge=orchq.load([folder]), advice=False)
    without = orchq.check(passage, advice=False)
    assert [f for f in with_it.findings if f.rule != "no-col-legno"] == list(without.findings)


@pytest.mark.long
def test_a_remedy_is_tried_out_for_it_too(house, passage):
    report = orchq.check(passage, knowledge=orchq.load([house()]), rules=["no-col-legno"])
    proposals = {f.event: [p.verified for p in f.instead] for f in report.findings}
    assert proposals[STRUCK[0]] == [True]


def test_a_folder_a_file_and_a_name_go_together(house, passage):
    graph = orchq.load([house() / "no-col-legno.ttl", house() / "ours.ttl", "mandolin"])
    assert told(orchq.check(passage, knowledge=graph, advice=False)) == {STRUCK, DRAWN}
    assert "mandolin" in {instrument.slug for instrument in graph.instruments.values()}


def test_folders_within_and_hidden_files(house, passage):
    folder = house()
    (folder / "rules").mkdir()
    (folder / "no-col-legno.ttl").rename(folder / "rules" / "no-col-legno.ttl")
    (folder / ".draft.ttl").write_text("no Turtle at all", encoding="utf-8")
    assert told(orchq.check(passage, knowledge=orchq.load([folder]), advice=False))


def test_facts_of_the_house_count_for_rules_of_the_core(house):
    (answer,) = orchq.load([house()]).ask.question("our-loudness", {"on": "Geige"})
    assert (answer.technique, answer.softest, answer.loudest) == ("spiccato", "mp", "f")
    assert any(
        evidence.source == "House contract"
        for answer in orchq.load([house()]).ask.dynamics(on="violin", technique="spiccato")
        for evidence in answer.evidence
    )


# ------------------------------------------------------------------ the command line


@pytest.mark.long
def test_check_in_every_format(run, house, passage):
    folder = house()
    call = ("check", passage, "--with", folder, "--no-settings", "--no-advice")
    code, out, _ = run(*call)
    assert code == 1
    assert "col legno battuto is not for our old bows" in out
    assert "House contract, section 4 (published)" in out
    (report,) = json.loads(run(*call, "--format", "json")[1])["files"]
    assert "no-col-legno" in {finding["rule"] for finding in report["findings"]}
    (sarif,) = json.loads(run(*call, "--format", "sarif")[1])["runs"]
    rule = next(r for r in sarif["tool"]["driver"]["rules"] if r["id"] == "no-col-legno")
    assert rule["properties"]["from"] == str(folder / "no-col-legno.ttl")
    assert rule["properties"]["severities"] == ["violation", "warning"]
    assert rule["defaultConfiguration"]["level"] == "error"
    result = next(r for r in sarif["results"] if r["ruleId"] == "no-col-legno")
    assert sarif["tool"]["driver"]["rules"][result["ruleIndex"]] == rule
    for format_ in ("junit", "github"):
        assert "no-col-legno" in run(*call, "--format", format_)[1]


def test_check_as_a_page(run, house, passage, tmp_path):
    pytest.importorskip("verovio")
    page = tmp_path / "page.html"
    call = ("check", passage, "--with", house(), "--no-settings", "--no-advice")
    assert run(*call, "--format", "html", "-o", page)[0] == 1
    text = page.read_text(encoding="utf-8")
    assert "no-col-legno" in text
    assert "their wood" in text


@pytest.mark.long
def test_the_rule_is_chosen_by_its_slug(run, house, passage):
    call = ("check", passage, "--with", house(), "--no-settings", "--format", "json")
    (report,) = json.loads(run(*call, "--rules", "no-col-legno")[1])["files"]
    assert {finding["rule"] for finding in report["findings"]} == {"no-col-legno"}
    (report,) = json.loads(run(*call, "--rules", "stop-hard")[1])["files"]
    assert report["findings"] == []


@pytest.mark.long
def test_settings_load_weigh_and_accept(run, house, passage, tmp_path):
    house()
    settings = tmp_path / "orchq.toml"
    settings.write_text(
        'extensions = ["house"]\n'
        "[rules]\nrun = ['no-col-legno']\n"
        "[severities]\nno-col-legno = 'info'\n"
        "[[accepted]]\nrule = 'no-col-legno'\npart = 'Violins'\nmeasure = 1\nbeat = 2\n"
        "reason = 'two notes'\n",
        encoding="utf-8",
    )
    assert read_settings(settings).extensions
    code, out, _ = run("check", passage, "--format", "json")
    (report,) = json.loads(out)["files"]
    assert code == 0
    assert [(f["severity"], f["changed_from"]) for f in report["findings"]] == [
        ("info", "violation")
    ]
    assert [each["reason"] for each in report["accepted"]] == ["two notes"]


@pytest.mark.long
def test_a_baseline_knows_it(run, house, passage, tmp_path):
    call = ("check", passage, "--with", house(), "--no-settings", "--rules", "no-col-legno")
    known = tmp_path / "known.json"
    run(*call, "--write-baseline", known)
    code, out, _ = run(*call, "--baseline", known, "--format", "json")
    assert code == 0
    assert len(json.loads(out)["files"][0]["accepted"]) == 2


ACCEPTANCE = """
ex:accepted a oq:Acceptance ; oq:acceptsRule <https://example.org/house/no-col-legno> ;
    oq:acceptedOn ex:struck ; oq:reason "the second bow is there" .
"""


def test_an_excerpt_accepts_it(run, house, passage):
    passage.write_text(passage.read_text(encoding="utf-8") + ACCEPTANCE, encoding="utf-8")
    graph = orchq.load([house()])
    report = orchq.check(passage, knowledge=graph, advice=False)
    assert told(report) == {DRAWN}
    assert [each.reason for each in report.accepted] == ["the second bow is there"]
    code, _, err = run("check", passage, "--no-settings")
    assert code == 2
    assert "acceptsRule" in err


@pytest.mark.long
def test_rules_and_questions_say_where_they_come_from(run, house):
    folder = house()
    listed = run("rules", "--with", folder)[1]
    assert "no-col-legno" in listed
    assert "no-col-legno.ttl" in listed
    assert "from " not in run("rules")[1]
    page = run("rules", "no-col-legno", "--with", folder)[1]
    assert "House contract, section 4" in page
    found = json.loads(run("rules", "no-col-legno", "--json", "--with", folder)[1])["rules"]
    assert [rule["from"] for rule in found] == [str(folder / "no-col-legno.ttl")]
    assert "our-loudness.rq" in run("ask", "--list", "--with", folder)[1]
    assert "our-loudness" not in run("ask", "--list")[1]


@pytest.mark.long
def test_a_question_is_asked_like_any_other(run, house):
    folder = house()
    code, out, err = run("ask", "our-loudness", "--on", "Violino", "--with", folder, "--json")
    assert (code, err) == (0, "")
    document = json.loads(out)
    assert document["parameters"] == {"on": "violin"}
    (answer,) = document["answers"]
    assert (answer["softest"], answer["loudest"], answer["steps"]) == ("mp", "f", 2)
    assert [each["source"] for each in answer["evidence"]] == ["House contract"]
    text = run("ask", "our-loudness", "--on", "violin", "--with", folder)[1]
    assert "steps (degrees)" in text
    assert "House contract, section 7" in text
    none = run("ask", "our-loudness", "--on", "violin", "--technique", "arco", "--with", folder)
    assert "has nothing on this" in none[1]
    assert "technique" in run("ask", "our-loudness", "--help", "--with", folder)[1]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--on", "theremin"), "theremin"),
        ((), "needs --on"),
        (("--on", "violin", "--at", "ff"), "has no --at"),
        (("--on", '" . } #'), "no name"),
    ],
)
def test_a_wrong_value_is_refused(run, house, words, said):
    code, out, err = run("ask", "our-loudness", *words, "--with", house())
    assert (code, out) == (2, "")
    assert said in err


def test_values_reach_the_query_as_terms(house, monkeypatch):
    asked = []
    monkeypatch.setattr(
        "orchq.questions.own_questions.select", lambda queries, quads: asked.extend(queries) or [[]]
    )
    graph = orchq.load([house()])
    graph.ask.question("our-loudness", {"on": "Geige"})
    (query,) = asked
    assert query.text == graph.ask.own["our-loudness"].query
    assert {name: term.value for name, term in query.bound.items()} == {
        "on": "https://w3id.org/orchq/violin"
    }


@pytest.mark.long
@pytest.mark.parametrize("command", ["sheet", "export", "sparql"])
def test_other_commands_take_a_folder(run, house, tmp_path, command):
    query = tmp_path / "query.rq"
    query.write_text("ASK { <https://example.org/house/soft-spiccato> ?p ?o }", encoding="utf-8")
    words = {
        "sheet": ("sheet", "violin"),
        "export": ("export", "--knowledge"),
        "sparql": ("sparql", query),
    }[command]
    code, out, _ = run(*words, "--with", house())
    assert code == 0
    assert {"sheet": "House contract", "export": "soft-spiccato", "sparql": "yes"}[command] in out


@pytest.mark.long
def test_the_house_has_no_fault(run, house):
    assert run("lint", house()) == (0, "no faults\n", "")


def test_an_output_into_the_folder_overwrites_nothing(run, house, passage):
    folder = house()
    file = folder / "ours.ttl"
    before = file.read_bytes()
    code, _, err = run("check", passage, "--with", folder, "--no-settings", "-o", file)
    assert code == 2
    assert "overwrite" in err
    assert file.read_bytes() == before


def test_a_graph_without_rules_of_its_own_starts_no_process(passage, monkeypatch):
    def refuse(*_):
        raise AssertionError("a process is started")

    monkeypatch.setattr(own_rules, "select", refuse)
    monkeypatch.setattr(own_rules, "variables", refuse)
    orchq.check(passage, knowledge=orchq.load(["mandolin"]), advice=False)


@pytest.mark.long
def test_another_engine_runs_the_rule_from_exported_files(house, passage):
    """A variable that the query leaves unbound is a question mark there as here."""
    folder = house(rule=("{?value} is not for our old bows", "{?value} is not for {?other}"))
    graph = orchq.load([folder])
    engine = pyrudof.Rudof(pyrudof.RudofConfig())
    engine.read_data(orchq.export(passage, graph, "nt", derived=True), pyrudof.RDFFormat.NTriples)
    engine.read_shacl(orchq.export_shapes(graph))
    said = {(each.focus_node, each.message.strip('"@en')) for each in engine.validate_shacl()}
    report = orchq.check(passage, knowledge=graph, advice=False)
    results = {r for f in report.findings for place in f.all_places for r in place.results}
    assert said == {(each.focus, each.message) for each in results}
    assert "col legno battuto is not for ?" in {message for _, message in said}
