"""Many damaged inputs of every kind: ``python -m tests.fuzz.run``, and a table of how they ended.

Each kind is worked on in processes of its own, one after another. An input fails when it raises
anything but ``OrchqError``, takes longer than 30 seconds, needs more than 1 GB, opens a connection
or leaves a draft behind; it is kept in the folder ``--keep``, and the command ends with 1.
"""

import argparse
import faulthandler
import json
import shutil
import socket
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from time import monotonic

from tests.fuzz.damage import damaged
from tests.fuzz.kinds import KINDS, outcome
from tests.fuzz.seeds import seed

SHARES = {
    "musicxml": 12_500, "settings": 2_500, "baseline": 2_500, "turtle": 900, "nt": 400,
    "jsonld": 400, "facts": 300, "html": 120, "rule": 100, "question": 100,
    "mei": 60, "kern": 60, "abc": 40, "midi": 60,
}  # fmt: skip
"""Inputs of each kind in a run of 20,000 and a few."""

SECONDS = 30
KILOBYTES = 1_000_000


def main() -> int:
    """Run what the command line asks for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--share", type=float, default=1.0, help="of the 20,000 inputs")
    parser.add_argument("--kinds", nargs="*", choices=KINDS, default=list(SHARES))
    parser.add_argument("--keep", type=Path, default=Path("fuzz-failures"))
    parser.add_argument("--worker", nargs=3, metavar=("KIND", "FROM", "TO"))
    asked = parser.parse_args()
    if asked.worker:
        kind, first, last = asked.worker[0], int(asked.worker[1]), int(asked.worker[2])
        _work(kind, asked.seed, range(first, last))
        return 0
    failures = sum(
        _of_kind(kind, max(1, round(SHARES[kind] * asked.share)), asked.seed, asked.keep)
        for kind in asked.kinds
    )
    print(f"{failures} failures")
    return int(failures > 0)


def _of_kind(kind: str, count: int, seed_: int, keep: Path) -> int:
    """Work on so many inputs; a process that ends before its last is followed by another."""
    ended: Counter[str] = Counter()
    slowest = most = 0.0
    done = 0
    while done < count:
        for result in _results(kind, seed_, done, count):
            done += 1
            ended[result["ended"]] += 1
            slowest, most = max(slowest, result["seconds"]), max(most, result["kilobytes"])
            if result["ended"] not in {"read", "refused"}:
                _keep(kind, seed_, result["number"], result["ended"], keep)
        if done < count:  # the process was ended by its input
            ended["process ended"] += 1
            _keep(kind, seed_, done, "process ended", keep)
            done += 1
    good = ended["read"] + ended["refused"]
    print(
        f"{kind:10} {count:6} inputs: {ended['read']:6} read, {ended['refused']:6} refused,"
        f" {count - good} failed; slowest {slowest:.1f} s, most {most / 1000:.0f} MB",
        flush=True,
    )
    return count - good


def _results(kind: str, seed_: int, first: int, last: int) -> Iterator[dict]:
    words = ["--seed", str(seed_), "--worker", kind, str(first), str(last)]
    with subprocess.Popen(
        [sys.executable, "-m", "tests.fuzz.run", *words], stdout=subprocess.PIPE, text=True
    ) as worker:
        assert worker.stdout is not None
        for line in worker.stdout:
            if line.startswith("{"):
                yield json.loads(line)


def _work(kind: str, seed_: int, numbers: range) -> None:
    import resource  # noqa: PLC0415 - not on every system

    def refuse(*_: object) -> None:
        raise AssertionError("a connection")

    socket.socket.connect = refuse  # type: ignore[method-assign]
    whole = seed(kind)
    for number in numbers:
        folder = Path(tempfile.mkdtemp(prefix="fuzz-"))
        started = monotonic()
        faulthandler.dump_traceback_later(SECONDS, exit=True)
        try:
            ended = outcome(kind, damaged(whole, (kind, seed_, number)), folder)
        except Exception as error:  # noqa: BLE001 - that is what is looked for
            ended = f"{type(error).__name__}: {str(error)[:200]}"
        faulthandler.cancel_dump_traceback_later()
        if any(path.name.startswith(".") for path in folder.rglob("*")):
            ended = "a draft was left"
        shutil.rmtree(folder)
        kilobytes = max(
            resource.getrusage(who).ru_maxrss
            for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
        )
        if kilobytes > KILOBYTES:
            ended = "needs too much memory"
        seconds = monotonic() - started
        told = {"number": number, "ended": ended, "seconds": seconds, "kilobytes": kilobytes}
        print(json.dumps(told), flush=True)
        if kilobytes > KILOBYTES:
            return  # the next would be blamed for it


def _keep(kind: str, seed_: int, number: int, why: str, keep: Path) -> None:
    keep.mkdir(exist_ok=True)
    path = keep / f"{kind}-{seed_}-{number}"
    path.write_bytes(damaged(seed(kind), (kind, seed_, number)))
    print(f"{path}: {why}", file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())
