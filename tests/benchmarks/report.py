"""Compare the engraved report of a quartet movement with engraving the movement alone.

    python tests/benchmarks/report.py [PAIRS]

Times in turn (A B A B ...), within one process, the making of the report from findings that are
already known, and verovio reading and drawing the same movement: Beethoven's string quartet
op. 18 no. 1, first movement, from the corpus that the music21 package installs. The report is made
twice, with the systems that have findings and with all. Prints seconds, medians, the ratio of
medians, and the size of each report.
"""

import statistics
import sys
import time
from collections.abc import Callable

import verovio
from check_quartet import movement
from lxml import etree

import orchq
from orchq.readers.tree import numbered_tree
from orchq.report.engraved import html_report


def seconds(act: Callable[[], object]) -> float:
    """Call it and return how long that took."""
    started = time.perf_counter()
    act()
    return time.perf_counter() - started


def main() -> None:
    """Time the pairs and print what came out."""
    pairs = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    verovio.enableLog(verovio.LOG_OFF)
    xml = etree.tostring(numbered_tree(movement()), encoding="unicode")
    outcome = orchq.Project().check(movement())

    def engrave() -> None:
        toolkit = verovio.toolkit()
        toolkit.setInputFrom("musicxml")
        toolkit.loadData(xml)
        for page in range(1, toolkit.getPageCount() + 1):
            toolkit.renderToSVG(page)

    acts: dict[str, Callable[[], object]] = {
        "engraving": engrave,
        "report": lambda: html_report(outcome),
        "report, all pages": lambda: html_report(outcome, all_pages=True),
    }
    took: dict[str, list[float]] = {name: [] for name in acts}
    for _ in range(pairs):
        for name, act in acts.items():
            took[name].append(seconds(act))
    base = statistics.median(took["engraving"])
    for name, times in took.items():
        median = statistics.median(times)
        each = " ".join(f"{one:.2f}" for one in times)
        print(f"{name:<18} {median:>5.2f} s   {median / base:>4.2f} of engraving   ({each})")
    for name, whole in (("report", False), ("report, all pages", True)):
        size = len(html_report(outcome, all_pages=whole).encode())
        print(f"{name:<18} {size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
