"""The guide to rules and questions of one's own is followed to the letter."""

import re
import shlex
from pathlib import Path

import pytest

import orchq
from orchq.knowledge import extensions
from orchq.sandbox import running, screening

PAGE = Path(__file__).parents[2] / "orchq" / "docs" / "add-a-rule-or-question.md"
TEXT = PAGE.read_text(encoding="utf-8")
COMMANDS = re.findall(r"^orchq .*$", TEXT, re.MULTILINE)
NUMBER = re.compile(r"\d[\d,]*")


@pytest.fixture
def follow(house, passage, run):
    house()
    assert passage.exists()

    def call(command):
        code, out, err = run(*shlex.split(command)[1:])
        assert err == ""
        return code, out

    return call


@pytest.mark.long
def test_the_guide_leads_to_a_rule_and_a_question_that_work(follow):
    lint, check, reference, rule, ask, listed = COMMANDS
    assert follow(lint) == (0, "no faults\n")
    code, told = follow(check)
    assert code == 1
    assert "col legno battuto is not for our old bows" in told
    assert "col legno tratto spoils the hair of our old bows" in told
    assert "House contract, section 4 (published)" in told
    code, other = follow(reference)
    assert code == 1
    assert _without_time(other) == _without_time(told)
    assert "old and lent" in follow(rule)[1]
    answer = follow(ask)[1]
    assert re.search(r"^  softest +mp$", answer, re.MULTILINE)
    assert "House contract, section 7 (published)" in answer
    assert "house/our-loudness.rq" in follow(listed)[1]


@pytest.mark.long
def test_the_settings_and_the_python_of_the_guide(follow, tmp_path):
    settings = re.search(r"```toml\n(.*?)```", TEXT, re.DOTALL)
    assert settings is not None
    (tmp_path / "orchq.toml").write_text(settings[1], encoding="utf-8")
    code, told = follow("orchq check passage.ttl --rules no-col-legno")
    assert code == 1
    assert "no-col-legno" in told
    graph = orchq.load(["house"])
    (answer,) = graph.ask.question("our-loudness", {"on": "violin"})
    assert answer.loudest == "f"
    assert "no-col-legno" in {rule.slug for rule in orchq.catalogue(graph)}


def test_the_bounds_are_those_that_the_guide_tells():
    told = {
        int(number.replace(",", ""))
        for number in re.findall(r"\d[\d,]*", TEXT[TEXT.rindex("## ") :])
    }
    bounds = {
        extensions.MOST_FILES, extensions.LARGEST // 1_000_000,
        screening.LONGEST, screening.DEEPEST,
        int(running.SECONDS), int(running.SECONDS_OF_REFERENCE),
    }  # fmt: skip
    assert bounds <= told


def _without_time(text):
    return re.sub(r"; [\d.]+ s$", "", text, flags=re.MULTILINE)
