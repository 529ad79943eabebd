"""Starts the process for untrusted queries and shapes, sends the request, ends it in time."""

import json
from typing import Any

from orchq.bounded import MEMORY, done


class StoppedError(Exception):
    """The process timed out or crashed; ``answers`` are those that it gave before."""

    def __init__(self, answers: list[dict[str, Any]], late: float | None) -> None:
        self.reason = (
            f"did not finish within {late:g} seconds and was stopped"
            if late
            else "is nested too deeply or needs too much memory"
        )
        super().__init__(self.reason)
        self.answers = answers
        self.late = late


def answered(
    asked: dict[str, Any], wanted: int, seconds: float, memory: int = MEMORY
) -> list[dict[str, Any]]:
    """Return the answers of a separate process to a request, ``wanted`` in number.

    ``asked`` is the request to ``orchq.sandbox.child``. Raises ``StoppedError`` when the process
    returns fewer answers or exceeds its time in seconds.
    """
    ended = done("orchq.sandbox.child", json.dumps(asked).encode(), seconds, memory)
    # A process killed while it writes leaves an incomplete line.
    lines = ended.written.splitlines(keepends=True)
    answers = [json.loads(line) for line in lines if line.endswith(b"\n")]
    if len(answers) < wanted:
        raise StoppedError(answers, seconds if ended.late else None)
    return answers
