"""How long a simple question takes, the whole process, beside doing nothing and beside rdflib.

    python tests/benchmarks/ask.py [repetitions]

Prints the median of each and what ``orchq ask`` takes as a ratio to the others.
"""

import subprocess
import sys
from statistics import median
from time import perf_counter

from orchq.knowledge.data_files import core_files

NOTHING = "pass"
ASK = "import sys; from orchq.cli.app import main; sys.exit(main(sys.argv[1:]))"
PARSE = """
import sys
from rdflib import Graph
graph = Graph()
for path in sys.argv[1:]:
    graph.parse(path)
"""
QUESTIONS = (
    ("compass", "--on", "violin"),
    ("techniques", "--on", "violin", "--at", "ff"),
    ("stops", "--on", "violin", "--pitches", "G3 D4 B4 G5"),
    ("harmonics", "--on", "violin", "--pitch", "E6"),
)


def seconds(code: str, *arguments: str) -> float:
    """How long a process takes from start to end."""
    started = perf_counter()
    subprocess.run([sys.executable, "-c", code, *arguments], check=True, stdout=subprocess.DEVNULL)
    return perf_counter() - started


def measured(repetitions: int, code: str, *arguments: str) -> float:
    """The median over repetitions."""
    return median(seconds(code, *arguments) for _ in range(repetitions))


def main() -> None:
    """Measure and print."""
    repetitions = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    nothing = measured(repetitions, NOTHING)
    parse = measured(repetitions, PARSE, *map(str, core_files()))
    print(f"python -c pass                      {nothing:6.3f} s")
    print(f"rdflib imported, ontology parsed    {parse:6.3f} s")
    for question in QUESTIONS:
        taken = measured(repetitions, ASK, "ask", *question)
        name = f"orchq ask {question[0]}"
        print(
            f"{name:<34}  {taken:6.3f} s  {taken / nothing:5.1f} x pass"
            f"  {taken / parse:5.2f} x rdflib"
        )


if __name__ == "__main__":
    main()
