"""``orchq check --watch`` as a process of its own: nothing is waited for but its words."""

import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

# A process that a shell started in the background would ignore the interruption.
START = (
    "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); "
    "from orchq.__main__ import main; raise SystemExit(main())"
)
HOPELESS = 300
"""Seconds after which the process is killed, so that a failing test ends too."""

GOOD = """
@prefix oq: <https://w3id.org/orchq/> .
@prefix : <https://example.org/evening#> .

:violin a oq:Part ; oq:partName "Violin" ; oq:forInstrument oq:violin ; oq:hasEvent :e1 .
:e1 a oq:Event ; oq:measureIndex 0 ; oq:onset 0 ; oq:duration 1 ;
    oq:hasNote [ a oq:Note ; oq:pitch "F3" ] .
"""
FIXED = GOOD.replace('"F3"', '"G3"')
WORSE = GOOD.replace('"F3"', '"E3"') + "# longer\n"


class Watched:
    """The process, and the file that it watches."""

    def __init__(self, path: Path, *words: str) -> None:
        self.path = path
        self._process = subprocess.Popen(
            [sys.executable, "-c", START, "check", "--watch", path.name, *words],
            cwd=path.parent,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self._timer = threading.Timer(HOPELESS, self._process.kill)
        self._timer.start()

    def save(self, text: str) -> None:
        self.path.write_text(text, encoding="utf-8")

    def until(self, words: str) -> str:
        """What is printed up to the line that holds these words."""
        said = []
        for line in self._process.stdout:
            said.append(line)
            if words in line:
                return "".join(said)
        raise AssertionError(f"ended without {words!r}: {''.join(said)}")

    def interrupted(self) -> tuple[int, str]:
        """The exit code and the last words after Ctrl-C."""
        self._process.send_signal(signal.SIGINT)
        rest = self._process.stdout.read()
        return self._process.wait(), rest

    def end(self) -> None:
        self._timer.cancel()
        self._process.kill()
        self._process.wait()
        self._process.stdout.close()


@pytest.fixture
def watch(tmp_path):
    started = []

    def start(text: str | None, *words: str) -> Watched:
        path = tmp_path / "evening.ttl"
        if text is not None:
            path.write_text(text, encoding="utf-8")
        started.append(Watched(path, *words))
        return started[-1]

    yield start
    for watched in started:
        watched.end()


@pytest.mark.long
def test_a_saved_file_is_checked_again_until_the_user_interrupts(watch):
    watched = watch(GOOD)
    first = watched.until("Ctrl-C")
    assert "F3 lies below" in first
    watched.save(FIXED)
    gone = watched.until("1 gone; now nothing found")
    assert "gone          Violin, m. 1, beat 1: F3" in gone
    assert "new  " not in gone
    watched.save(WORSE)
    new = watched.until("1 new, 0 gone; now 1 violation")
    assert "new           Violin, m. 1, beat 1: E3" in new
    code, rest = watched.interrupted()
    assert code == 0
    assert "Traceback" not in rest


@pytest.mark.long
def test_a_broken_file_is_told_and_the_last_good_state_stands(watch):
    watched = watch(GOOD)
    watched.until("Ctrl-C")
    watched.save(GOOD[:200])
    assert "Traceback" not in watched.until("orchq: evening.ttl:")
    watched.save(WORSE)
    said = watched.until("1 new, 1 gone; now 1 violation")
    assert "Violin, m. 1, beat 1: F3" in said
    assert "Violin, m. 1, beat 1: E3" in said


@pytest.mark.long
def test_a_file_that_goes_and_comes_back_is_told(watch):
    watched = watch(GOOD)
    watched.until("Ctrl-C")
    watched.path.unlink()
    watched.until("orchq: evening.ttl: cannot be read")
    watched.save(GOOD)
    watched.until("0 new, 0 gone; now 1 violation")


def test_a_file_that_is_not_there_yet_is_waited_for(watch):
    watched = watch(None)
    watched.until("Ctrl-C")
    watched.save(GOOD)
    assert "F3 lies below" in watched.until("1 violation in")


@pytest.mark.long
def test_settings_and_baseline_hold_on_every_check(watch, tmp_path):
    (tmp_path / "orchq.toml").write_text("[severities]\nnote-below-lowest-string = 'info'\n")
    watched = watch(GOOD)
    assert "changed       by the settings" in watched.until("Ctrl-C")
    watched.save(WORSE)
    assert "1 info" in watched.until("1 new, 1 gone")
