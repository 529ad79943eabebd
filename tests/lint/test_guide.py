"""The guide to a new instrument is followed to the letter."""

import json
import re
import shlex
from pathlib import Path

import pytest

from orchq.cli.app import main

PAGE = Path(__file__).parents[2] / "orchq" / "docs" / "add-an-instrument.md"
TEXT = PAGE.read_text(encoding="utf-8")
COMMANDS = re.findall(r"^orchq .*$", TEXT, re.MULTILINE)
ANSWERS = re.findall(r'^\| `("TODO [^`]*")` \| `([^`]*)` \|$', TEXT, re.MULTILINE)
PART = re.search(r"`(part\.musicxml)`:\n\n```xml\n(.*?)```", TEXT, re.DOTALL)


def _written(command):
    """The file that a command is told to write."""
    words = shlex.split(command)
    return words[words.index("-o") + 1] if "-o" in words else ""


pytestmark = pytest.mark.long


@pytest.fixture
def follow(monkeypatch, tmp_path, capfd):
    monkeypatch.chdir(tmp_path)

    def run(command):
        code = main(shlex.split(command)[1:])
        out, err = capfd.readouterr()
        assert err == (f"wrote {out_name}\n" if (out_name := _written(command)) else "")
        return code, out

    return run


def test_the_guide_leads_to_an_instrument_that_is_read_asked_about_and_checked(follow, tmp_path):
    new, lint, again, check, *questions = COMMANDS
    extension = tmp_path / "tenor-violin.ttl"
    assert follow(new) == (0, "")
    skeleton = extension.read_text(encoding="utf-8")

    code, told = follow(f"{lint} --format json")
    assert code == 1
    found = json.loads(told)["files"][0]["findings"]
    assert {finding["rule"] for finding in found} == {"question-left-open"}
    lines = [n for n, line in enumerate(skeleton.splitlines(), 1) if '"TODO' in line]
    assert sorted(finding["line"] for finding in found) == lines

    assert len(ANSWERS) == len(lines)
    for question, answer in ANSWERS:
        assert skeleton.count(question) == 1
        skeleton = skeleton.replace(question, answer)
    extension.write_text(skeleton, encoding="utf-8")
    assert follow(again) == (0, "no faults\n")

    assert PART is not None
    (tmp_path / PART[1]).write_text(PART[2], encoding="utf-8")
    code, told = follow(f"{check} --format json")
    (report,) = json.loads(told)["files"]
    assert code == 1
    assert [part["instrument"] for part in report["parts"]] == ["tenor-violin"]
    findings = {(f["beat"], f["rule"], f["severity"]) for f in report["findings"]}
    assert findings == {(3.0, "note-below-lowest-string", "violation")}

    assert len(questions) == 3
    strings, compass, techniques = (json.loads(follow(q)[1])["answers"] for q in questions)
    assert [(each["number"], each["semitones"]) for each in strings] == [(4, 4)]
    assert [(each["lowest"], each["highest"]) for each in compass] == [("G2", "A5")]
    assert "tremolo, unmeasured" in {each["technique"] for each in techniques}
    assert "spiccato" not in {each["technique"] for each in techniques}
