"""Which tests reach which lines of the package, and how long each takes."""

import json
import sys
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import accumulate
from pathlib import Path
from types import CodeType
from typing import Any

_TOOL = 4  # one of the numbers that sys.monitoring leaves to anyone


@dataclass(frozen=True, slots=True)
class Reach:
    """Tests by the file and line that they reach; seconds of those that pass; those that fail."""

    tests: dict[str, dict[int, frozenset[str]]]
    seconds: dict[str, float]
    failing: list[str]

    def of(self, file: str, lines: Iterable[int]) -> list[str]:
        """Tests that reach one of the lines, then others that reach the file.

        What is kept in a cache is worked out in the first test that needs it, so that tests which
        reach the file elsewhere may depend on the line too.
        """
        there = self.tests.get(file, {})
        near = frozenset().union(*(there.get(line, frozenset()) for line in lines))
        far = frozenset().union(*there.values()) - near
        return [*self._sorted(near, file), *self._sorted(far, file)]

    def within(self, seconds: float, tests: list[str]) -> list[str]:
        """The first of the tests, that take so long together."""
        spent = accumulate(self.seconds[test] for test in tests)
        return [test for test, so_far in zip(tests, spent, strict=True) if so_far <= seconds]

    def _sorted(self, tests: frozenset[str], file: str) -> list[str]:
        """By module, for its tests share what they need: those of the folder, then quick ones."""
        modules: dict[str, list[str]] = defaultdict(list)
        for test in self.seconds:
            if test in tests:
                modules[test.partition("::")[0]].append(test)
        folders = set(Path(file).parent.parts)

        def place(module: str) -> tuple[bool, float]:
            apart = folders.isdisjoint(Path(module).parent.parts)
            return apart, sum(self.seconds[test] for test in modules[module])

        return [test for module in sorted(modules, key=place) for test in modules[module]]

    def write(self, path: Path) -> None:
        """Keep it for another run."""
        names = list(self.seconds)
        numbers = {name: number for number, name in enumerate(names)}
        tests = {
            file: {line: sorted(numbers[t] for t in to if t in numbers) for line, to in of.items()}
            for file, of in self.tests.items()
        }
        kept = {"seconds": self.seconds, "failing": self.failing, "tests": tests}
        path.write_text(json.dumps(kept), encoding="utf-8")

    @classmethod
    def read(cls, path: Path) -> "Reach":
        """What ``write`` kept."""
        kept = json.loads(path.read_text(encoding="utf-8"))
        names = list(kept["seconds"])
        tests = {
            file: {int(line): frozenset(names[n] for n in found) for line, found in of.items()}
            for file, of in kept["tests"].items()
        }
        return cls(tests, kept["seconds"], kept["failing"])


class Recorder:
    """Notes each line below a folder once for every test; costs little, for seen lines go dark."""

    def __init__(self, root: Path) -> None:
        self._root = f"{root}/"
        self._test = ""
        self.tests: dict[str, dict[int, set[str]]] = defaultdict(lambda: defaultdict(set))
        monitoring = sys.monitoring  # from Python 3.12 on
        monitoring.use_tool_id(_TOOL, "reach")
        monitoring.register_callback(_TOOL, monitoring.events.LINE, self._line)
        monitoring.set_events(_TOOL, monitoring.events.LINE)

    def begin(self, test: str) -> None:
        """What is reached from now on is reached by this test."""
        self._test = test
        sys.monitoring.restart_events()

    def _line(self, code: CodeType, line: int) -> Any:
        if code.co_filename.startswith(self._root):
            self.tests[code.co_filename.removeprefix(self._root)][line].add(self._test)
        return sys.monitoring.DISABLE
