"""The page of a survey in a browser: nothing is fetched or cut off, and everyone can use it."""

import shutil

import pytest

import orchq
from orchq.cli.app import main
from tests.browsers import browser, faults, open_address, open_page, requested

__all__ = ["browser", "faults", "open_address", "open_page", "requested"]

pytestmark = [pytest.mark.loopback, pytest.mark.long]


@pytest.fixture(scope="module")
def index(tmp_path_factory):
    """The page about a survey of one score."""
    folder, out = tmp_path_factory.mktemp("scores"), tmp_path_factory.mktemp("survey")
    shutil.copy(orchq.demo_path(), folder)
    assert main(["survey", str(folder), "-o", str(out), "--jobs", "1"]) == 0
    return out / "index.html"


@pytest.mark.parametrize("width", [390, 1400])
def test_it_opens_quietly_and_is_no_wider_than_the_window(index, open_page, requested, width):
    browser = open_page(index, width=width)
    assert browser.get_log("browser") == []
    assert requested(browser) == [browser.current_url]
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("colours", ["light", "dark"])
def test_no_fault_of_accessibility(index, open_page, faults, colours):
    open_page(index, colours=colours)
    assert faults() == []
