"""The commands that README and the pages show are run, and answer as shown.

Run as a program, this file puts the current answers into them.
"""

import re
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
import yaml

TOP = Path(__file__).parents[2]
DOCS = TOP / "orchq" / "docs"
PAGES = (TOP / "README.md", DOCS / "validate-excerpts-in-ci.md", DOCS / "three-uses.md")
FILE = re.compile(
    r"`([\w/-]+\.(?:ttl|musicxml|rq))`:\n\n```(?:turtle|xml|sparql)\n(.*?)```", re.DOTALL
)
ANSWER = re.compile(
    r"(?<=<!-- answer -->\n)```sh\norchq (.*?)\n```\n\n```text\n(.*?)```\n(?=<!-- /answer -->)",
    re.DOTALL,
)
SETTINGS = re.compile(r"```yaml\n(.*?)```", re.DOTALL)
TIMES = re.compile(r"; \d+\.\d s| time=\"\d+\.\d+\"")
MOST_LINES = 24


def answered(command, folder):
    """What a command prints, or its beginning; times differ from run to run."""
    words = [word.strip('"') for word in re.findall(r'"[^"]*"|\S+', command)]
    done = subprocess.run(
        [sys.executable, "-m", "orchq", *words],
        cwd=folder, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stderr == ""
    lines = TIMES.sub("", done.stdout).splitlines()
    shown = lines if len(lines) <= MOST_LINES + 2 else [*lines[:MOST_LINES], "[...]"]
    return "".join(f"{line}\n" for line in shown)


def with_files(text, folder):
    """Write the files that a page shows into a folder."""
    for name, content in FILE.findall(text):
        path = Path(folder) / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(content, encoding="utf-8")
    return folder


def shown():
    """Every page with each of its commands and answers."""
    for page in PAGES:
        for command, answer in ANSWER.findall(page.read_text(encoding="utf-8")):
            yield pytest.param(page, command, answer, id=f"{page.stem}: {command}")


@pytest.mark.sampled(3)
@pytest.mark.parametrize(("page", "command", "answer"), list(shown()))
def test_a_page_shows_what_the_program_answers(tmp_path, page, command, answer):
    with_files(page.read_text(encoding="utf-8"), tmp_path)
    assert answered(command, tmp_path) == answer, (
        f"{page.name} is stale: python tests/cli/test_shown_answers.py renews its answers"
    )


@pytest.mark.parametrize(
    ("page", "answers", "files"),
    [
        (PAGES[0], 1, set()),
        (PAGES[1], 3, {"excerpts/passage.ttl", "scores/cellos.musicxml"}),
        (PAGES[2], 4, {"at-ff.rq", "passage.ttl", "octave-violin.ttl"}),
    ],
)
def test_a_page_shows_its_uses(page, answers, files):
    text = page.read_text(encoding="utf-8")
    assert len(ANSWER.findall(text)) == answers
    assert {name for name, _ in FILE.findall(text)} == files


def test_settings_shown_for_ci_use_inputs_and_hooks_that_exist():
    action = yaml.safe_load(
        (TOP / ".github" / "actions" / "check" / "action.yml").read_text(encoding="utf-8")
    )
    hooks = yaml.safe_load((TOP / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
    known = {hook["id"] for hook in hooks}
    inputs, ids = set(), set()
    for block in SETTINGS.findall(PAGES[1].read_text(encoding="utf-8")):
        settings = yaml.safe_load(block)
        for job in settings.get("jobs", {}).values():
            for step in job["steps"]:
                inputs |= set(step.get("with", ())) if "orchq" in step["uses"] else set()
        for repository in settings.get("repos", ()):
            ids |= {hook["id"] for hook in repository["hooks"]}
    assert inputs
    assert inputs <= set(action["inputs"])
    assert ids == known


def renewed(text):
    """The text of a page with the current answers."""
    with tempfile.TemporaryDirectory() as folder:
        with_files(text, folder)
        return ANSWER.sub(
            lambda found: (
                f"```sh\norchq {found[1]}\n```\n\n```text\n{answered(found[1], folder)}```\n"
            ),
            text,
        )


if __name__ == "__main__":
    for each in PAGES:
        each.write_text(renewed(each.read_text(encoding="utf-8")), encoding="utf-8")
