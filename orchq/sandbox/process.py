"""The process in which untrusted queries and shapes run: started, given its work, ended in time."""

import json
from typing import Any

from orchq.bounded import MEMORY, done


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


def answered(
    asked: dict[str, Any], wanted: int, seconds: float, memory: int = MEMORY
) -> list[dict[str, Any]]:
    """Return the answers of a process of its own to a request, so many as are ``wanted``.

    ``asked`` is what ``orchq.sandbox.child`` reads. Raises ``StoppedError`` when the process gives
    fewer, or takes longer than so many seconds.
    """
    ended = done("orchq.sandbox.child", json.dumps(asked).encode(), seconds, memory)
    # A process that is ended while it writes leaves a line without an end.
    lines = ended.written.splitlines(keepends=True)
    answers = [json.loads(line) for line in lines if line.endswith(b"\n")]
    if len(answers) < wanted:
        raise StoppedError(answers, seconds if ended.late else None)
    return answers
