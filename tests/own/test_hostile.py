"""Folders of strangers: nothing is run, fetched or followed, and all ends in time."""

import json
import os
import re
import subprocess
import sys
from contextlib import suppress

import pytest
from pyoxigraph import RdfFormat, serialize

import orchq
from orchq.errors import OrchqError
from orchq.knowledge import extensions
from orchq.sandbox import running
from orchq.sandbox.running import Query, select, validate, variables
from orchq.sandbox.screening import LONGEST, query_faults

RULE, QUESTION = "no-col-legno.ttl", "our-loudness.rq"
INTO = "    FILTER (?value = oq:col-legno-battuto)"
AWAY = "SERVICE <http://127.0.0.1:9/> { ?s ?p ?o }"
ENDLESS = "?a ?b ?c . ?d ?e ?f . ?g ?h ?i . ?j ?k ?l . FILTER (?c != ?l)"

LITTLE = 320 * 1024**2
"""Bytes in which the engine starts, and no answer without end has room."""

REACHING = {
    "service": AWAY,
    "service in small letters": AWAY.lower(),
    "service behind a number": f"$this oq:rank 1{AWAY}",
    "service behind a text": rf'FILTER ("a\\\"" != "b") {AWAY} FILTER ("b" != "c")',
    "service behind a comment": f"#\r {AWAY}\n",
    "service in an escape": AWAY.replace("S", r"\\u0053", 1),
    "service between two comparisons": "FILTER(?a<?b)SERVICE?x{?s?p?o}FILTER(?c>?d)",
    "service behind an IRI with brackets": f"?a <http://e.org/(a)#b> ?c . {AWAY}",
    "service behind a quote that seems an IRI": f"FILTER (?a<'>' ){AWAY} FILTER ('a'!='b')",
    "service behind an escaped sign": rf"?a oq:b\\# ?c . {AWAY}",
    "service behind a comment that seems an IRI": (
        f"FILTER (?a<?b#x>'''\n){AWAY} FILTER (?a=?b#'''\n)"
    ),
    "service in a graph": f"OPTIONAL {{ {AWAY} }}",
    "another graph": "GRAPH <http://127.0.0.1:9/> { ?s ?p ?o }",
}


@pytest.mark.sampled(3)
@pytest.mark.parametrize("name", REACHING)
def test_a_rule_that_reaches_out_is_refused(name, run, house, passage):
    folder = house()
    path = folder / RULE
    text = path.read_text(encoding="utf-8").replace(INTO, INTO + REACHING[name])
    with path.open("w", encoding="utf-8", newline="") as stream:
        stream.write(text)
    code, out, err = run("check", passage, "--with", folder, "--no-settings")
    assert (code, out) == (2, "")
    assert f"{path}:" in err
    assert len(err.splitlines()) == 1
    assert re.search(r"(?i)service|graph|ambiguous|carriage|\\u|escape outside", err)


@pytest.mark.sampled(3)
@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("BIND (?high - ?low", f"{AWAY} BIND (?high - ?low", "SERVICE"),
        ("?limit WHERE {", "?limit FROM <http://127.0.0.1:9/> WHERE {", "FROM"),
        ("SELECT $on", "LOAD <http://127.0.0.1:9/> ; SELECT $on", "SPARQL"),
        ("SELECT $on", "DELETE WHERE { ?s ?p ?o } ; SELECT $on", "SPARQL"),
        ("?limit WHERE {", "?limit WHERE { " + "{" * 40 + "}" * 40, "nests"),
        ("?limit WHERE {", "?limit WHERE { FILTER (" + "! " * 3000 + "?limit)", "repeats"),
        ("?limit WHERE {", "?limit WHERE {" + " " * LONGEST, "longer"),
    ],
)
def test_a_question_that_does_more_than_read_is_refused(run, house, old, new, said):
    folder = house(question=(old, new))
    for words in (("ask", "our-loudness", "--on", "violin"), ("ask", "--list")):
        code, out, err = run(*words, "--with", folder)
        assert (code, out) == (2, "")
        assert said in err
        assert f"{folder / QUESTION}:" in err
        assert len(err.splitlines()) == 1


