"""The pages in a browser: nothing is fetched or cut off, everyone can use them, they filter."""

import pytest

pytestmark = [pytest.mark.loopback, pytest.mark.long]
NAMES = ("index", "vocabulary", "rules", "glossary", "limits", "hardanger-fiddle")


@pytest.fixture(scope="module")
def folder(pages, tmp_path_factory):
    folder = tmp_path_factory.mktemp("reference")
    for name, text in pages.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


@pytest.mark.sampled(4, "nightly")
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", [390, 1400])
def test_it_opens_quietly_and_is_no_wider_than_the_window(
    open_page, requested, folder, name, width
):
    browser = open_page(folder / f"{name}.html", width=width)
    assert browser.get_log("browser") == []
    assert requested(browser) == [browser.current_url]
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width


@pytest.mark.sampled(3, "nightly")
@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("name", [name for name in NAMES if name != "vocabulary"])
def test_no_fault_of_accessibility(open_page, faults, folder, name, colours):
    """The vocabulary has the same look as the page of an extension, and is too long for this."""
    open_page(folder / f"{name}.html", colours=colours)
    assert faults() == []


SHOWN = "return [...document.querySelectorAll('[data-part]:not([hidden])')].map((part) => part.id)"
TYPE = """
const input = document.querySelector('#page-filter');
input.value = arguments[0];
input.dispatchEvent(new Event('input'));
"""


def test_the_filter_shows_what_holds_all_words_and_gives_way_to_links(open_page, folder):
    browser = open_page(folder / "rules.html")
    every = browser.execute_script(SHOWN)
    browser.execute_script(TYPE, "harmonic NODE")
    left = browser.execute_script(SHOWN)
    assert "harmonic-has-no-node" in left
    assert len(left) < len(every)
    assert browser.execute_script("return document.querySelector('output').textContent") == (
        f"{len(left)} of {len(every)}"
    )
    browser.execute_script("location.hash = '#stop-hard'")
    browser.execute_async_script("requestAnimationFrame(() => setTimeout(arguments[0], 50))")
    assert browser.execute_script(SHOWN) == every
