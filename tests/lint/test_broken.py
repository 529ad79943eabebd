"""Broken extensions: broken.toml says which fault is told of each, on which line."""

import json
import re
import tomllib
from pathlib import Path

import pytest

from orchq.cli.app import main
from orchq.knowledge.data_files import extension_path

HERE = Path(__file__).parent
FILES = sorted((HERE / "broken").glob("*.ttl"))
EXPECTED = tomllib.loads((HERE / "broken.toml").read_text(encoding="utf-8"))


@pytest.mark.sampled(15)
@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_broken_extension_is_told_where_and_why(path, capfd):
    expected = EXPECTED[path.stem]
    assert main(["lint", str(path), "--format", "json"]) == 1
    out, err = capfd.readouterr()
    assert err == ""
    ((findings, file),) = ((f["findings"], f["file"]) for f in json.loads(out)["files"])
    assert file == str(path)
    grave = [f for f in findings if f["severity"] == "violation"]
    told = {(f["rule"], f["line"]) for f in grave}
    assert (expected["rule"], expected["line"]) in told
    assert expected["word"] in next(f["message"] for f in grave if f["rule"] == expected["rule"])
    assert all(f["line"] for f in findings)


def test_there_are_thirty():
    assert len(FILES) >= 30
    assert {path.stem for path in FILES} == set(EXPECTED)


@pytest.mark.parametrize(
    ("name", "text", "word"),
    [
        ("not-turtle.ttl", "this is\nno Turtle", "not-turtle.ttl:"),
        ("mine.txt", "", "mine.txt: an extension is a folder"),
        ("absent.ttl", None, "absent.ttl: cannot be read"),
    ],
)
def test_what_cannot_be_read_ends_with_two(tmp_path, capfd, name, text, word):
    path = tmp_path / name
    if text is not None:
        path.write_text(text, encoding="utf-8")
    assert main(["lint", str(path)]) == 2
    out, err = capfd.readouterr()
    assert out == ""
    assert word in err
    assert len(err.splitlines()) == 1


def test_a_file_that_cannot_be_read_does_not_hide_the_others(tmp_path, capfd):
    absent = tmp_path / "absent.ttl"
    path = next(each for each in FILES if each.stem == "technique-misspelt")
    assert main(["lint", str(absent), str(path), "--format", "sarif"]) == 2
    out, err = capfd.readouterr()
    assert err.count("absent.ttl") == len(err.splitlines()) == 1
    (run,) = json.loads(out)["runs"]
    assert "undefined-term" in {result["ruleId"] for result in run["results"]}
    (invocation,) = run["invocations"]
    assert not invocation["executionSuccessful"]
    assert len(invocation["toolExecutionNotifications"]) == 1


@pytest.mark.long
@pytest.mark.parametrize(
    ("fail_on", "code"), [("violation", 0), ("warning", 1), ("info", 1), ("never", 0)]
)
def test_the_mildest_fault_that_counts_is_chosen(tmp_path, capfd, fail_on, code):
    text = extension_path("mandolin").read_text(encoding="utf-8")
    path = tmp_path / "mine.ttl"
    path.write_text(text.replace('oq:musicxmlSound "pluck.mandolin" ;', ""), encoding="utf-8")
    assert main(["lint", str(path), "--fail-on", fail_on]) == code
    assert "warning" in capfd.readouterr().out


def test_nothing_to_lint_ends_with_two(capfd):
    assert main(["lint"]) == 2
    assert "--reason" in capfd.readouterr().err


def test_the_text_names_file_line_and_rule(capfd):
    path = next(each for each in FILES if each.stem == "technique-misspelt")
    assert main(["lint", str(path)]) == 1
    first, *_ = capfd.readouterr().out.splitlines()
    assert re.fullmatch(rf"{re.escape(str(path))}:\d+: violation: .*\[undefined-term\]", first)
