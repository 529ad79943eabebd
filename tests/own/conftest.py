"""The house of the guide, whole or spoilt, and the passage that its rule is about."""

import re
import shutil
from pathlib import Path

import pytest

from orchq.cli.app import main

PAGE = Path(__file__).parents[2] / "orchq" / "docs" / "add-a-rule-or-question.md"
FILES = dict(
    re.findall(
        r"^With this in `([^`]+)`:\n\n```\w+\n(.*?)^```$",
        PAGE.read_text(encoding="utf-8"),
        re.DOTALL | re.MULTILINE,
    )
)
RULE, FACTS, QUESTION = "no-col-legno.ttl", "ours.ttl", "our-loudness.rq"


@pytest.fixture
def house(tmp_path):
    """A maker of the house; what is given as (old, new) is changed in a file, ``None`` left out."""

    def make(**changes):
        folder = tmp_path / "house"
        if folder.exists():
            shutil.rmtree(folder)
        folder.mkdir()
        for name in (RULE, FACTS, QUESTION):
            (folder / name).write_text(FILES[f"house/{name}"], encoding="utf-8")
        for name, change in changes.items():
            path = folder / {"rule": RULE, "facts": FACTS, "question": QUESTION}[name]
            if change is None:
                path.unlink()
                continue
            text = path.read_text(encoding="utf-8")
            old, new = change
            assert old in text
            path.write_text(text.replace(old, new, 1), encoding="utf-8")
        return folder

    return make


@pytest.fixture
def passage(tmp_path):
    """A passage struck with the stick, drawn with the stick, and bounced."""
    path = tmp_path / "passage.ttl"
    path.write_text(FILES["passage.ttl"], encoding="utf-8")
    return path


@pytest.fixture
def run(capfd, monkeypatch, tmp_path):
    """Call the command line in a folder without settings: exit code, output, errors."""
    monkeypatch.chdir(tmp_path)

    def call(*words):
        code = main([str(word) for word in words])
        out, err = capfd.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return call
