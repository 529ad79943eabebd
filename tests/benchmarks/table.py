"""One table of how long and how much: whole processes in turn, CPU seconds and peak memory.

    python tests/benchmarks/table.py [--runs 5] [--largest 80000]

Lines: start-up; the whole check of Beethoven's op. 18 no. 1, first movement (from the corpus that
music21 installs), beside importing music21 and parsing the file, partitura's and verovio's parse of
it where they are installed, and lxml's; and growth, the same movement again and again up to
``--largest`` notes, in at most 16 parts. Runs of one group alternate: ratios are of one time.
CPU seconds are user and system time of the process and its children: on a machine that does other
work too, they say more than the clock does.
"""

import argparse
import importlib.util
import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tests.benchmarks.check_quartet import ENVIRONMENT, PARSE, movement
from tests.benchmarks.growing import grown

NOTES = 4181
"""Notes of the movement."""
OTHERS = {
    "music21": PARSE,
    "partitura": "import sys, partitura; partitura.load_musicxml(sys.argv[1])",
    "verovio": "import sys, verovio; assert verovio.toolkit().loadFile(sys.argv[1])",
    "lxml": (
        "import sys, zipfile; from lxml import etree; z = zipfile.ZipFile(sys.argv[1]);"
        "etree.fromstring(z.read(next(n for n in z.namelist() if n[:4] != 'META')))"
    ),
}


@dataclass
class Row:
    """One command, with what its runs took; ``notes`` is 0 where nothing is read."""

    name: str
    command: Sequence[str]
    notes: int = 0
    seconds: list[float] = field(default_factory=list)
    megabytes: float = 0.0

    def run(self) -> None:
        """Run the command once in a process of its own that measures it."""
        process = subprocess.Popen(
            self.command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=ENVIRONMENT
        )
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode not in (0, 1):
            sys.exit(f"{' '.join(self.command)} ended with {process.returncode}")
        self.seconds.append(used.ru_utime + used.ru_stime)
        self.megabytes = max(self.megabytes, used.ru_maxrss / 1024)


def main() -> None:
    """Measure group by group and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--largest", type=int, default=80_000)
    given = parser.parse_args()
    print(f"{'':<34}{'CPU s: min':>11}{'median':>9}{'max':>9}{'ratio':>8}{'MB':>7}{'ms/note':>9}")
    with tempfile.TemporaryDirectory() as folder:
        for rows in groups(Path(folder), given.largest):
            for row in rows:
                row.run()  # uncounted: it compiles, and fetches files from the disk
                row.seconds.clear()
            for _ in range(given.runs):
                for row in rows:
                    row.run()
            for row in rows:
                print(told(row, rows[-1]))
            print()


def groups(folder: Path, largest: int) -> Iterator[list[Row]]:
    """The commands, in groups that are compared with the last of each."""
    ours, score = [sys.executable, "-m", "orchq"], str(movement())
    yield [
        Row("orchq --help", [*ours, "--help"]),
        Row("orchq ask strings", [*ours, "ask", "strings", "--on", "violin", "--pitch", "G4"]),
        Row("python, nothing", [sys.executable, "-c", "pass"]),
    ]
    installed = [name for name in OTHERS if importlib.util.find_spec(name) is not None]
    yield [
        Row("check with advice", [*ours, "check", score], NOTES),
        Row("check --no-advice", [*ours, "check", score, "--no-advice"], NOTES),
        *(
            Row(f"{name} parses", [sys.executable, "-c", OTHERS[name], score], NOTES)
            for name in sorted(installed, key="music21".__eq__)
        ),
    ]
    rows = []
    for times, copies in ((1, 1), (5, 1), (10, 2), (19, 4)):
        if NOTES * times * copies <= largest * 1.05:
            file = folder / f"{times}-{copies}.musicxml"
            file.write_bytes(grown(movement(), times, copies))
            name = f"check, {NOTES * times * copies} notes, {4 * copies} parts"
            command = [*ours, "check", str(file), "--no-advice", "--format", "json"]
            rows.insert(0, Row(name, command, NOTES * times * copies))
    yield rows


def told(row: Row, last: Row) -> str:
    """One line: seconds, the median beside that of the last of the group, memory, time per note."""
    middle = statistics.median(row.seconds)
    ratio = middle / statistics.median(last.seconds)
    each = f"{middle / row.notes * 1000:>9.3f}" if row.notes else ""
    return (
        f"{row.name:<34}{min(row.seconds):>11.2f}{middle:>9.2f}{max(row.seconds):>9.2f}"
        f"{ratio:>8.2f}{row.megabytes:>7.0f}{each}"
    )


if __name__ == "__main__":
    main()
