"""What is loaded lazily is seen by the checkers of layers, and loaded by nothing else."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import orchq
from orchq.cli.commands import COMMANDS
from orchq.lazily import lazily, loaded
from orchq.notation import Pitch

PACKAGE = Path(orchq.__file__).parent
TREES = {
    path: ast.parse(path.read_text(encoding="utf-8")) for path in sorted(PACKAGE.rglob("*.py"))
}
HOME = PACKAGE / "lazily.py"


def _lazily_loaded(tree):
    """The modules that a file loads lazily."""
    for call in ast.walk(tree):
        if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "lazily":
            package, *names = [
                text.value
                for each in call.args
                for text in ast.walk(each)
                if isinstance(text, ast.Constant)
            ]
            yield from (f"{package}.{name}" for name in names)


def _shown_to_checkers(tree):
    """The modules that a file imports for checkers of types and layers alone."""
    for block in tree.body:
        if isinstance(block, ast.If) and getattr(block.test, "id", "") == "TYPE_CHECKING":
            for line in block.body:
                yield from (f"{line.module}.{name.name}" for name in line.names)


@pytest.mark.parametrize(
    "path",
    [path for path, tree in TREES.items() if path != HOME and any(_lazily_loaded(tree))],
    ids=lambda path: path.relative_to(PACKAGE).as_posix(),
)
def test_a_module_that_is_loaded_lazily_is_imported_for_the_checkers(path):
    assert list(_lazily_loaded(TREES[path])) == list(_shown_to_checkers(TREES[path]))


def test_some_are():
    assert sum(1 for tree in TREES.values() for _ in _lazily_loaded(tree)) > 10


def test_no_module_of_the_package_is_imported_in_a_function():
    inside = [
        f"{path.relative_to(PACKAGE)}:{line.lineno}"
        for path, tree in TREES.items()
        for function in ast.walk(tree)
        if isinstance(function, ast.FunctionDef)
        for line in ast.walk(function)
        if (isinstance(line, ast.ImportFrom) and (line.module or "").startswith("orchq"))
        or (isinstance(line, ast.Import) and any(n.name.startswith("orchq") for n in line.names))
    ]
    assert inside == []


def test_modules_are_loaded_by_name_in_one_place():
    named = [
        path.relative_to(PACKAGE).as_posix()
        for path, tree in TREES.items()
        for call in ast.walk(tree)
        if isinstance(call, ast.Call)
        and getattr(call.func, "id", "") == "import_module"
        and not (isinstance(call.args[0], ast.Constant) and "orchq" not in call.args[0].value)
    ]
    assert named == ["lazily.py"]


def test_a_stand_in_does_as_its_module():
    (pitch,) = lazily("orchq.notation", "pitch")
    assert pitch.Pitch(69, "A4") == Pitch.parse("A4")


@pytest.mark.parametrize("name", sorted(set(COMMANDS) - {"ask"}))
def test_every_command_is_found_by_its_name(name):
    assert getattr(loaded(f"orchq.cli.{name}"), name)


ASKING = "import sys; from orchq.cli.app import main; main({words!r}); print(*sys.modules)"
PLAIN = [
    ("ask", "terms", "--for", "sul tasto"),
    ("ask", "colours", "--like", "glassy"),
    ("ask", "--list"),
]


def _loaded_by(words):
    """The modules in memory after a command."""
    done = subprocess.run(
        [sys.executable, "-c", ASKING.format(words=list(words))],
        capture_output=True,
        text=True,
        check=True,
    )
    return set(done.stdout.splitlines()[-1].split())


@pytest.mark.parametrize("words", PLAIN, ids=lambda words: " ".join(words[:2]))
def test_a_plain_question_loads_neither_the_hand_nor_the_rules(words):
    loaded = _loaded_by(words)
    assert "orchq.questions.graph" in loaded or words == ("ask", "--list")
    heavy = ("orchq.derive", "orchq.readers", "orchq.excerpt", "orchq.sandbox", "orchq.advice")
    assert not [name for name in loaded if name.startswith(heavy)]
    assert {name for name in loaded if name.startswith("orchq.rules.")} <= {"orchq.rules.finding"}


def test_a_question_of_the_hand_derives_nothing_from_scores():
    loaded = _loaded_by(("ask", "techniques", "--on", "violin", "--at", "ff"))
    assert "orchq.derive.hand" in loaded
    heavy = ("orchq.derive.derivation", "orchq.derive.stops", "orchq.readers", "orchq.project")
    assert not [name for name in loaded if name.startswith(heavy)]


def test_help_loads_no_graph():
    loaded = _loaded_by(("--help",))
    heavy = ("orchq.knowledge", "orchq.derive", "orchq.rules", "orchq.project", "rich")
    assert not [name for name in loaded if name.startswith(heavy)]
