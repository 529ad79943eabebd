"""The process in which untrusted queries and shapes run: started, given its work, ended in time."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

_PACKAGES = str(Path(__file__).parents[2])


class StoppedError(Exception):
    """The process was ended late, or broke; ``answers`` are those that it gave before."""

    def __init__(self, answers: list[dict[str, Any]], late: float | None) -> None:
        self.reason = (
            f"has not ended after {late:g} seconds and was stopped"
            if late
            else "is nested too deeply or needs too much memory"
        )
        super().__init__(self.reason)
        self.answers = answers
        self.late = late


def answered(asked: dict[str, Any], wanted: int, seconds: float) -> list[dict[str, Any]]:
    """Return the answers of a process of its own to a request, so many as are ``wanted``.

    ``asked`` is what ``orchq.sandbox.child`` reads. Raises ``StoppedError`` when the process gives
    fewer, or takes longer than so many seconds.
    """
    path = os.pathsep.join(filter(None, (_PACKAGES, os.environ.get("PYTHONPATH"))))
    late = None
    try:
        done = subprocess.run(
            [sys.executable, "-P", "-m", "orchq.sandbox.child"],
            input=json.dumps(asked | {"seconds": seconds, "parent": os.getpid()}).encode(),
            capture_output=True,
            timeout=seconds,
            check=False,
            env=os.environ | {"PYTHONPATH": path},
        )
        written: bytes | None = done.stdout
    except subprocess.TimeoutExpired as error:
        written = error.stdout
        late = seconds
    # A process that is ended while it writes leaves a line without an end.
    answers = [
        json.loads(line)
        for line in (written or b"").splitlines(keepends=True)
        if line.endswith(b"\n")
    ]
    if len(answers) < wanted:
        raise StoppedError(answers, late)
    return answers
