import json
import subprocess
import sys
from importlib.metadata import version

import pyoxigraph
import pytest

import orchq
from orchq.errors import ReadError

TRIPLES = '<https://example.org/ü> <https://example.org/says> "a\\u001B[2Jb ü" .\n'
FORMATS = {
    "turtle": pyoxigraph.RdfFormat.TURTLE,
    "nt": pyoxigraph.RdfFormat.N_TRIPLES,
    "jsonld": pyoxigraph.RdfFormat.JSON_LD,
}


@pytest.fixture
def exporter(monkeypatch):
    """A stand-in for the export; returns the formats it was asked for."""
    asked = []

    def export(path, *, knowledge, **options):
        if path.name.startswith("bad"):
            raise ReadError(f"{path}: line 3: not well-formed")
        asked.append(options["format"])
        return TRIPLES

    monkeypatch.setattr(orchq, "export", export)
    return asked


def test_the_version_is_that_of_the_package(run):
    outcome = run("--version")
    assert (outcome.code, outcome.out) == (0, f"orchq {version('orchq')}\n")


@pytest.mark.parametrize("option", ["-h", "--help"])
@pytest.mark.parametrize("command", [(), ("check",), ("export",), ("rules",), ("demo",)])
def test_every_command_explains_itself(run, command, option):
    outcome = run(*command, option)
    assert outcome.code == 0
    assert outcome.out.startswith(f"Usage: {' '.join(('orchq', *command))}")
    assert outcome.err == ""


@pytest.mark.parametrize("triple_format", ["turtle", "nt", "jsonld"])
def test_export_writes_the_format_asked_for(run, exporter, score, tmp_path, triple_format):
    out = tmp_path / "piece.triples"
    assert run("export", score(), "-o", out, "--format", triple_format).code == 0
    assert exporter == [triple_format]
    assert out.read_text(encoding="utf-8") == TRIPLES


def test_export_goes_to_standard_output_in_turtle(run, exporter, score):
    outcome = run("export", score())
    assert (outcome.code, outcome.out) == (0, TRIPLES)
    assert exporter == ["turtle"]


@pytest.mark.parametrize(
    "arguments",
    [
        ("bad.musicxml",),
        ("piece.musicxml", "--format", "xml"),
        ("piece.musicxml", "-o", "no/such/o"),
    ],
)
def test_export_that_fails_ends_with_2_and_leaves_nothing(
    run, exporter, score, tmp_path, arguments
):
    name, *options = arguments
    outcome = run("export", score(name), *options)
    assert outcome.code == 2
    assert outcome.out == ""
    assert outcome.err.count("\n") == 1
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_the_catalogue_lists_every_rule(run):
    table = run("rules")
    assert table.code == 0
    listed = json.loads(run("rules", "--json").out)["rules"]
    assert {rule["rule"] for rule in listed} == {rule.slug for rule in orchq.catalogue()}
    assert listed
    for rule in listed:
        assert rule["rule"] in table.out


def test_one_rule_has_a_page(run):
    slug = orchq.catalogue()[0].slug
    assert slug in run("rules", slug).out
    (rule,) = json.loads(run("rules", slug, "--json").out)["rules"]
    assert rule["rule"] == slug


def test_an_unknown_rule_brings_the_nearest(run):
    slug = orchq.catalogue()[0].slug
    outcome = run("rules", slug[:-1])
    assert outcome.code == 2
    assert slug in outcome.err


def test_light_commands_load_no_heavy_library():
    code = (
        "import sys; from orchq.cli.app import main; main(['--version']); "
        "print(sorted({'rdflib', 'pyshacl', 'owlready2', 'music21'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
