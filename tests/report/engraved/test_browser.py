"""The page in a browser: what a reader sees, clicks and presses."""

import re
from base64 import b64decode
from collections.abc import Callable
from pathlib import Path

import pytest
from selenium.webdriver import Chrome, Keys
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import Select, WebDriverWait

import orchq

from .conftest import QUARTET
from .hostile import score

pytestmark = pytest.mark.loopback

IN_VIEW = """
  const box = arguments[0].getBoundingClientRect();
  const paper = arguments[0].closest(".paper")?.getBoundingClientRect();
  return box.top >= 0 && box.bottom <= innerHeight && box.left >= 0 && box.right <= innerWidth
    && (!paper || (box.left >= paper.left && box.right <= paper.right));
"""
A4 = {"paperWidth": 8.27, "paperHeight": 11.69}
Shown = Callable[..., Chrome]


@pytest.fixture(scope="session")
def pages(tmp_path_factory, graph, page) -> dict[str, Path]:
    """Pages about the demo, a quartet movement, an excerpt in triples, and a hostile score."""
    folder = tmp_path_factory.mktemp("pages")
    hostile = folder / "hostile.musicxml"
    hostile.write_text(score(), encoding="utf-8")
    scores = {
        "demo": orchq.demo_path(),
        "quartet": QUARTET,
        "triples": orchq.demo_path().with_suffix(".ttl"),
        "hostile": hostile,
    }
    found = {}
    for name, path in scores.items():
        report = orchq.check(path, knowledge=graph, level="student" if name == "quartet" else None)
        found[name] = folder / f"{name}.html"
        found[name].write_text(page(report, all_pages=name == "quartet"), encoding="utf-8")
    return found


@pytest.fixture
def show(open_page: Shown, pages: dict[str, Path]) -> Shown:
    """Open one of the pages by name, as ``open_page`` does."""
    return lambda name, *how, **named: open_page(pages[name], *how, **named)


def wait(browser: Chrome, condition: Callable[[], object]) -> None:
    WebDriverWait(browser, 10).until(lambda _: condition())


def one(browser: Chrome, selector: str) -> WebElement:
    return browser.find_element(By.CSS_SELECTOR, selector)


def every(browser: Chrome, selector: str) -> list[WebElement]:
    return browser.find_elements(By.CSS_SELECTOR, selector)


def focused(browser: Chrome) -> str:
    return browser.switch_to.active_element.get_attribute("id") or ""


def in_order(browser: Chrome) -> list[str]:
    """The findings in the order of the page, which is that of the score."""
    return [item.get_attribute("data-finding") for item in every(browser, ".jumps li")]


def assert_marked(browser: Chrome, finding: str) -> None:
    """The notes of a finding are in view and marked as the present ones, and no other note is."""
    current = every(browser, ".noted.current")
    assert current
    for note in current:
        assert finding in note.get_attribute("data-findings").split()
        wait(browser, lambda note=note: browser.execute_script(IN_VIEW, note))


@pytest.mark.sampled(9, "nightly")
@pytest.mark.parametrize("name", ["demo", "quartet", "triples", "hostile"])
def test_nothing_is_fetched_and_nothing_fails(show, requested, name):
    browser = show(name)
    assert every(browser, ".finding")
    assert browser.get_log("browser") == []
    assert requested(browser) == [browser.current_url]
    assert browser.execute_script("return window.caught") is None


@pytest.mark.long
@pytest.mark.parametrize("width", [1400, 390])
def test_a_click_on_a_finding_shows_its_note_marked(show, width):
    browser = show("demo", width)
    for link in every(browser, ".jumps a"):
        finding = link.get_attribute("href").split("#")[1].removesuffix("-note")
        link.click()
        assert_marked(browser, finding)
        assert focused(browser) == f"{finding}-note"


def test_a_click_on_a_note_shows_its_finding_marked(show):
    browser = show("demo")
    name = in_order(browser)[0]
    one(browser, f"#{name}-note").click()
    card = one(browser, f"#{name}")
    assert "current" in card.get_attribute("class").split()
    wait(browser, lambda: browser.execute_script(IN_VIEW, card))


def test_the_page_is_no_wider_than_a_phone(show):
    browser = show("demo", 390, 844)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= 390


