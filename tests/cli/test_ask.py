"""``orchq ask`` as people and programs call it."""

import json
import subprocess
import sys
import xml.etree.ElementTree as ET

import pytest

from orchq.cli import ask as module
from orchq.questions import catalogue


def test_an_answer_for_people(run):
    outcome = run("ask", "dynamics", "--on", "Geige", "--technique", "spicc.")
    assert outcome.code == 0
    assert outcome.err == ""
    rows = [line.split() for line in outcome.out.splitlines() if line.startswith("spiccato")]
    # Both opinions stand side by side, each with its number.
    assert rows == [
        ["spiccato", "p", "mp", "common", "practice", "yes", "1"],
        ["spiccato", "pp", "f", "memory", "yes", "2"],
    ]
    assert "  1  common practice: " in outcome.out
    assert "  2  memory: " in outcome.out


def test_an_answer_for_programs(run):
    arguments = ["--on", "violin", "--at", "ff", "--pitch", "Eb5", "--all"]
    outcome = run("ask", "techniques", *arguments, "--json")
    assert outcome.code == 0
    document = json.loads(outcome.out)
    assert document["question"] == "techniques"
    assert document["parameters"] == {"on": "violin", "at": "ff", "pitch": "Eb5", "all": True}
    assert {answer["verdict"] for answer in document["answers"]} == {
        "allowed",
        "disputed",
        "unusual",
        "not allowed",
    }
    assert outcome.out.isascii()


@pytest.mark.parametrize("question", catalogue(), ids=lambda each: each.name)
def test_every_question_explains_itself(run, question):
    outcome = run("ask", question.name, "--help")
    assert outcome.code == 0
    for parameter in question.parameters:
        assert f"--{parameter.name}" in outcome.out
    assert question.examples[0].words in outcome.out


def test_help_tells_the_accepted_values(run):
    out = run("ask", "techniques", "-h").out
    assert "double bass" in out
    assert "pppp, ppp, pp" in out
    assert "glassy" in run("ask", "colours", "--help").out


def test_the_list_has_every_question_with_an_example(run):
    out = run("ask", "--list").out
    for question in catalogue():
        assert f"\n    orchq ask {question.name}" in out


def test_general_help(run):
    out = run("ask", "--help").out
    assert out.startswith("usage: orchq ask QUESTION")
    assert all(f"  {question.name} " in out for question in catalogue())
    assert "ask" in run("-h").out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["ask"], "--list"),
        (["ask", "tecniques"], "techniques"),
        (["ask", "dynamics", "--on", "violin", "--technique", "spicato"], "did you mean spiccato?"),
        (["ask", "dynamics", "--on", "violin", "--technique", "double-tongue"], "no technique"),
        (["ask", "techniques", "--on", "violin"], "needs --at"),
        (["ask", "techniques", "--on", "violin", "--at"], "--at lacks its value"),
        (["ask", "techniques", "--on", "violin", "--on", "viola", "--at", "f"], "twice"),
        (["ask", "compass", "--in", "violin"], "has no --in"),
        (["ask", "compass", *["violin", "legato", "student", "berlioz", "one", "two"]], "too many"),
        (["ask", "compass", "--on", "violin", "--level", "studnt"], "student"),
        (["ask", "terms", "--for", "arco", "--level", "studnt"], "student"),
        (["ask", "compass", "--on", "violin", "--level"], "lacks its value"),
        (["ask", "techniques", "--on=violin", "--at=f", "--all=yes"], "takes no value"),
        (["ask", "strings", "--on", "violin", "--pitch", "X"], "not a pitch"),
        (["ask", "compass", "--on", '" } #'], "no name"),
        (["ask", "compass", "--on", "violin", "--with", "nothing.ttl"], "nothing.ttl"),
        (["ask", "terms", "--for", "arco", "--plot", "x.svg"], "cannot be drawn"),
    ],
)
def test_a_wrong_call_ends_with_2_and_one_sentence(run, arguments, said):
    outcome = run(*arguments)
    assert outcome.code == 2
    assert outcome.out == ""
    assert outcome.err.count("\n") == 1
    assert said in outcome.err


def test_no_answer_is_no_failure(run):
    outcome = run("ask", "strings", "--on", "violin", "--pitch", "F#3")
    assert outcome.code == 0
    assert "below the lowest string" in outcome.out


def test_values_may_stand_behind_an_equals_sign(run):
    outcome = run("ask", "strings", "--on=alto", "--pitch=B flat 4", "--json")
    assert json.loads(outcome.out)["parameters"] == {"on": "viola", "pitch": "Bb4"}


def test_level_and_trust_are_heard(run):
    outcome = run("ask", "compass", "--on", "viola", "--level", "orchestral", "--trust", "berlioz",
                  "--json")  # fmt: skip
    document = json.loads(outcome.out)
    assert document["parameters"] == {"on": "viola", "level": "orchestral", "trust": "berlioz"}
    assert [answer["highest"] for answer in document["answers"]] == ["C6"]


