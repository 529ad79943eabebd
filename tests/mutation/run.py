"""Do the tests of the trade bite? ``python -m tests.mutation.run --count 300``.

Draws single changes at random, makes each in a copy of the repository, and runs the narrow tests of
what was changed. A change that no test notices survives, and is listed; some change nothing that
can be seen, and whoever reads the list judges that.
"""

import argparse
import random
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from tests.mutation.changes import Change, changes_in

ROOT = Path(__file__).parents[2]
TESTS = {
    "orchq/derive/hand": ("tests/hand", "tests/derive"),
    "orchq/derive/path": ("tests/path",),
    "orchq/derive": ("tests/derive", "tests/rules/test_fixtures.py"),
    "orchq/readers": ("tests/readers", "tests/derive"),
    "orchq/rules": ("tests/rules", "tests/own/test_use.py"),
    "orchq/knowledge": ("tests/knowledge", "tests/readers", "tests/ontology"),
    "orchq/excerpt": ("tests/excerpt", "tests/hostile/test_excerpts.py"),
    "orchq/advice": ("tests/advice", "tests/planted"),
    "orchq/questions": ("tests/questions",),
    "shapes/rules": ("tests/rules/test_fixtures.py",),
}
"""The narrow tests by what they are about; the longest name that fits counts."""

_LEFT_OUT = ("--ignore=tests/readers/test_fuzz.py", "-p", "no:cacheprovider")
_COPIED = ("orchq", "ontology", "shapes", "tests", "pyproject.toml", "README.md", "DEVELOPERS.md")


def main() -> int:
    """Run what the command line asks for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=int, default=600, help="for the tests of one change")
    parser.add_argument("--only", nargs="*", choices=TESTS, default=list(TESTS))
    asked = parser.parse_args()
    every = [change for scope in asked.only for change in _changes(scope)]
    drawn = random.Random(asked.seed).sample(every, min(asked.count, len(every)))  # noqa: S311
    print(f"{len(drawn)} of {len(every)} changes", flush=True)
    ended: Counter[tuple[str, str]] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for name in _COPIED:
            source = ROOT / name
            (shutil.copytree if source.is_dir() else shutil.copy)(source, copy / name)
        for scope in sorted({_scope(change.file) for change in drawn}):
            if _ended(copy, TESTS[scope]) != 0:  # every change would seem to be noticed
                print(f"{scope}: its tests fail without a change; left out", flush=True)
                drawn = [change for change in drawn if _scope(change.file) != scope]
        for number, change in enumerate(drawn, 1):
            scope = _scope(change.file)
            how = _tried(change, copy, TESTS[scope], asked.seconds)
            ended[scope, how] += 1
            place = f"{change.file.relative_to(ROOT)}:{change.line}"
            print(f"{number:4} {how:8} {place}: {change.old} -> {change.new}", flush=True)
    for scope in sorted({scope for scope, _ in ended}):
        killed, survived = ended[scope, "killed"], ended[scope, "survived"]
        print(f"{scope:20} {killed:4} killed, {survived:4} survived, {ended[scope, 'late']} late")
    return 0


def _changes(scope: str) -> Iterable[Change]:
    place = ROOT / scope
    files = [place] if place.is_file() else sorted((*place.rglob("*.py"), *place.rglob("*.ttl")))
    for file in files:
        if _scope(file) == scope:
            yield from changes_in(file)


def _scope(file: Path) -> str:
    name = file.relative_to(ROOT).as_posix()
    return max((scope for scope in TESTS if name.startswith(scope)), key=len)


def _tried(change: Change, copy: Path, tests: tuple[str, ...], seconds: int) -> str:
    """``killed`` by a test, or by taking too long; ``late`` where tests ran out of time."""
    target = copy / change.file.relative_to(ROOT)
    whole = target.read_text(encoding="utf-8")
    target.write_text(change.applied(), encoding="utf-8")
    narrow = ("-k", change.file.stem) if change.file.suffix == ".ttl" else ()
    try:
        code = _ended(copy, tests, narrow, seconds)
    except subprocess.TimeoutExpired:
        return "late"
    finally:
        target.write_text(whole, encoding="utf-8")
    return "survived" if code == 0 else "killed"


def _ended(
    copy: Path, tests: tuple[str, ...], narrow: tuple[str, ...] = (), seconds: int | None = None
) -> int:
    """The exit code of tests, run in the copy."""
    words = [sys.executable, "-m", "pytest", "-n", "0", "-x", "-q", *_LEFT_OUT, *narrow]
    words += [each for each in tests if (copy / each).exists()]
    ended = subprocess.run(
        words, cwd=copy, capture_output=True, timeout=seconds, check=False,
        env={"PATH": "/usr/bin:/bin", "PYTHONPATH": str(copy), "CI": "1", "HOME": str(copy)},
    )  # fmt: skip
    return ended.returncode


if __name__ == "__main__":
    sys.exit(main())
