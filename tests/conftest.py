"""What every test shares: no network, hypothesis profiles, and made-up findings."""

import gc
import os
import socket
import sys
import threading
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import settings

from orchq.evidence import Evidence
from orchq.rules.finding import FileReport, Finding, PartReport, Seconds

collect_ignore = ["benchmarks", "fuzz/guided.py", "hostile/endless.py"]
"""Scripts that measure; one may import another that lies beside it."""

# Speed is measured in tests/benchmarks, never asserted. CI tries the same examples every time.
settings.register_profile("default", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "default")


# Hundreds of tests start a process of their own, which would compile every module anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False


_THIS_MACHINE = frozenset({"127.0.0.1", "::1", "localhost"})


def pytest_xdist_auto_num_workers() -> int:
    """One worker more than there are cores: many tests wait for a browser or a process."""
    return (os.cpu_count() or 1) + 1


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Leave most cases of a sampled test to the long run, or to the one that is named."""
    counted = Counter[tuple[str, str]]()
    for item in items:
        sampled = item.get_closest_marker("sampled")
        if sampled is None:
            continue
        test = item.location[0], getattr(item, "originalname", item.name)
        every, others = (*sampled.args, "long")[:2]
        if counted[test] % every:
            item.add_marker(getattr(pytest.mark, others))
        counted[test] += 1


def pytest_collection_finish() -> None:
    """Spare the collector the graph, the cases and the libraries, which live to the end."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 100)


def pytest_runtest_teardown(item: pytest.Item, nextitem: pytest.Item | None) -> None:
    """After each module what lives on is looked through for the last time.

    Surveys and watchers collect after every file, which with all that a run holds takes seconds.
    """
    if nextitem is None or nextitem.path != item.path:
        gc.collect()
        gc.freeze()


@pytest.fixture(autouse=True)
def _no_network(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Make any attempt to reach a network an error; this machine may be marked as allowed."""
    allowed = _THIS_MACHINE if request.node.get_closest_marker("loopback") else frozenset()

    def guarded(owner: object, name: str) -> None:
        real = getattr(owner, name)

        def call(*arguments: Any, **named: Any) -> Any:
            # A socket is called with (socket, (host, port)), the resolver with (host, port).
            host = arguments[1][0] if owner is socket.socket else arguments[0]
            if host not in allowed:
                raise AssertionError(f"a test tried to reach the network: {arguments} {named}")
            return real(*arguments, **named)

        monkeypatch.setattr(owner, name, call)

    guarded(socket.socket, "connect")
    guarded(socket.socket, "connect_ex")
    guarded(socket, "getaddrinfo")


@pytest.fixture
def visited() -> Iterator[tuple[int, list[object]]]:
    """A port of this machine, and a list of who has come to it so far."""
    server = socket.create_server(("127.0.0.1", 0))
    server.settimeout(0.1)
    visitors: list[object] = []
    ended = threading.Event()

    def listen() -> None:
        while not ended.is_set():
            with suppress(TimeoutError):
                visitors.append(server.accept())

    listener = threading.Thread(target=listen)
    listener.start()
    yield server.getsockname()[1], visitors
    ended.set()
    listener.join()
    server.close()


@pytest.fixture
def make_finding() -> Callable[..., Finding]:
    """A maker of findings that need only say how they differ."""

    def make(**different: Any) -> Finding:
        values: dict[str, Any] = {
            "rule": "note-below-lowest-string",
            "severity": "violation",
            "part": "Violin I",
            "part_id": "P1",
            "part_index": 0,
            "measure": "12",
            "measure_index": 11,
            "beat": 3.0,
            "notes": ("F3",),
            "event": "https://example.org/score/P1/e40",
            "message": "F3 lies below the lowest string, G3.",
            "evidence": (
                Evidence(
                    "https://w3id.org/orchq/violin-compass",
                    "Somebody",
                    "p. 7",
                    "published",
                    "The violin begins at G3.",
                ),
            ),
        }
        return Finding(**(values | different))

    return make


@pytest.fixture
def make_report() -> Callable[..., FileReport]:
    """A maker of reports on a file with two violins, a flute and the given findings."""

    def make(*findings: Finding, **different: Any) -> FileReport:
        values: dict[str, Any] = {
            "file": "piece.musicxml",
            "notes": 312,
            "parts": (
                PartReport("Violin I", "P1", 0, "violin", True, 200),
                PartReport("Violin II", "P2", 1, "violin", True, 112),
                PartReport("Flute", "P3", 2, None, False, 90),
            ),
            "findings": findings,
            "seconds": Seconds(0.12345, 0.2, 0.1),
            "remarks": (),
        }
        return FileReport(**(values | different))

    return make
