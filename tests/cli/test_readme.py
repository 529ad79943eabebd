"""README shows what the program really prints, and commands that exist.

Run as a program, this file puts the current example into README.md.
"""

import re
from pathlib import Path

import pytest

import orchq
from orchq.report.text import text_report

PATH = Path(__file__).parents[2] / "README.md"
README = PATH.read_text(encoding="utf-8")
EXAMPLE = re.compile(r"(?<=<!-- demo -->\n```text\n).*?(?=```\n<!-- /demo -->)", re.DOTALL)
ITEMS_SHOWN = 3


def example_of(report):
    """The beginning of a report with its first findings, and its last line."""
    head = report.partition(f"\n{ITEMS_SHOWN + 1:>4}  ")[0].rstrip("\n")
    last = report.rstrip("\n").rpartition("\n")[2]
    return f"{head}\n\n[...]\n\n{last}\n"


def test_the_example_is_what_the_demo_prints(run):
    printed = run("demo").out.partition("\n\n")[2]
    (example,) = EXAMPLE.findall(README)
    assert without_times(example) == without_times(example_of(printed)), (
        "README.md is stale: python tests/cli/test_readme.py renews its example"
    )


def test_the_demo_shows_findings_and_ends_with_0(run):
    outcome = run("demo")
    assert outcome.code == 0
    assert str(orchq.demo_path()) in outcome.out
    assert re.search(r"\d+ violations?, .* notes; ", outcome.out.splitlines()[-1])


@pytest.mark.parametrize("line", re.findall(r"^orchq (.+?)(?: +#.*)?$", README, re.MULTILINE))
def test_every_command_that_readme_shows_exists(run, line):
    command, *words = line.split()
    explained = run(command, "-h").out.replace(",", " ").split()
    assert {word for word in words if word.startswith("-")} <= set(explained)


def without_times(report):
    return re.sub(r"; \d+\.\d s", "", report)


if __name__ == "__main__":
    current = example_of(text_report(orchq.Project().check(orchq.demo_path())))
    (shown,) = EXAMPLE.findall(README)
    if without_times(shown) != without_times(current):
        PATH.write_text(EXAMPLE.sub(lambda _: current, README), encoding="utf-8")
