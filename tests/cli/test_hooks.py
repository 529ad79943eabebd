"""The hooks that other repositories use with pre-commit."""

import re
from pathlib import Path

import pytest
import yaml

import orchq

PATH = Path(__file__).parents[2] / ".pre-commit-hooks.yaml"
HOOKS = {hook["id"]: hook for hook in yaml.safe_load(PATH.read_text(encoding="utf-8"))}


@pytest.mark.parametrize(
    ("hook", "file", "taken"),
    [
        ("orchq-scores", "quartet.musicxml", True),
        ("orchq-scores", "parts/quartet.mxl", True),
        ("orchq-scores", "notes.xml", False),
        ("orchq-scores", "quartet.musicxml.bak", False),
        ("orchq-scores", "excerpts/passage.ttl", False),
        ("orchq-excerpts", "excerpts/passage.ttl", True),
        ("orchq-excerpts", "music/excerpts/deep/passage.jsonld", True),
        ("orchq-excerpts", "ontology/instruments/cello.ttl", False),
        ("orchq-excerpts", "noexcerpts/passage.ttl", False),
        ("orchq-excerpts", "excerpts/README.md", False),
    ],
)
def test_a_hook_takes_its_files_and_no_others(hook, file, taken):
    # pre-commit searches the path, with slashes, for the pattern.
    assert bool(re.search(HOOKS[hook]["files"], file)) is taken


@pytest.mark.long
@pytest.mark.parametrize("hook", HOOKS.values(), ids=HOOKS)
def test_the_entry_is_a_command_that_takes_files(run, hook):
    program, *words = hook["entry"].split()
    assert program == "orchq"
    assert hook["language"] == "python"
    assert run(*words, orchq.demo_path()).code == 1
    assert run(*words, "no-such-file.musicxml").code == 2