def test_severities_can_be_left_out(show):
    browser = show("demo")
    for box in every(browser, "[name=severity]"):
        if box.get_attribute("value") != "warning":
            box.click()
    shown = [card for card in every(browser, ".finding") if card.is_displayed()]
    assert {card.get_attribute("data-severity") for card in shown} == {"warning"}
    assert one(browser, ".shown").text == f"{len(shown)} of 16 findings shown"
    assert len([mark for mark in every(browser, ".mark") if mark.is_displayed()]) == len(shown)
    notes = every(browser, ".noted:not(.off)")
    assert all("warning" in note.get_attribute("class").split() for note in notes)
    assert len(notes) >= len(shown)


@pytest.mark.parametrize(
    ("name", "value", "expected"), [("part", "Cellos", 4), ("rule", "note-above-compass", 1)]
)
def test_parts_and_rules_can_be_chosen(show, name, value, expected):
    browser = show("demo")
    Select(one(browser, f"[name={name}]")).select_by_value(value)
    shown = [card for card in every(browser, ".finding") if card.is_displayed()]
    assert {card.get_attribute(f"data-{name}") for card in shown} == {value}
    assert len(shown) == expected


def test_the_keyboard_alone_reaches_everything(show):
    browser = show("demo")

    def press(*keys: str) -> None:
        browser.switch_to.active_element.send_keys(*keys)

    first, second, *_, last = in_order(browser)
    press("n")
    assert focused(browser) == f"{first}-note"
    press("n")
    assert_marked(browser, second)
    press("p", "p")
    assert focused(browser) == f"{last}-note"
    press(Keys.ENTER)
    assert focused(browser) == last
    for _ in range(12):
        press(Keys.TAB)  # over the links to sources and to the rule, to the note
        link = browser.switch_to.active_element.get_attribute("href") or ""
        if link.endswith(f"#{last}-note"):
            break
    press(Keys.ENTER)
    assert focused(browser) == f"{last}-note"
    assert_marked(browser, last)


def test_tab_goes_through_filters_and_list_with_focus_in_sight(show):
    browser = show("demo")
    visited = []
    for _ in range(10):
        browser.switch_to.active_element.send_keys(Keys.TAB)
        element = browser.switch_to.active_element
        visited.append(element.get_attribute("name") or element.get_attribute("class"))
        width = element.value_of_css_property("outline-width")
        assert width != "0px"
    assert visited[:8] == ["skip", *["severity"] * 3, "part", "rule", "theme", "keys"]
    assert visited[9] in {"violation", "warning", "info"}


def test_letters_do_nothing_when_the_keys_are_off(show):
    browser = show("demo")
    one(browser, "[name=keys]").click()
    one(browser, "[name=keys]").send_keys("n")
    assert not every(browser, ".current")


@pytest.mark.parametrize("colours", ["light", "dark"])
def test_colours_follow_the_system_or_the_choice(show, colours):
    browser = show("demo", colours=colours)

    def lightness() -> float:
        colour = one(browser, "body").value_of_css_property("background-color")
        return sum(map(float, colour.strip("rgba()").split(",")[:3]))

    def is_light() -> bool:
        return lightness() > 380

    assert is_light() == (colours == "light")
    for choice in ("dark", "light"):
        Select(one(browser, "[name=theme]")).select_by_value(choice)
        assert is_light() == (choice == "light")


def test_print_leaves_out_the_controls(show):
    browser = show("demo", colours="dark")
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        assert not one(browser, ".side").is_displayed()
        assert one(browser, "#f1-1").is_displayed()
        assert one(browser, ".music").is_displayed()
        assert one(browser, "body").value_of_css_property("background-color") in {
            "rgb(255, 255, 255)",
            "rgba(255, 255, 255, 1)",
        }
    finally:
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


def test_print_fills_its_pages(show):
    """Seven systems with sixteen findings: two systems to a page, and why it matters."""
    printed = show("demo").execute_cdp_cmd(
        "Page.printToPDF", {"printBackground": True, "preferCSSPageSize": True} | A4
    )
    pages = re.findall(rb"/Type\s*/Page[^s]", b64decode(printed["data"]))
    assert 1 < len(pages) <= 7


def test_a_table_stands_in_for_notes_of_triples(show):
    browser = show("triples")
    one(browser, ".jumps a").click()
    name = in_order(browser)[0]
    assert focused(browser) == f"{name}-note"
    assert "current" in one(browser, f"#{name}-row").get_attribute("class").split()


@pytest.mark.sampled(3, "nightly")
@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("name", ["demo", "quartet", "triples"])
def test_no_serious_fault_of_accessibility(show, faults, name, colours):
    show(name, colours=colours)
    assert faults() == []
