"""The picture of a report in README, made of the demo.

Run as a program, this file makes it anew; it needs chromium and chromedriver.
"""

import shutil
import struct
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement

import orchq

PICTURE = Path(__file__).parents[3] / "orchq" / "docs" / "report.png"
WIDTH = 1100
LARGEST = 250_000
"""Bytes: README is to open quickly."""
SYSTEM = ".system:nth-of-type(2)"
"""The second system has findings in three parts."""


def _size(png: bytes) -> tuple[int, int]:
    """Width and height of a PNG, from its header (RFC 2083)."""
    assert png.startswith(b"\x89PNG\r\n\x1a\n")
    width, height = struct.unpack(">II", png[16:24])
    return width, height


def _page(folder: Path) -> Path:
    page = folder / "report.html"
    page.write_text(
        orchq.format_report(orchq.Project().check(orchq.demo_path()), "html"), encoding="utf-8"
    )
    return page


def _system(browser: webdriver.Chrome) -> WebElement:
    browser.execute_script(
        "document.querySelector('.side').remove();"
        "document.querySelector('.columns').style.display = 'block';"
    )
    return browser.find_element(By.CSS_SELECTOR, SYSTEM)


def test_readme_shows_a_small_picture() -> None:
    data = PICTURE.read_bytes()
    assert len(data) < LARGEST
    assert "orchq/docs/report.png" in (PICTURE.parents[2] / "README.md").read_text(encoding="utf-8")


@pytest.mark.long
def test_the_picture_is_of_the_report_as_it_is(
    open_page: Callable[..., webdriver.Chrome], tmp_path: Path
) -> None:
    """Fonts differ from machine to machine, so that only the layout is compared."""
    drawn = _system(open_page(_page(tmp_path), WIDTH)).size
    now, shown = (drawn["width"], drawn["height"]), _size(PICTURE.read_bytes())
    assert all(abs(one - other) <= 0.25 * other for one, other in zip(now, shown, strict=True)), (
        "report.png is stale: python tests/report/engraved/test_picture.py renews it"
    )


if __name__ == "__main__":
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or sys.exit("chromium is not installed")
    for flag in ("--headless=new", "--no-sandbox", f"--window-size={WIDTH},1400"):
        options.add_argument(flag)
    service = webdriver.ChromeService(shutil.which("chromedriver"))
    driver = webdriver.Chrome(options, service)
    with tempfile.TemporaryDirectory() as folder, driver as chrome:
        chrome.get(_page(Path(folder)).as_uri())
        PICTURE.write_bytes(_system(chrome).screenshot_as_png)
