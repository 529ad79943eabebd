"""One process that has collected the tests and forks for each change.

A change within functions is made in the live functions of the fork, whose caches are emptied; the
fork then runs tests, quick ones first, until one fails.
"""

import functools
import gc
import os
import resource
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from inspect import CO_NEWLOCALS, CO_OPTIMIZED
from pathlib import Path
from time import monotonic
from types import CodeType, FunctionType

import pytest

from tests.mutation.changes import Change
from tests.mutation.reach import Reach, Recorder

BYTES = 8 << 30
_PASSED, _FAILED, _COLD = 0, 1, 3


class Warm:
    """A pytest plugin that, in place of running the tests, hands itself to ``work``."""

    def __init__(self, root: Path, work: "Callable[[Warm], None]") -> None:
        self._root, self._work = root, work
        self.session: pytest.Session

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Tests are collected: begin."""
        self.session = session
        self._work(self)
        return True

    def recorded(self, path: Path) -> Reach:
        """Run every test once in a fork, and return what each reaches; it is kept at the path."""
        self._forked(lambda: self._record(path), None)
        return Reach.read(path)

    def _record(self, path: Path) -> int:
        _prepared()
        recorder = Recorder(self._root)
        seconds: dict[str, float] = {}
        failing: list[str] = []
        for item, following in self._in_turn(self.session.items):
            failed, started = self.session.testsfailed, _spent()
            recorder.begin(item.nodeid)
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            if self.session.testsfailed == failed:
                seconds[item.nodeid] = _spent() - started
            else:
                failing.append(item.nodeid)
        Reach(recorder.tests, seconds, failing).write(path)
        return _PASSED

    def tried(self, change: Change, tests: Sequence[str], reach: Reach, seconds: float) -> str:
        """``killed``, ``survived``, ``late`` (no end), or ``cold``: not made within functions."""
        swaps = list(_swaps(change))
        if not swaps:
            return "cold"
        by_name = {item.nodeid: item for item in self.session.items}
        items = [by_name[test] for test in tests if test in by_name]
        code = self._forked(lambda: self._run(swaps, items, reach, seconds), 20 * seconds)
        return {_PASSED: "survived", _COLD: "cold", None: "late"}.get(code, "killed")

    def _run(self, swaps, items, reach: Reach, seconds: float) -> int:
        resource.setrlimit(resource.RLIMIT_AS, (BYTES, BYTES))
        if not _prepared(swaps):
            return _COLD
        signal.signal(signal.SIGPROF, _too_long)
        started = _spent()
        for item, following in self._in_turn(items):
            signal.setitimer(signal.ITIMER_PROF, 30 + 10 * reach.seconds[item.nodeid])
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            if self.session.testsfailed:
                return _FAILED
            if _spent() - started > seconds:
                break
        return _PASSED

    @staticmethod
    def _in_turn(items: Sequence[pytest.Item]) -> Iterator[tuple[pytest.Item, pytest.Item | None]]:
        return zip(items, [*items[1:], None], strict=True)

    @staticmethod
    def _forked(work: Callable[[], int], seconds: float | None) -> int | None:
        """The exit code of what is done in a fork; None where it was ended for its time."""
        child = os.fork()
        if child == 0:
            code = os.EX_SOFTWARE
            try:
                os.setsid()
                os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
                code = work()
            finally:
                sys.stdout.flush()
                os._exit(code)
        started = monotonic()
        while seconds is None or monotonic() - started < seconds:
            done, status = os.waitpid(child, os.WNOHANG)
            if done:
                return os.waitstatus_to_exitcode(status)
            signal.sigtimedwait([signal.SIGCHLD], 0.05)
        with suppress(ProcessLookupError):
            os.killpg(child, signal.SIGKILL)
        os.waitpid(child, 0)
        return None


def _spent() -> float:
    """Seconds of the processor so far, those of ended children too."""
    return sum(os.times()[:4])


def _too_long(*_: object) -> None:
    raise TimeoutError("a test that a change makes take ten times as long")


def _swaps(change: Change) -> Iterator[tuple[CodeType, CodeType]]:
    """Code of functions before and after the change; none where it lies outside of them."""
    before = compile(change.file.read_text(encoding="utf-8"), str(change.file), "exec")
    after = compile(change.applied(), str(change.file), "exec")
    yield from _differing(before, after)


def _differing(before: CodeType, after: CodeType) -> Iterator[tuple[CodeType, CodeType]]:
    if before == after:
        return
    inner = (
        [each for each in of.co_consts if isinstance(each, CodeType)] for of in (before, after)
    )
    pairs = zip(*inner, strict=True)
    if before.co_flags & CO_NEWLOCALS and before.co_flags & CO_OPTIMIZED:
        yield before, after
    for pair in pairs:
        yield from _differing(*pair)


def _prepared(swaps: Sequence[tuple[CodeType, CodeType]] = ()) -> bool:
    """Change the live functions, and believe nothing that was worked out before.

    Returns whether any function was found.
    """
    gc.unfreeze()
    found = not swaps
    for each in gc.get_objects():
        if isinstance(each, FunctionType):
            for before, after in swaps:
                if each.__code__ == before and each.__code__.co_filename == before.co_filename:
                    each.__code__ = after
                    found = True
        elif isinstance(each, functools._lru_cache_wrapper) and each.__module__.startswith("orchq"):
            each.cache_clear()
    gc.freeze()
    return found