SHAPES = {
    "code of JavaScript": "house:evil a sh:JSConstraint ; sh:jsLibrary [ ] .",
    "a script": 'house:evil sh:script "import os" .',
    "a function": 'house:evil a sh:SPARQLFunction ; sh:select "SELECT 1" .',
    "a rule that writes": "house:no-col-legno-violation sh:rule house:evil .",
    "a target of code": "house:no-col-legno-violation sh:target house:evil .",
    "a class that is a target": (
        "house:no-col-legno-violation a <http://www.w3.org/2002/07/owl#Class> ."
    ),
    "a shape beside": "house:evil a sh:NodeShape ; sh:targetClass oq:Event .",
    "a shape without a name": "[] a sh:NodeShape ; sh:targetClass oq:Event .",
    "other prefixes": "<https://w3id.org/orchq/shapes/prefixes> sh:declare house:evil .",
}


@pytest.mark.long
@pytest.mark.parametrize("name", SHAPES)
def test_shapes_that_do_more_than_ask_are_refused(name, run, house, passage):
    folder = house()
    path = folder / RULE
    path.write_text(f"{path.read_text(encoding='utf-8')}\n{SHAPES[name]}\n", encoding="utf-8")
    for engine in ("fast", "pyshacl"):
        code, out, err = run(
            "check", passage, "--with", folder, "--no-settings", "--engine", engine
        )
        assert (code, out) == (2, "")
        assert str(path) in err
    assert run("lint", folder)[0] == 1


@pytest.mark.long
def test_imports_are_statements_and_fetch_nothing(house, passage):
    folder = house()
    owl = "http://www.w3.org/2002/07/owl#"
    line = f"<> a <{owl}Ontology> ; <{owl}imports> <http://127.0.0.1:9/evil.ttl> .\n"
    for name in (RULE, "ours.ttl"):
        path = folder / name
        path.write_text(path.read_text(encoding="utf-8") + line, encoding="utf-8")
    graph = orchq.load([folder])
    for engine in ("fast", "pyshacl"):
        report = orchq.check(passage, knowledge=graph, engine=engine, advice=False)
        assert "no-col-legno" in {finding.rule for finding in report.findings}


# ------------------------------------------------------------------------- time and size


@pytest.mark.long
@pytest.mark.parametrize("engine", ["fast", "pyshacl"])
def test_a_rule_that_never_ends_is_ended(run, house, passage, monkeypatch, engine):
    folder = house(rule=(INTO, ENDLESS))
    monkeypatch.setattr(running, "SECONDS", 2)
    monkeypatch.setattr(running, "SECONDS_OF_REFERENCE", 2)
    code, _, err = run(
        "check", passage, "--with", folder, "--no-settings", "--engine", engine, "--no-advice"
    )
    assert code == 2
    assert f"{folder / RULE}:" in err
    assert "no-col-legno" in err
    assert "2 seconds" in err


def test_a_question_that_never_ends_is_ended(run, house, monkeypatch):
    folder = house(question=("BIND (?high", f"{ENDLESS} BIND (?high"))
    monkeypatch.setattr(running, "SECONDS", 2)
    code, out, err = run("ask", "our-loudness", "--on", "violin", "--with", folder)
    assert (code, out) == (2, "")
    assert "2 seconds" in err


def test_a_very_long_answer_is_cut_off():
    with pytest.raises(OrchqError, match=r"returns more than .* bytes"):
        select([Query("mine", "SELECT ?x ?y { ?x ?p ?q . ?y ?r ?s }")], orchq.load().quads[:700])


UNENDING = "SELECT ?x ?y ?z { ?x ?p ?q . ?y ?r ?s . ?z ?t ?u }"


@pytest.mark.long
@pytest.mark.skipif(sys.platform != "linux", reason="only Linux is known to bound the memory")
def test_an_answer_that_needs_much_memory_is_given_little():
    """The process as it is, but for how much it may take: to fill all that is slow."""
    bounds = ("60", str(LITTLE), str(os.getpid()))
    data = serialize((quad.triple for quad in orchq.load().quads[:700]), format=RdfFormat.N_TRIPLES)
    sound = "SELECT ?x { ?x ?p ?q } LIMIT 1"
    queries = [{"text": text, "bound": {}} for text in (sound, UNENDING)]
    asked = {"do": "select", "triples": data.decode(), "queries": queries}
    done = subprocess.run(
        [sys.executable, "-m", "orchq.sandbox.child", *bounds],
        input=json.dumps(asked).encode(),
        capture_output=True,
        check=False,
        timeout=60,
    )
    answer, *rest = done.stdout.splitlines()
    assert b"solutions" in answer
    assert not any(b"solutions" in each for each in rest)
    assert b"memory" in b"".join(rest) + done.stderr


@pytest.mark.nightly
def test_an_answer_without_end_is_cut_off():
    with pytest.raises(OrchqError, match=r"answers|memory|seconds"):
        select([Query("mine", UNENDING)], orchq.load().quads[:700])


