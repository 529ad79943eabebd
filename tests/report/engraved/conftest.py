"""Reports made of real scores, and a browser that looks at them."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import music21
import pytest
from selenium import webdriver

import orchq
from orchq.knowledge import Knowledge
from orchq.report.engraved import html_report
from orchq.rules.finding import FileReport

QUARTET = Path(music21.__file__).parent / "corpus/beethoven/opus18no1/movement1.mxl"
"""Beethoven, op. 18 no. 1, first movement, compressed."""

FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)


@pytest.fixture(scope="session")
def graph() -> Knowledge:
    return orchq.load()


@pytest.fixture(scope="session")
def page(graph: Knowledge) -> Callable[..., str]:
    """The page about these reports."""

    def make(*reports: FileReport, all_pages: bool = False) -> str:
        return html_report(reports, graph, all_pages=all_pages)

    return make


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[webdriver.Chrome]:
    """Chromium without a head; it must find the pages that it is shown complete."""
    chromium, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if chromium is None or driver is None:
        pytest.skip("chromium and chromedriver are not installed")
    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('chromium')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    with webdriver.Chrome(options, webdriver.ChromeService(driver)) as chrome:
        yield chrome
