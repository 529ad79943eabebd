"""A process that checks scores and makes pages for the server, one job after another.

Run as a module with the number of the process that started it and the bytes of memory that it
may take. Its first message holds the choices that the graph offers; each job is answered by any
number of messages and the last, ``{"end": true}``.
"""

import gc
import os
import sys
from collections.abc import Iterator, Mapping
from typing import IO, Any

from orchq.app.jobs import JOBS, offered
from orchq.app.piped import receive, send
from orchq.bounded import tie
from orchq.errors import explain


def main() -> None:
    """Work until the server closes the pipe."""
    tie(int(sys.argv[1]), int(sys.argv[2]))
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a library prints must not come between the messages
    gc.disable()  # looked through after each job, while nobody waits
    send(answers, offered())
    gc.freeze()
    while (job := receive(sys.stdin.buffer)) is not None:
        _work(job, answers)
        gc.collect()


def _work(job: Mapping[str, Any], answers: IO[bytes]) -> None:
    for message in _messages(job):
        send(answers, message)
    send(answers, {"end": True})


def _messages(job: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    """What the job answers; an error becomes a sentence."""
    try:
        yield from JOBS[job["do"]](job)
    except MemoryError:
        yield {"error": "needs more memory than a score may take"}
    except Exception as error:  # noqa: BLE001 - the next job must find the process at work
        yield {"error": explain(error)}


if __name__ == "__main__":
    main()
