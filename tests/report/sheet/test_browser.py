"""A sheet in a browser: nothing is fetched or cut off, and everyone can use it."""

import pytest

from .conftest import INSTRUMENTS

pytestmark = [pytest.mark.loopback, pytest.mark.long]


@pytest.fixture
def show(open_page, sheet, tmp_path):
    """Open the sheet of an instrument, as ``open_page`` does."""

    def call(slug, **how):
        path = tmp_path / f"{slug}.html"
        path.write_text(sheet(slug), encoding="utf-8")
        return open_page(path, **how)

    return call


@pytest.mark.sampled(3, "nightly")
@pytest.mark.parametrize("slug", INSTRUMENTS)
@pytest.mark.parametrize("width", [390, 1400])
def test_it_opens_quietly_and_is_no_wider_than_the_window(show, requested, slug, width):
    browser = show(slug, width=width)
    assert browser.get_log("browser") == []
    assert requested(browser) == [browser.current_url]
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width


@pytest.mark.sampled(3, "nightly")
@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("slug", INSTRUMENTS)
def test_no_fault_of_accessibility(show, faults, slug, colours):
    show(slug, colours=colours)
    assert faults() == []
