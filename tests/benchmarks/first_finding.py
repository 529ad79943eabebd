"""Compare the first finding on the page of ``orchq open FILE`` with ``orchq check FILE``.

    python tests/benchmarks/first_finding.py [PAIRS]

Times in turn (A B A B ...), from the start of the process, the check of Beethoven's string quartet
op. 18 no. 1, first movement, from the corpus that the music21 package installs, until it has
ended, and the opening of a page about it until the browser has painted a finding. The browser is
Chromium without a head, which runs already, as it does for who has one open. Prints wall-clock
seconds, and on Linux those of the processor (for a page those of the server and its processes, not
those of the browser), medians and ratios; then, when the score is engraved and the page at rest,
the memory that each process holds.
"""

import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from check_quartet import ENVIRONMENT, movement
from selenium import webdriver

SEEN = """
  document.addEventListener("DOMContentLoaded", () => {
    if (document.querySelector(".finding[data-severity]"))
      requestAnimationFrame(() => setTimeout(() => { window.seen = Date.now(); }));
  });
"""
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--no-first-run")
ORCHQ = [sys.executable, "-m", "orchq"]


def processor(pid: int) -> float:
    """Seconds that a process and those it started have used so far; 0 where nobody counts."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
        return sum(map(int, fields[11:15])) / os.sysconf("SC_CLK_TCK") + sum(
            processor(child) for child in started_by(pid)
        )
    except OSError:
        return 0.0


def started_by(pid: int) -> list[int]:
    """The processes that a process has started."""
    children = Path(f"/proc/{pid}/task/{pid}/children")
    return [*map(int, children.read_text().split())] if children.exists() else []


def megabytes(pid: int) -> float:
    """The memory that a process holds."""
    lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmRSS")) / 1024


def check() -> tuple[float, float]:
    """Seconds of a check as a whole process, and those of the processor."""
    before, started = os.times(), time.perf_counter()
    subprocess.run(
        [*ORCHQ, "check", movement()], stdout=subprocess.DEVNULL, env=ENVIRONMENT, check=False
    )
    took, after = time.perf_counter() - started, os.times()
    used = after.children_user - before.children_user
    return took, used + after.children_system - before.children_system


def shown(browser: webdriver.Chrome, *, rest: bool) -> tuple[float, float]:
    """The same until the browser shows a finding; ``rest`` waits on, and prints the memory."""
    started = time.time()
    process = subprocess.Popen(
        [*ORCHQ, "open", "--no-browser", movement()],
        stdout=subprocess.PIPE,
        text=True,
        env=ENVIRONMENT,
    )
    try:
        assert process.stdout is not None
        found = re.search(r"http://\S+", process.stdout.readline())
        assert found is not None
        browser.get(found[0])
        while not (seen := browser.execute_script("return window.seen")):
            time.sleep(0.05)
        used = processor(process.pid)
        if rest:
            at_rest(browser, process.pid)
    finally:
        process.terminate()
        process.wait()
    return seen / 1000 - started, used


def at_rest(browser: webdriver.Chrome, pid: int) -> None:
    """Wait until the page is whole, and print what memory each process holds then."""
    while browser.execute_script("return document.querySelector('.app-panel').dataset.state") in (
        *("waiting", "checking", "engraving"),
    ):
        time.sleep(0.2)
    time.sleep(3)
    if started_by(pid):
        print(f"at rest: server {megabytes(pid):.0f} MB, process that checks", end=" ")
        print(", ".join(f"{megabytes(child):.0f} MB" for child in started_by(pid)), end="; ")
    browser.execute_cdp_cmd("HeapProfiler.collectGarbage", {})
    heap = browser.execute_cdp_cmd("Runtime.getHeapUsage", {})
    print(f"heap of the page {heap['usedSize'] / 1e6:.1f} MB")


def main() -> None:
    """Time the pairs and print what came out."""
    pairs = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    chromium, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if chromium is None or driver is None:
        sys.exit("chromium and chromedriver are not installed")
    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    with tempfile.TemporaryDirectory() as profile:
        for flag in (*FLAGS, f"--user-data-dir={profile}"):
            options.add_argument(flag)
        with webdriver.Chrome(options, webdriver.ChromeService(driver)) as browser:
            browser.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": SEEN})
            check()  # uncounted: they compile, and fetch files from the disk
            shown(browser, rest=True)
            rounds = [(*check(), *shown(browser, rest=False)) for _ in range(pairs)]
    for number, each in enumerate(rounds, 1):
        print(f"{number:>3}  {told(each)}")
    print(f"all  {told(tuple(map(statistics.median, zip(*rounds, strict=True))))}  medians")


def told(times: tuple[float, ...]) -> str:
    """The times of a pair, and how they compare."""
    wall, used, page_wall, page_used = times
    return (
        f"check {wall:5.2f} s (processor {used:.2f})   page {page_wall:5.2f} s ({page_used:.2f})"
        f"   ratio {page_wall / wall:.2f} ({page_used / used if used else 0:.2f})"
    )


if __name__ == "__main__":
    main()
