"""The uses that README shows are run, and answer as README says.

Run as a program, this file puts the current answers into README.md.
"""

import re
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

PATH = Path(__file__).parents[2] / "README.md"
FILE = re.compile(r"`([\w-]+\.ttl)`:\n\n```turtle\n(.*?)```", re.DOTALL)
ANSWER = re.compile(
    r"(?<=<!-- answer -->\n)```sh\norchq (.*?)\n```\n\n```text\n(.*?)```\n(?=<!-- /answer -->)",
    re.DOTALL,
)
MOST_LINES = 24


def answered(command, folder):
    """What a command prints, or its beginning; times differ from run to run."""
    words = [word.strip('"') for word in re.findall(r'"[^"]*"|\S+', command)]
    done = subprocess.run(
        [sys.executable, "-m", "orchq", *words],
        cwd=folder, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stderr == ""
    lines = re.sub(r"; \d+\.\d s", "", done.stdout).splitlines()
    shown = lines if len(lines) <= MOST_LINES + 2 else [*lines[:MOST_LINES], "[...]"]
    return "".join(f"{line}\n" for line in shown)


def with_files(text, folder):
    """Write the files that README shows into a folder."""
    for name, content in FILE.findall(text):
        (Path(folder) / name).write_text(content, encoding="utf-8")
    return folder


@pytest.mark.parametrize(("command", "answer"), ANSWER.findall(PATH.read_text(encoding="utf-8")))
def test_readme_shows_what_the_program_answers(tmp_path, command, answer):
    with_files(PATH.read_text(encoding="utf-8"), tmp_path)
    assert answered(command, tmp_path) == answer, (
        "README.md is stale: python tests/questions/test_readme_uses.py renews its answers"
    )


def test_readme_shows_three_uses():
    text = PATH.read_text(encoding="utf-8")
    assert len(ANSWER.findall(text)) == 3
    assert {name for name, _ in FILE.findall(text)} == {"passage.ttl", "octave-violin.ttl"}


def renewed(text):
    """The text of README with the current answers."""
    with tempfile.TemporaryDirectory() as folder:
        with_files(text, folder)
        return ANSWER.sub(
            lambda found: (
                f"```sh\norchq {found[1]}\n```\n\n```text\n{answered(found[1], folder)}```\n"
            ),
            text,
        )


if __name__ == "__main__":
    PATH.write_text(renewed(PATH.read_text(encoding="utf-8")), encoding="utf-8")