def test_what_an_extension_adds_is_asked_about(run, tmp_path):
    path = tmp_path / "mine.ttl"
    path.write_text(
        "@prefix oq: <https://w3id.org/orchq/> .\n"
        "<https://example.org/mine> a oq:DynamicEnvelope ; oq:limitsTechnique oq:spiccato ;\n"
        "    oq:onInstrument oq:violin ; oq:softest oq:ppp ; oq:loudest oq:fff ;\n"
        '    oq:statement "My violinists do it." ; oq:hasBasis oq:common-practice .\n',
        encoding="utf-8",
    )
    arguments = ["ask", "techniques", "--on", "violin", "--at", "ff", "--json"]
    without = {a["technique"] for a in json.loads(run(*arguments).out)["answers"]}
    extended = json.loads(run(*arguments, "--with", path).out)["answers"]
    assert "spiccato" not in without
    assert "spiccato" in {a["technique"] for a in extended if a["verdict"] == "allowed"}


@pytest.mark.long
@pytest.mark.parametrize(
    "arguments",
    [
        ["techniques", "--on", "violin", "--at", "ff", "--all"],
        ["dynamics", "--on", "double bass"],
        ["strings", "--on", "violin", "--pitch", "B4"],
        ["harmonics", "--on", "cello", "--pitch", "A5", "--all"],
    ],
)
def test_answers_are_drawn(run, tmp_path, arguments):
    drawing = tmp_path / "drawing.svg"
    assert run("ask", *arguments, "--plot", drawing).code == 0
    first = drawing.read_bytes()
    root = ET.fromstring(first)  # noqa: S314 - our own
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    texts = {"".join(node.itertext()).strip() for node in root.iter() if node.tag.endswith("text")}
    assert any(arguments[0] in text for text in texts)
    assert run("ask", *arguments, "--plot", drawing).code == 0
    assert drawing.read_bytes() == first


def test_nothing_to_draw_leaves_no_file(run, tmp_path):
    drawing = tmp_path / "drawing.svg"
    outcome = run("ask", "strings", "--on", "violin", "--pitch", "C2", "--plot", drawing)
    assert outcome.code == 2
    assert not drawing.exists()


@pytest.mark.parametrize("columns", ["40", "80", "100", "200"])
def test_tables_break_no_word_however_narrow(run, monkeypatch, columns):
    look = {"width": int(columns), "colour": False, "unicode": True}
    monkeypatch.setattr(module, "look", lambda out: look)
    out = run("ask", "harmonics", "--on", "violin", "--pitch", "E6").out
    assert "artificial" in out
    assert "unreliable" in out


def test_a_question_loads_no_library_that_it_does_not_need(run_python):
    loaded = run_python(
        "import sys; from orchq.cli.app import main; main(['ask', 'levels']); "
        "print(sorted({'typer', 'lxml', 'rdflib', 'pyshacl', 'matplotlib', 'owlready2', 'music21',"
        " 'numpy'} & set(sys.modules)))"
    )
    assert loaded.splitlines()[-1] == "[]"


@pytest.fixture
def run_python():
    def call(code):
        done = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True
        )
        return done.stdout

    return call


def test_values_without_a_name_are_taken_in_order(run):
    by_name = run("ask", "techniques", "--on", "violin", "--at", "ff")
    assert run("ask", "techniques", "violin", "ff").out == by_name.out
    assert run("ask", "techniques", "ff", "--on", "violin").out == by_name.out


def test_pitches_may_stand_as_words_of_their_own(run):
    together = run("ask", "stops", "violin", "G3 D4 B4").out
    assert run("ask", "stops", "violin", "G3", "D4", "B4").out == together
    assert "level student" in run("ask", "stops", "violin", "G3 D4", "student").out
    assert run("ask", "stops", "violin", "G3", "D4", "student", "x").code == 2


def test_drawings_are_svg(run, tmp_path):
    ended = run("ask", "stops", "violin", "G3 D4", "--plot", tmp_path / "stop.pdf")
    assert ended.code == 2
    assert "name it stop.svg" in ended.err
    assert not list(tmp_path.iterdir())


def test_json_is_asked_for_in_either_way_and_goes_to_a_file(run, tmp_path):
    words = ("ask", "strings", "violin", "A4")
    plain = run(*words, "--json")
    assert json.loads(plain.out)["question"] == "strings"
    out = tmp_path / "answer.json"
    written = run(*words, "--format", "json", "-o", out)
    assert (written.out, written.err) == ("", f"wrote {out}\n")
    assert out.read_text(encoding="utf-8") == plain.out


def test_german_names_are_read_and_b_must_be_said(run):
    assert "pitch F#4" in run("ask", "strings", "violin", "fis'").out
    assert "pitches B3 Bb4" in run("ask", "stops", "violin", "H3 B4", "--german").out
    refused = run("ask", "stops", "violin", "H3 B4")
    assert refused.code == 2
    assert "--german" in refused.err


def test_a_shipped_extension_is_named(run):
    refused = run("ask", "pedals", "--on", "Harfe", "--pitches", "C4")
    assert refused.code == 2
    assert "add --with harp" in refused.err
