"""Closed, full and broken streams, and signals: one sentence and 2, or silence; no half pages."""

import io
import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest

from orchq.cli.app import main
from orchq.cli.streams import say
from orchq.errors import OrchqError

DEMO = Path(__file__).parents[2] / "orchq" / "demo" / "lantern-street.musicxml"
PROGRAM = (sys.executable, "-m", "orchq")
RULES = " ".join((*PROGRAM, "rules"))
needs_full = pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no /dev/full")
posix = pytest.mark.skipif(os.name != "posix", reason="a shell of POSIX is used")


def shell(command: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["/bin/sh", "-c", command],
        capture_output=True, text=True, check=False, timeout=60, env=os.environ | environment,
    )  # fmt: skip


@posix
@needs_full
@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_full_disk_is_told(unbuffered):
    done = shell(f"{RULES} > /dev/full", PYTHONUNBUFFERED=unbuffered)
    assert done.returncode == 2
    assert done.stderr.splitlines() == [
        "orchq: standard output: cannot be written: No space left on device"
    ]


@posix
@pytest.mark.parametrize(
    ("closing", "code", "lines"),
    [(">&-", 2, 1), ("2>&-", 0, 0), (">&- 2>&-", 2, 0), ("<&- >&-", 2, 1)],
)
def test_closed_streams(closing, code, lines):
    done = shell(f"{RULES} {closing}")
    assert done.returncode == code
    assert len(done.stderr.splitlines()) == lines
    assert "internal error in orchq" not in done.stderr


@posix
def test_a_file_is_no_stream_that_was_closed(tmp_path):
    """Where standard output was closed, what is opened next must not take its place."""
    out = tmp_path / "page.ttl"
    done = shell(f"{' '.join(PROGRAM)} export {DEMO} -o {out} <&- >&- 2>&-")
    assert done.returncode == 0
    assert out.read_text(encoding="utf-8").startswith("@prefix")


@pytest.mark.long
@posix
@pytest.mark.parametrize(
    ("words", "code"),
    [("rules", "0"), (f"check --no-settings --no-advice {DEMO}", "1")],
)
def test_who_reads_no_more_has_had_enough(words, code):
    """The exit code is that of the findings all the same."""
    done = shell(f"{{ {' '.join(PROGRAM)} {words}; echo $? >&2; }} | true")
    assert done.stderr.split() == [code]


class Narrow:
    """A raw stream that takes ten bytes at a time, as one without a buffer may."""

    def __init__(self, most: int) -> None:
        self.taken, self.most = b"", most

    def write(self, data) -> int:
        taken = bytes(data[:10])[: self.most - len(self.taken)]
        self.taken += taken
        return len(taken)


@pytest.mark.parametrize("most", [10**6, 25])
def test_what_is_taken_in_parts_is_written_to_the_end(monkeypatch, most):
    class Stream(io.TextIOWrapper):
        narrow = Narrow(most)
        buffer = property(lambda self: self.narrow)

    stream = Stream(io.BytesIO(), encoding="utf-8")
    monkeypatch.setattr(sys, "stdout", stream)
    if most < 100:
        with pytest.raises(OrchqError, match="standard output"):
            say("ü" * 100)
    else:
        say("ü" * 100)
        assert stream.narrow.taken == ("ü" * 100).encode()


def test_an_interrupt_ends_without_a_traceback(monkeypatch, capfd):
    def interrupt(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("orchq.cli.commands.run_command", interrupt)
    assert main(["rules"]) == 130
    assert capfd.readouterr() == ("", "")


@pytest.mark.long
@posix
def test_an_interrupt_while_modules_are_loaded_is_silent():
    """Sent again and again from the start, wherever it may strike."""
    for delay in (0.05, 0.15, 0.3):
        program = subprocess.Popen(
            [*PROGRAM, "check", DEMO], stdout=subprocess.PIPE, stderr=subprocess.PIPE
        )
        time.sleep(delay)
        with suppress(ProcessLookupError):
            program.send_signal(signal.SIGINT)
        _, told = program.communicate(timeout=60)
        # Before the program itself has begun, Python answers in its own way.
        if b"__main__.py" in told:
            assert b"Traceback" not in told, told.decode()
