"""Do the tests of the trade bite? ``python -m tests.mutation.run --count 300``.

Draws single changes at random, and runs the tests that reach what was changed until one fails. A
change that no test notices survives, and is listed; some change nothing that can be seen, and
whoever reads the list judges that. Which test reaches which line is recorded first, by running
all of them once; ``--reach FILE`` keeps that for another run on the same tree. Needs Python 3.12.
"""

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable
from functools import partial
from pathlib import Path

import pytest

from tests.mutation.changes import Change, changes_in
from tests.mutation.reach import Reach
from tests.mutation.warm import Warm

ROOT = Path(__file__).parents[2]
SCOPES = (
    "orchq/derive", "orchq/derive/hand", "orchq/derive/path", "orchq/readers", "orchq/rules",
    "orchq/knowledge", "orchq/knowledge/weighing.py", "orchq/knowledge/force.py", "orchq/excerpt",
    "orchq/advice", "orchq/questions", "shapes/rules",
)  # fmt: skip
"""Where changes are made; the longest name that fits a file counts."""
TESTS = (
    "hand", "path", "derive", "knowledge", "excerpt", "readers", "advice", "rules", "questions",
    "planted", "published", "ontology/test_completeness.py", "ontology/test_published_values.py",
    "own", "hostile/test_excerpts.py",
)  # fmt: skip
"""The tests that may notice: those of the trade, not those of commands and pages."""

DOCTESTS = tuple(scope for scope in SCOPES if (ROOT / scope).is_dir() and scope != "shapes/rules")

_WORDS = ("-n", "0", "-q", "-p", "no:cacheprovider")
_COPIED = ("orchq", "ontology", "shapes", "tests", "pyproject.toml", "README.md", "DEVELOPERS.md")


def main() -> int:
    """Run what the command line asks for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=int, default=60, help="of the tests of one change")
    parser.add_argument("--only", nargs="*", choices=SCOPES, default=list(SCOPES))
    parser.add_argument("--reach", type=Path, help="made where there is none")
    asked = parser.parse_args()
    os.environ["CI"] = "1"  # the same examples each time
    os.chdir(ROOT)
    every = [change for scope in asked.only for change in _changes(scope)]
    drawn = random.Random(asked.seed).sample(every, min(asked.count, len(every)))  # noqa: S311
    print(f"{len(drawn)} of {len(every)} changes", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        plugin = Warm(ROOT, partial(_work, drawn=drawn, asked=asked, folder=Path(folder)))
        tests = [*(f"tests/{each}" for each in TESTS), *DOCTESTS]
        return pytest.main([*_WORDS, "-s", "--no-header", *tests], plugins=[plugin])


def _work(warm: Warm, drawn: list[Change], asked: argparse.Namespace, folder: Path) -> None:
    """Try one change after another, and print how each ended."""
    kept = asked.reach or folder / "reach.json"
    reach = Reach.read(kept) if kept.exists() else warm.recorded(kept)
    for test in reach.failing:
        print(f"{test} fails without a change; left out", flush=True)
    copy = folder / "copy"
    for name in _COPIED:
        source = ROOT / name
        (shutil.copytree if source.is_dir() else shutil.copy)(source, copy / name)
    ended: Counter[tuple[str, str]] = Counter()
    for number, change in enumerate(drawn, 1):
        name = change.file.relative_to(ROOT).as_posix()
        tests = reach.of(name, _lines(change))
        how = warm.tried(change, tests, reach, asked.seconds) if tests else "cold"
        if how == "cold" or (how == "survived" and name.startswith("orchq/knowledge")):
            how = _tried(change, copy, reach.within(asked.seconds, tests), 20 * asked.seconds)
        ended[_scope(change.file), how] += 1
        print(f"{number:4} {how:8} {name}:{change.line}: {change.old} -> {change.new}", flush=True)
    for scope in sorted({scope for scope, _ in ended}):
        killed, survived = ended[scope, "killed"], ended[scope, "survived"]
        print(f"{scope:28} {killed:4} killed, {survived:4} survived, {ended[scope, 'late']} late")


def _changes(scope: str) -> Iterable[Change]:
    place = ROOT / scope
    files = [place] if place.is_file() else sorted((*place.rglob("*.py"), *place.rglob("*.ttl")))
    for file in files:
        if _scope(file) == scope:
            yield from changes_in(file)


def _scope(file: Path) -> str:
    name = file.relative_to(ROOT).as_posix()
    return max((scope for scope in SCOPES if name.startswith(scope)), key=len)


def _lines(change: Change) -> range:
    """The lines of the statement that is changed, of one with a body those of its head."""
    text = change.file.read_text(encoding="utf-8")
    line = change.line
    if change.file.suffix != ".py":
        return range(line, line + 1)
    spans = [
        range(each.lineno, _end(each) + 1)
        for each in ast.walk(ast.parse(text))
        if isinstance(each, ast.stmt) and each.lineno <= line <= _end(each)
    ]
    return min(spans, key=len)


def _end(statement: ast.stmt) -> int:
    body = getattr(statement, "body", None)
    end = body[0].lineno - 1 if body else statement.end_lineno
    return max(statement.lineno, end or 0)


def _tried(change: Change, copy: Path, tests: list[str], seconds: int) -> str:
    """How it ends in a copy of the repository, in a new process: what is made at import."""
    target = copy / change.file.relative_to(ROOT)
    whole = target.read_text(encoding="utf-8")
    target.write_text(change.applied(), encoding="utf-8")
    if change.file.suffix == ".ttl":
        tests = ["tests/rules/test_fixtures.py", "-k", change.file.stem]
    words = [sys.executable, "-B", "-m", "pytest", *_WORDS, "-x", *tests]
    try:
        ended = subprocess.run(
            words, cwd=copy, capture_output=True, timeout=seconds, check=False,
            env={"PATH": "/usr/bin:/bin", "PYTHONPATH": str(copy), "CI": "1", "HOME": str(copy)},
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return "late"
    finally:
        target.write_text(whole, encoding="utf-8")
    return "survived" if ended.returncode == 0 else "killed"


if __name__ == "__main__":
    sys.exit(main())
