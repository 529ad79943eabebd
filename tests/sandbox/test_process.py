"""The process of untrusted queries ends: in time, and with the one that started it."""

import subprocess
import sys
import time
from pathlib import Path

import pytest

from orchq import bounded
from orchq.sandbox import process

ENDLESS = "SELECT (COUNT(*) AS ?n) { ?a ?b ?c . ?d ?e ?f . ?g ?h ?i . ?j ?k ?l }"
TRIPLES = "".join(f"<urn:{number}> <urn:p> <urn:o> .\n" for number in range(300))
ASKED = {"do": "select", "triples": TRIPLES, "queries": [{"text": ENDLESS, "bound": {}}]}

on_linux = pytest.mark.skipif(not Path("/proc/self").exists(), reason="looks into /proc")


def test_a_query_without_end_is_stopped_and_leaves_nothing():
    started = time.monotonic()
    with pytest.raises(process.StoppedError, match=r"within 1\.5 seconds"):
        process.answered(ASKED, 1, 1.5)
    assert time.monotonic() - started < 10


@pytest.mark.long
def test_answers_before_the_one_that_does_not_end_are_kept():
    asked = ASKED | {"queries": [{"text": "SELECT ?a { ?a ?b 1 }", "bound": {}}, *ASKED["queries"]]}
    with pytest.raises(process.StoppedError) as caught:
        process.answered(asked, 2, 3)
    assert len(caught.value.answers) == 1


@on_linux
def test_no_process_runs_on_when_the_one_that_started_it_is_killed():
    """The child works on a query without end when its parent is killed, and ends soon after."""
    code = f"from orchq.sandbox import process; process.answered({ASKED!r}, 1, 60)"
    parent = subprocess.Popen([sys.executable, "-c", code])
    try:
        found = _soon(lambda: _children(parent.pid))
        assert found
        time.sleep(1)  # until it runs the query
    finally:
        parent.kill()
        parent.wait()
    assert _soon(lambda: not any(map(_alive, found)))


@on_linux
def test_nothing_outlives_its_time_although_nobody_ends_it():
    """The bounds that the process sets itself: processor time and the alarm."""
    code = (
        "import os, signal, sys, resource; from orchq import bounded; bounded.GRACE = 0;"
        "sys.argv[1:] = ['1.2', '1000000000', str(os.getppid())]; bounded.bind();"
        "assert resource.getrlimit(resource.RLIMIT_CPU)[0] == 2;"
        "assert resource.getrlimit(resource.RLIMIT_AS)[0] == 1_000_000_000;"
        "signal.pause()"
    )
    ended = subprocess.run([sys.executable, "-c", code], timeout=20, check=False)
    assert ended.returncode < 0
    assert bounded.GRACE > 0


def _soon(happens, seconds=10):
    """What happens within so many seconds."""
    last = time.monotonic() + seconds
    while not (found := happens()) and time.monotonic() < last:
        time.sleep(0.05)
    return found


def _children(number):
    """The processes that a process has started."""
    return Path(f"/proc/{number}/task/{number}/children").read_text(encoding="ascii").split()


def _alive(number):
    try:
        state = (
            Path(f"/proc/{number}/stat").read_text(encoding="ascii").rpartition(")")[2].split()[0]
        )
    except (FileNotFoundError, ProcessLookupError):
        return False
    return not state.startswith("Z")
