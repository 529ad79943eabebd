"""An extension that changes the core is refused; where it is allowed, every report says so."""

import json

import pytest

import orchq
from orchq.cli.app import main
from orchq.errors import OrchqError
from orchq.lint import lint
from orchq.project import Project
from orchq.report.formats import FOR_PROGRAMS, format_report

PREFIXES = """@prefix oq: <https://w3id.org/orchq/> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
"""
CHANGES = {
    "a string's pitch": 'oq:violin-string-4 oq:openPitch "C3" .',
    "a transposition": "oq:violin oq:soundsOctavesAbove -1 .",
    "a label": 'oq:spiccato skos:prefLabel "<script>legato</script>"@en .',
    "a limit": "oq:limit-dynamics-spiccato-memory oq:loudest oq:fff .",
    "a tuning, to what is new": "oq:violin oq:hasStandardTuning <urn:nope> .",
    "a name of the core": "oq:violin-g-string a oq:String .",
}
SCORE = """<score-partwise><part-list><score-part id="P1"><part-name>Violin</part-name></score-part>
</part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions></attributes>
<note><pitch><step>D</step><octave>3</octave></pitch><duration>1</duration></note></measure></part>
</score-partwise>"""


@pytest.fixture
def extension(tmp_path):
    def write(statement):
        path = tmp_path / "over.ttl"
        path.write_text(PREFIXES + statement, encoding="utf-8")
        return path

    return write


@pytest.fixture
def score(tmp_path):
    path = tmp_path / "score.musicxml"
    path.write_text(SCORE, encoding="utf-8")
    return path


@pytest.mark.sampled(3)
@pytest.mark.parametrize("name", CHANGES)
def test_a_change_of_the_core_is_refused_and_linted(extension, name):
    path = extension(CHANGES[name])
    with pytest.raises(OrchqError, match="changes the core: oq:"):
        orchq.load([path])
    assert lint([path]).faults


def test_a_term_of_the_core_that_is_none_is_refused(extension):
    path = extension("<urn:mine> a oq:Instument .")
    with pytest.raises(orchq.UnknownTermError, match="oq:Instument"):
        orchq.load([path], allow_override=True)


def test_a_link_to_what_is_new_is_no_change(extension):
    path = extension('<urn:bow> a oq:Articulation ; skos:prefLabel "x"@en .')
    (found,) = orchq.load([path, "mandolin"]).extensions[:1]
    assert (found.name, found.changes) == (str(path), ())


def test_every_report_names_extensions_and_what_they_change(extension, score):
    path = extension(CHANGES["a string's pitch"])
    project = Project(extensions=["harp", path], allow_override=True, advice=False)
    outcome = project.check(score)
    assert not outcome.reports[0].findings  # the D is on the string now
    assert Project(advice=False).check(score).reports[0].findings
    for name in ("text", "html", *FOR_PROGRAMS):
        report = " ".join(format_report(outcome, name).split())
        assert str(path) in report.replace("\\\\", "\\"), name
        assert "harp" in report, name
        assert "oq:violin-string-4 oq:openPitch" in report, name
    told = json.loads(format_report(outcome, "json"))["extensions"]
    assert told[1] == {"name": str(path), "changes": ["oq:violin-string-4 oq:openPitch C3"]}


def test_the_command_line_takes_a_change_only_when_told_to(extension, score, capfd):
    path = extension(CHANGES["a string's pitch"])
    call = ["check", str(score), "--no-settings", "--no-advice", "--with", str(path)]
    assert main(call) == 2
    assert "--allow-override" in capfd.readouterr().err
    assert main([*call, "--allow-override"]) == 0
    assert "it changes the core" in " ".join(capfd.readouterr().out.split())
