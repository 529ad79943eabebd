"""Checks by a script: settings, baseline and report formats without the command line."""

import json
import re
from pathlib import Path

import pytest

import orchq
from orchq.baseline import baseline_of
from orchq.cli.app import main
from orchq.errors import OrchqError
from orchq.project import judge

PAGE = Path(__file__).parents[2] / "orchq" / "docs" / "use-it.md"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder with two scores, settings, and a baseline that knows the first of them."""
    monkeypatch.chdir(tmp_path)
    score = orchq.demo_path().read_bytes()
    for name in ("first.musicxml", "second.musicxml"):
        Path(name).write_bytes(score)
    Path("orchq.toml").write_text(
        'fail-on = "warning"\n[severities]\n"note-below-lowest-string" = "warning"\n'
        '[rules]\nrun = ["note-below-lowest-string"]\n',
        encoding="utf-8",
    )
    known = orchq.Project(settings="orchq.toml").check("first.musicxml").reports
    path = Path("known.json")
    path.write_text(baseline_of(known, path).text(), encoding="utf-8")
    return tmp_path


@pytest.mark.long
def test_the_script_of_the_page_writes_what_the_command_line_writes(folder, capsys):
    """Five lines, as the page shows them; their SARIF is that of ``orchq check``."""
    scripts = re.findall(r"```python\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    (script,) = (script for script in scripts if "Project" in script)
    assert len([line for line in script.splitlines() if line]) == 5
    exec(compile(script, "use-it.md", "exec"), {})  # noqa: S102 - it is ours
    written = json.loads(Path("findings.sarif").read_text(encoding="utf-8"))
    files = ("first.musicxml", "second.musicxml")
    code = main(["check", *files, "--baseline", "known.json", "--format", "sarif"])
    assert (code, json.loads(capsys.readouterr().out)) == (1, written)
    results = written["runs"][0]["results"]
    assert {result["ruleId"] for result in results} == {"note-below-lowest-string"}
    assert {result["level"] for result in results} == {"warning"}
    accepted = [result for result in results if "suppressions" in result]
    assert 0 < len(accepted) == len(results) / 2


@pytest.mark.long
def test_what_cannot_be_read_hides_nothing_and_keeps_its_place(folder):
    outcome = orchq.Project().check(["none.musicxml", "first.musicxml"])
    document = json.loads(orchq.format_report(outcome, "json"))
    none, first = document["files"]
    assert none["file"] == "none.musicxml"
    assert none["error"]
    assert "findings" not in none
    assert first["findings"]
    assert outcome.exit_code == 2


def test_the_outcome_fails_from_its_threshold_on(folder):
    mild = orchq.Project(settings="orchq.toml")
    assert mild.check("first.musicxml").exit_code == 1
    strict = orchq.Project(settings="orchq.toml", fail_on="violation")
    assert strict.check("first.musicxml").exit_code == 0


@pytest.mark.parametrize(
    ("wrong", "kind"),
    [
        ({"level": "studnet"}, "level"),
        ({"trust": "nobody"}, "source"),
        ({"rules": ["no-such-rule"]}, "rule"),
        ({"engine": "slow"}, "engine"),
    ],
)
def test_a_name_that_is_not_known_is_refused_before_anything_is_read(wrong, kind):
    with pytest.raises(OrchqError, match=f"no {kind} is called"):
        orchq.Project(**wrong)


def test_an_outcome_cannot_be_changed(folder):
    outcome = orchq.Project(rules=["note-above-compass"]).check("first.musicxml")
    with pytest.raises(AttributeError):
        outcome.files = ()


def test_the_short_way_loads_the_graph_once(folder, monkeypatch):
    given = []
    real = judge.derive

    def derive(score, knowledge, **options):
        given.append(knowledge)
        return real(score, knowledge, **options)

    monkeypatch.setattr(judge, "derive", derive)
    for file in ("first.musicxml", "second.musicxml"):
        orchq.check(file, advice=False, rules=["note-above-compass"])
    assert given[0] is given[1] is orchq.load()


def test_a_format_that_is_not_known_is_refused(folder):
    with pytest.raises(OrchqError, match="sarif"):
        orchq.format_report(orchq.Project().check([]), "sarf")
