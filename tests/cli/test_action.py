"""The action for GitHub, run as its runner would: its shell with the inputs in the environment."""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

import orchq

PATH = Path(__file__).parents[2] / ".github" / "actions" / "check" / "action.yml"
ACTION = yaml.safe_load(PATH.read_text(encoding="utf-8"))
INPUT = re.compile(r"\$\{\{ inputs\.([\w-]+) \}\}")
BASH = shutil.which("bash") or "bash"
INSTALL, CHECK = ACTION["runs"]["steps"]

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="the action is for Linux runners")


@pytest.fixture
def act(tmp_path):
    """Run the step that checks, in a folder with the demo, with these inputs."""
    program = tmp_path / "temp" / "orchq" / "bin" / "orchq"
    program.parent.mkdir(parents=True)
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m orchq "$@"\n')
    program.chmod(0o755)
    work = tmp_path / "work"
    (work / "scores" / "in a folder").mkdir(parents=True)
    shutil.copy(orchq.demo_path(), work / "scores" / "demo.musicxml")
    shutil.copy(orchq.demo_path(), work / "scores" / "in a folder" / "[1] two words.musicxml")

    def run(**inputs):
        known = ACTION["inputs"]
        assert set(inputs) <= set(known)
        values = {name: inputs.get(name, known[name].get("default", "")) for name in known}
        environment = {
            name: INPUT.sub(lambda found: values[found[1]], text)
            for name, text in CHECK["env"].items()
        }
        return subprocess.run(
            [BASH, "--noprofile", "--norc", "-eo", "pipefail", "-c", CHECK["run"]],
            cwd=work, capture_output=True, text=True, check=False,
            env={"PATH": os.environ["PATH"], "RUNNER_TEMP": str(tmp_path / "temp")} | environment,
        )  # fmt: skip

    return run


def test_it_is_a_composite_action_that_uploads_nothing():
    assert ACTION["runs"]["using"] == "composite"
    for step in ACTION["runs"]["steps"]:
        assert "uses" not in step
        assert step["shell"] == "bash"


def test_no_input_stands_in_the_text_of_the_shell():
    for step in ACTION["runs"]["steps"]:
        assert "${{" not in step["run"]
        assert subprocess.run([BASH, "-n", "-c", step["run"]], check=False).returncode == 0


def test_every_input_is_used():
    used = INPUT.findall(
        "\n".join(text for step in (INSTALL, CHECK) for text in step["env"].values())
    )
    assert sorted(used) == sorted(ACTION["inputs"])


def test_findings_become_annotations_and_the_step_fails(act):
    done = act(files="scores/demo.musicxml")
    assert done.returncode == 1
    assert done.stdout.startswith("::error file=scores/demo.musicxml,line=")


def test_patterns_and_names_with_spaces(act):
    done = act(files="\n  scores/**/*.musicxml  \r\n\n")
    assert done.stdout.count(",title=high-tutti-register::") == 2
    alone = act(files="scores/in a folder/[1] two words.musicxml")
    assert alone.stdout.count(",title=high-tutti-register::") == 1


def test_every_option_reaches_the_check(act, tmp_path):
    (tmp_path / "work" / "mine.ttl").write_text("@prefix oq: <https://w3id.org/orchq/> .\n")
    options = {
        "level": "student", "trust": "berlioz", "rules": "high-tutti-register", "with": "mine.ttl",
        "fail-on": "info", "format": "json", "out": "report.json",
    }  # fmt: skip
    done = act(files="scores/demo.musicxml", **options)
    assert done.stderr == "wrote report.json\n"
    assert done.returncode == 1
    assert done.stdout == ""
    (file,) = json.loads((tmp_path / "work" / "report.json").read_text())["files"]
    assert {finding["rule"] for finding in file["findings"]} == {"high-tutti-register"}


@pytest.mark.parametrize("wrong", ["none/*.musicxml", "none.musicxml", ""])
def test_no_file_is_a_wrong_call(act, wrong):
    done = act(files=wrong)
    assert done.returncode == 2
    assert done.stdout == "" or "none.musicxml" in done.stdout
    assert done.stderr


@pytest.mark.parametrize("name", ["files", "level", "trust", "rules", "with", "fail-on", "format"])
def test_no_input_is_run_as_shell(act, tmp_path, name):
    harmful = '$(touch harmed)"; touch harmed; `touch harmed` #'
    done = act(**{"files": "scores/demo.musicxml"} | {name: harmful})
    assert done.returncode == 2
    assert not (tmp_path / "work" / "harmed").exists()


def test_an_input_that_looks_like_an_option_is_none(act, tmp_path):
    done = act(files="--out=harmed")
    assert done.returncode == 2
    assert not (tmp_path / "work" / "harmed").exists()


def test_what_it_installs_is_its_own_checkout():
    source = INSTALL["env"]["ORCHQ_SOURCE"].replace("${{ github.action_path }}", str(PATH.parent))
    assert (Path(source) / "pyproject.toml").is_file()