def test_a_query_that_breaks_the_engine_breaks_nothing_else():
    deep = "SELECT ?x { FILTER (" + "(" * 9000 + "1" + ")" * 9000 + ") }"
    found = variables([Query("deep", deep), Query("sound", "SELECT ?x { ?x a oq:Rule }")])
    assert isinstance(found[0], str)
    assert found[1] == ("x",)
    assert any(fault.kind == "query-too-large" for fault in query_faults(deep[: LONGEST - 1]))


def test_files_that_are_too_large_or_too_many(run, house, passage, monkeypatch):
    folder = house()
    monkeypatch.setattr(extensions, "LARGEST", 1000)
    code, _, err = run("check", passage, "--with", folder, "--no-settings")
    assert code == 2
    assert "more than 1000 bytes" in err
    monkeypatch.setattr(extensions, "LARGEST", 1_000_000)
    monkeypatch.setattr(extensions, "MOST_FILES", 2)
    code, _, err = run("check", passage, "--with", folder, "--no-settings")
    assert code == 2
    assert "more than 2 files" in err


# ------------------------------------------------------------------------- the folder


def refused(run, folder):
    code, out, err = run("rules", "--with", folder)
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert run("lint", folder)[0] == 2
    return err


def test_links_out_of_the_folder_are_not_followed(run, house, tmp_path):
    secret = tmp_path / "secret.ttl"
    secret.write_text("<urn:a> <urn:b> <urn:c> .", encoding="utf-8")
    folder = house()
    (folder / "link.ttl").symlink_to(secret)
    assert "link.ttl: leads out of the folder" in refused(run, folder)
    (folder / "link.ttl").unlink()
    (folder / "away").symlink_to(tmp_path, target_is_directory=True)
    assert "away: leads out of the folder" in refused(run, folder)


@pytest.mark.long
def test_links_within_the_folder_are_read_once(run, house):
    folder = house()
    (folder / "again.ttl").symlink_to(folder / RULE)
    (folder / "round").symlink_to(folder, target_is_directory=True)
    assert run("lint", folder)[0] == 0
    assert run("rules", "no-col-legno", "--with", folder)[0] == 0


@pytest.mark.long
def test_what_is_no_file_is_not_read(run, house):
    folder = house()
    os.mkfifo(folder / "pipe.ttl")
    assert "pipe.ttl: is no ordinary file" in refused(run, folder)


def test_a_folder_with_nothing_to_read(run, tmp_path):
    empty = tmp_path / "empty"
    empty.mkdir()
    (empty / "notes.txt").write_text("nothing", encoding="utf-8")
    assert "holds no triples" in refused(run, empty)


@pytest.mark.long
@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("mine.ttl", b"this is\nno Turtle", "mine.ttl:"),
        ("mine.ttl", b"\xff\xfe\x00", "mine.ttl"),
        ("mine.rq", b"\xff\xfe\x00", "is not text in UTF-8"),
        ("deep.ttl", b"<urn:a> <urn:b> " + b"[<urn:c>" * 100_000, "deep.ttl"),
    ],
)
def test_what_cannot_be_read_names_the_file(run, house, name, data, said):
    folder = house()
    (folder / name).write_bytes(data)
    assert said in refused(run, folder)


@pytest.mark.parametrize("name", ["mine.py", "mine.csv", "mine"])
def test_a_file_of_another_kind(run, tmp_path, name):
    path = tmp_path / name
    path.write_text("print('run')", encoding="utf-8")
    code, _, err = run("rules", "--with", path)
    assert code == 2
    assert "an extension is a folder, or a file that ends in" in err


# ------------------------------------------------------------------------- the second wall


@pytest.mark.parametrize("engine", ["fast", "pyshacl"])
def test_a_query_past_the_refusal_still_reaches_nobody(engine, visited):
    pytest.importorskip("resource", reason="the system cannot shut a process off")
    port, visitors = visited
    away = f"SERVICE SILENT <http://127.0.0.1:{port}/> {{ ?s ?p ?o }}"
    sh = "http://www.w3.org/ns/shacl#"
    shapes = f"""<urn:s> a <{sh}NodeShape> ; <{sh}targetNode> <urn:n> ;
        <{sh}sparql> [ <{sh}message> "m" ; <{sh}select> "SELECT $this {{ {away} }}" ] ."""
    with suppress(OrchqError):
        if engine == "fast":
            select([Query("mine", f"SELECT * {{ {away} }}")], ())
        else:
            validate(shapes, (), "mine")
    assert visitors == []
