"""``orchq sparql`` reads the graph and does nothing else."""

import csv
import io
import json
import multiprocessing

import pytest
from pyoxigraph import Store

import orchq
from orchq.errors import OrchqError
from orchq.sandbox import child, running
from orchq.sandbox.child import shut_doors
from orchq.sandbox.results import read_only, result

INSTRUMENTS = "SELECT ?i ?l { ?i a oq:Instrument ; skos:prefLabel ?l } ORDER BY ?l"


@pytest.fixture
def query(tmp_path):
    """A maker of files with a query."""

    def make(text, name="query.rq"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return make


@pytest.mark.long
def test_solutions_as_a_table(run, query):
    outcome = run("sparql", query(INSTRUMENTS))
    assert outcome.code == 0
    lines = outcome.out.splitlines()
    assert lines[1].split() == ["oq:cello", "cello@en"]
    assert lines[-1] == "4 solutions"


@pytest.fixture
def in_place(monkeypatch):
    """Run queries in this process, whose doors stay open."""
    monkeypatch.setattr(child, "shut_doors", lambda: None)
    monkeypatch.setattr(running, "answered", lambda asked, *_: list(child.answers(asked)))


def store():
    """The graph as a query sees it."""
    store = Store()
    store.bulk_extend(orchq.load().quads)
    return store


@pytest.mark.long
@pytest.mark.usefixtures("in_place")
def test_solutions_as_json_and_csv(run, query, tmp_path):
    document = json.loads(run("sparql", query(INSTRUMENTS), "--format", "json").out)
    assert document["head"]["vars"] == ["i", "l"]
    assert len(document["results"]["bindings"]) == 4
    out = tmp_path / "out.csv"
    assert run("sparql", query(INSTRUMENTS), "--format", "csv", "-o", out).code == 0
    rows = list(csv.reader(io.StringIO(out.read_text(encoding="utf-8"))))
    assert rows[0] == ["i", "l"]
    assert [row[1] for row in rows[1:]] == ["cello", "double bass", "viola", "violin"]


@pytest.mark.nightly
@pytest.mark.usefixtures("in_place")
def test_truth_and_triples(run, query):
    assert run("sparql", query("ASK { oq:violin a oq:Instrument }")).out == "yes\n"
    assert run("sparql", query("ASK { oq:violin a oq:Tuning }")).out == "no\n"
    out = run("sparql", query("DESCRIBE oq:spiccato")).out
    assert "oq:spiccato" in out
    assert "oq:BowStroke" in out
    out = run("sparql", query("DESCRIBE oq:spiccato"), "--format", "json").out
    assert json.loads(out)
    assert run("sparql", query("ASK { oq:violin ?p ?o }"), "--format", "csv").out == "true\n"
    outcome = run("sparql", query("DESCRIBE oq:spiccato"), "--format", "csv")
    assert (outcome.code, outcome.out) == (2, "")


@pytest.mark.long
@pytest.mark.usefixtures("in_place")
def test_computed_triples_are_there(run, query):
    text = "SELECT ?m { oq:violin-string-2 oq:openMidi ?m }"
    document = json.loads(run("sparql", query(text), "--format", "json").out)
    assert document["results"]["bindings"][0]["m"]["value"] == "69"


@pytest.mark.long
@pytest.mark.usefixtures("in_place")
def test_standard_input(run, monkeypatch):
    class Stdin:
        buffer = io.BytesIO(INSTRUMENTS.encode())

    monkeypatch.setattr("sys.stdin", Stdin)
    assert run("sparql", "-").out.endswith("4 solutions\n")


@pytest.mark.long
@pytest.mark.usefixtures("in_place")
def test_an_excerpt_and_an_extension_beside_the_graph(run, query, tmp_path):
    text = "SELECT (COUNT(?n) AS ?notes) { ?n a oq:Note }"
    outcome = run("sparql", query(text), "--excerpt", orchq.demo_path(), "--format", "csv")
    assert outcome.out.split() == ["notes", "528"]
    extension = tmp_path / "mine.ttl"
    extension.write_text("<urn:me> <urn:likes> <urn:you> .", encoding="utf-8")
    outcome = run("sparql", query("ASK { <urn:me> <urn:likes> ?x }"), "--with", extension)
    assert outcome.out == "yes\n"


REFUSED = [
    ("SELECT * { SERVICE <http://example.org/> { ?s ?p ?o } }", "SERVICE"),
    ("SELECT * { SERVICE SILENT ?x { ?s ?p ?o } }", "SERVICE"),
    ("SELECT * { { SELECT * { OPTIONAL { SERVICE <http://e.org/> { ?s ?p ?o } } } } }", "SERVICE"),
    ("ASK { FILTER NOT EXISTS { SERVICE <http://e.org/> { ?s ?p ?o } } }", "SERVICE"),
    ("CONSTRUCT { ?s ?p ?o } WHERE { SERVICE <http://e.org/> { ?s ?p ?o } }", "SERVICE"),
    ("SELECT * { ?s ?p ?o . SeRvIcE <http://e.org/> { ?a ?b ?c } }", "SERVICE"),
    # A comment ends at a carriage return for one parser and not for the other.
    ("SELECT * { ?s ?p ?o #\r SERVICE <http://e.org/> { ?a ?b ?c }\n }", "SERVICE"),
    ("SELECT * { \\u0053ERVICE <http://e.org/> { ?a ?b ?c } }", "SERVICE"),
    ("SELECT * FROM <http://e.org/> { ?s ?p ?o }", "FROM"),
    ("SELECT * FROM NAMED <http://e.org/> { GRAPH ?g { ?s ?p ?o } }", "FROM"),
    ("ASK FROM <http://e.org/> { ?s ?p ?o }", "FROM"),
    ("DESCRIBE <urn:x> FROM <http://e.org/>", "FROM"),
    ("CONSTRUCT { ?s ?p ?o } FROM <http://e.org/> WHERE { ?s ?p ?o }", "FROM"),
    ("INSERT DATA { <urn:a> <urn:b> <urn:c> }", "not a SELECT"),
    ("DELETE WHERE { ?s ?p ?o }", "not a SELECT"),
    ("LOAD <http://e.org/>", "not a SELECT"),
    ("CLEAR ALL", "not a SELECT"),
    ("SELECT * { ?s ?p ?o } ; DROP ALL", "not a SELECT"),
    ("SELECT", "not a SELECT"),
    ("", "not a SELECT"),
    ("{" * 3000, ""),
    ("SELECT * { ?s ?p nix:y }", ""),
]


@pytest.mark.parametrize(("text", "said"), REFUSED)
def test_what_does_more_than_read_is_refused(text, said):
    with pytest.raises(OrchqError, match=said or None):
        result(read_only(text), store())


@pytest.mark.parametrize(
    "text",
    [
        'SELECT * { ?s ?p "SERVICE <http://e.org/> { }" }',
        "SELECT ?service ?from { ?service oq:names ?from } LIMIT 1",
        "# SERVICE and FROM\nASK { ?s ?p ?o }",
        "SELECT * { ?s <http://e.org/SERVICE> ?o }",
    ],
)
def test_what_only_looks_so_is_run(text):
    assert result(read_only(text), store())


@pytest.mark.long
def test_a_refusal_is_one_sentence_and_ends_with_2(run, query):
    outcome = run("sparql", query(REFUSED[0][0]))
    assert outcome.code == 2
    assert outcome.out == ""
    assert outcome.err.count("\n") == 1


@pytest.mark.long
def test_a_query_that_takes_too_long_is_stopped(run, query):
    endless = "SELECT (COUNT(*) AS ?n) { ?a ?b ?c . ?d ?e ?f . ?g ?h ?i }"
    outcome = run("sparql", query(endless), "--time-limit", "1.5")
    assert outcome.code == 2
    assert "1.5 seconds" in outcome.err


def test_files_that_are_no_queries(run, tmp_path):
    missing = run("sparql", tmp_path / "none.rq")
    assert missing.code == 2
    assert "none.rq" in missing.err
    bad = tmp_path / "bad.rq"
    bad.write_bytes(b"\xff\xfe")
    assert run("sparql", bad).code == 2
    bad.write_bytes(b"#" * 1_000_001)
    assert "not read" in run("sparql", bad).err


def _query_past_the_refusal(port, sender):
    """In another process: run what the refusal would have stopped."""
    graph = store()
    shut_doors()
    text = f"SELECT * {{ SERVICE SILENT <http://127.0.0.1:{port}/> {{ ?s ?p ?o }} }}"
    try:
        result(text, graph)
    except OrchqError as error:
        sender.send(str(error))
    else:
        sender.send("ran")


def test_a_query_past_the_refusal_still_reaches_nobody(visited):
    pytest.importorskip("resource", reason="the system cannot shut a process off")
    port, visitors = visited
    context = multiprocessing.get_context("spawn")
    receiver, sender = context.Pipe(duplex=False)
    process = context.Process(target=_query_past_the_refusal, args=(port, sender))
    process.start()
    assert receiver.poll(30)
    assert receiver.recv()
    process.join()
    assert visitors == []
