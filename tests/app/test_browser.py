"""The page in a browser: everything that a reader does, with the mouse and with keys alone."""

import re
import shutil
from base64 import b64encode
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.request import urlopen

import music21
import pytest
from lxml import etree
from selenium.webdriver import ActionChains, Chrome, Keys
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import Select, WebDriverWait

import orchq

from .conftest import HOPELESS, SMALL, Server

pytestmark = pytest.mark.loopback

QUARTET = Path(music21.__file__).parent / "corpus/haydn/opus1no1/movement1.mxl"
"""Haydn, op. 1 no. 1, first movement, compressed."""

Shown = Callable[..., Chrome]


@pytest.fixture(scope="module")
def server(browser, start_server) -> Server:  # none without a browser
    return start_server()


@pytest.fixture
def show(open_address: Shown, server: Server) -> Shown:
    """Open a page by its address below the token."""
    return lambda path="", *how, **named: open_address(server.address + path, *how, **named)


@pytest.fixture(autouse=True)
def _quiet(browser: Chrome, requested: Callable[[Chrome], list[str]]) -> Iterator[None]:
    """No page writes to the console, and none asks for anything beyond this machine."""
    yield
    assert [entry for entry in browser.get_log("browser") if entry["level"] == "SEVERE"] == []
    beyond = [url for url in requested(browser) if not url.startswith("http://127.0.0.1:")]
    assert beyond == []


def wait(chrome: Chrome, condition: Callable[[], object]) -> None:
    WebDriverWait(chrome, HOPELESS, 0.1, ignored_exceptions=[Exception]).until(
        lambda _: condition()
    )


def one(chrome: Chrome, selector: str) -> WebElement:
    return chrome.find_element(By.CSS_SELECTOR, selector)


def every(chrome: Chrome, selector: str) -> list[WebElement]:
    return chrome.find_elements(By.CSS_SELECTOR, selector)


def settled(chrome: Chrome, after: str = "0") -> str:
    """Wait until the page shows a score that is checked and engraved; return its version."""

    def version() -> str:
        panel = one(chrome, ".app-panel")
        now = panel.get_attribute("data-version")
        done = panel.get_attribute("data-state") in ("ready", "failed") and int(now) > int(after)
        return now if done else ""

    wait(chrome, version)
    return version()


def choose_file(chrome: Chrome, path: Path) -> None:
    one(chrome, "#file").send_keys(str(path))


def found(chrome: Chrome) -> set[str]:
    """The findings that the page shows, by what is said."""
    return {card.text for card in every(chrome, ".finding[data-severity] .message")}


DROP = """
  const transfer = new DataTransfer();
  const bytes = Uint8Array.from(atob(arguments[1]), (each) => each.charCodeAt(0));
  transfer.items.add(new File([bytes], arguments[0]));
  document.dispatchEvent(new DragEvent("drop", { dataTransfer: transfer, cancelable: true }));
"""


def second_violins() -> bytes:
    """One part of the demo: what is done to a score takes less time on it."""
    tree = etree.parse(orchq.demo_path())
    for part in tree.xpath("//score-part | //part"):
        if part.get("id") != "P2":
            part.getparent().remove(part)
    for group in tree.xpath("//part-group"):
        group.getparent().remove(group)
    return etree.tostring(tree, encoding="utf-8")


@pytest.mark.sampled(2, "nightly")
@pytest.mark.parametrize("width", [1400, 390])
def test_the_demo_is_judged_by_other_choices(show, width):
    chrome = show("", width)
    choose_file(chrome, orchq.demo_path())
    version = settled(chrome)
    assert every(chrome, "svg.music")
    before = found(chrome)
    Select(one(chrome, "[name=level]")).select_by_value("student")
    settled(chrome, version)
    assert "With these choices" in one(chrome, ".app-changes summary").text
    assert found(chrome) != before
    assert chrome.execute_script("return document.documentElement.scrollWidth") <= width


@pytest.mark.sampled(2, "nightly")
@pytest.mark.parametrize("width", [1400, 390])
def test_findings_are_accepted_corrected_saved_and_seen_to_change(show, server, width):
    score = server.folder / f"lantern-{width}.musicxml"
    score.write_bytes(second_violins())
    chrome = show("", width)
    one(chrome, "#path").send_keys(str(score), Keys.ENTER)
    version = settled(chrome)
    card = one(chrome, ".finding[data-severity]")
    said = card.find_element(By.CSS_SELECTOR, ".message").text
    card.find_element(By.CSS_SELECTOR, ".app-accept summary").click()
    card.find_element(By.CSS_SELECTOR, "[name=reason]").send_keys("agreed", Keys.ENTER)
    version = settled(chrome, version)
    assert said not in found(chrome)
    assert "agreed" in one(chrome, ".accepted").text
    assert 'reason = "agreed"' in (server.folder / "orchq.toml").read_text()
    one(chrome, ".app-withdraw button").click()
    version = settled(chrome, version)
    assert said in found(chrome)
    (server.folder / "orchq.toml").unlink()
    box = one(chrome, ".app-choose input")
    number = box.get_attribute("value").split(".")[0]
    corrected = one(chrome, f"#f1-{number} .message").text
    box.click()
    one(chrome, ".app-apply button").click()
    wait(chrome, lambda: "-corrected" in one(chrome, ".app-panel").get_attribute("data-name"))
    settled(chrome)
    assert "Carried out" in one(chrome, ".app-panel").text
    assert corrected not in found(chrome)
    saved = one(chrome, ".app-take a[href$='/score']").get_attribute("href")
    with urlopen(saved) as answer:  # noqa: S310 - our own
        assert answer.read().count(b"<note") > 50
    chrome.back()
    settled(chrome)
    text = score.read_text(encoding="utf-8")
    score.write_text(text.replace("<octave>4", "<octave>2", 1), encoding="utf-8")
    version = settled(chrome, version)
    assert "Saved anew" in one(chrome, ".app-panel").text
    assert chrome.execute_script("return document.documentElement.scrollWidth") <= width


@pytest.mark.long
def test_a_quartet_movement_is_dropped(show, server):
    chrome = show()
    copy = server.folder / "quartet.mxl"
    shutil.copy(QUARTET, copy)
    choose_file(chrome, copy)
    settled(chrome)
    report = orchq.check(QUARTET)
    assert len(every(chrome, ".finding[data-severity]")) == len(report.findings)
    assert "quartet.mxl" in one(chrome, ".file").text


def test_a_score_is_dropped_and_dropped_again(show):
    chrome = show()
    chrome.execute_script(DROP, "small.musicxml", b64encode(SMALL).decode())
    version = settled(chrome)
    assert len(every(chrome, ".finding[data-severity]")) == 1
    better = SMALL.replace(b"<octave>3", b"<octave>4")
    chrome.execute_script(DROP, "small.musicxml", b64encode(better).decode())
    settled(chrome, version)
    assert every(chrome, ".finding[data-severity]") == []
    assert "1 went" in one(chrome, ".app-changes summary").text


@pytest.mark.long
def test_what_is_typed_is_not_taken_away(show, server):
    score = server.folder / "typed.musicxml"
    score.write_bytes(SMALL)
    chrome = show()
    one(chrome, "#path").send_keys(str(score), Keys.ENTER)
    settled(chrome)
    one(chrome, ".app-accept summary").click()
    reason = one(chrome, "[name=reason]")
    reason.send_keys("half a sent")
    wait(chrome, lambda: reason.get_attribute("value") == "half a sent")
    score.write_bytes(SMALL.replace(b"<octave>3", b"<octave>2"))
    wait(chrome, lambda: one(chrome, ".app-renewed").is_displayed())
    assert one(chrome, "[name=reason]").get_attribute("value") == "half a sent"
    one(chrome, ".app-renewed button").click()
    wait(chrome, lambda: "Saved anew" in one(chrome, ".app-panel").text)


QUESTIONS = {
    "stops": {"on": "violin", "pitches": "G3 D4 B4 G5"},
    "techniques": {"on": "violin", "at": "ff"},
    "terms": {"for": "sul tasto"},
}


@pytest.mark.parametrize("name", QUESTIONS)
def test_a_question_is_asked_in_its_form(show, name):
    chrome = show("questions/")
    one(chrome, f"h2 a[href$='/{name}']").click()
    for field, value in QUESTIONS[name].items():
        element = one(chrome, f"[name={field}]")
        if element.tag_name == "select":
            Select(element).select_by_value(value)
        else:
            element.send_keys(value)
    one(chrome, ".question button").click()
    expected = orchq.ask(name, **QUESTIONS[name])
    wait(chrome, lambda: every(chrome, "tbody tr"))
    rows = every(chrome, "tbody tr")
    assert len(rows) == len(expected)
    first = next(iter(expected.rows()))
    assert rows[0].find_element(By.CSS_SELECTOR, "th").text == first[0]
    if every(chrome, ".drawing img"):
        wait(
            chrome,
            lambda: chrome.execute_script(
                "const [img] = document.images; return img.complete && img.naturalWidth > 0;"
            ),
        )


def tab_to(chrome: Chrome, selector: str) -> WebElement:
    """Press the tabulator until an element has the focus."""
    for _ in range(150):
        ActionChains(chrome).send_keys(Keys.TAB).perform()
        if chrome.execute_script("return document.activeElement.matches(arguments[0])", selector):
            return chrome.switch_to.active_element
    raise AssertionError(f"{selector} is not reached")


@pytest.mark.long
def test_the_keyboard_alone_does_everything(show, server):
    score = server.folder / "keys.musicxml"
    score.write_bytes(SMALL)
    chrome = show()
    tab_to(chrome, "#file")
    tab_to(chrome, "#path").send_keys(str(score), Keys.ENTER)
    version = settled(chrome)
    tab_to(chrome, "[name=level]").send_keys("stu")
    version = settled(chrome, version)
    tab_to(chrome, ".app-accept summary").send_keys(Keys.ENTER)
    tab_to(chrome, "[name=reason]").send_keys("by keys", Keys.ENTER)
    version = settled(chrome, version)
    (server.folder / "orchq.toml").unlink()
    assert "by keys" in one(chrome, ".accepted").text
    tab_to(chrome, ".app-bar a[href$='questions/']").send_keys(Keys.ENTER)
    tab_to(chrome, "a[href$='/divisi']").send_keys(Keys.ENTER)
    tab_to(chrome, "[name=players]").send_keys("14")
    tab_to(chrome, "[name=into]").send_keys("3", Keys.ENTER)
    wait(chrome, lambda: "5" in one(chrome, "tbody tr").text)
    tab_to(chrome, ".app-bar a[href$='instruments/']").send_keys(Keys.ENTER)
    tab_to(chrome, "a[href$='name=viola']").send_keys(Keys.ENTER)
    wait(chrome, lambda: one(chrome, "h1").text.lower() == "viola")


PAGES = [
    "",
    "questions/",
    "questions/stops?on=violin&pitches=G3+D4+B4",
    "instruments/",
    "questions/techniques?on=nothing&at=ff",
    "instruments/sheet?name=viola",
    "reference/glossary.html",
    "reference/rules.html",
    "reference/limits.html",
    "score/none/",
]


@pytest.mark.sampled(3, "nightly")
@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("path", PAGES)
def test_no_fault_of_accessibility(show, faults, path, colours):
    for width in (1400, 390):
        chrome = show(path, width, colours=colours)
        assert chrome.execute_script("return document.documentElement.scrollWidth") <= width
    # The reference has a test of its own; here it stands for the bar before it.
    assert faults() == []
    if path in ("score/none/", "questions/techniques?on=nothing&at=ff"):
        chrome.get_log("browser")  # names the page that was refused


@pytest.mark.parametrize("colours", ["light", "dark"])
def test_no_fault_of_accessibility_about_scores(show, faults, server, colours):
    score = server.folder / "axe.musicxml"
    score.write_bytes(SMALL)
    broken = server.folder / "broken.musicxml"
    broken.write_bytes(b"<score-partwise>")
    for path in (score, broken):
        chrome = show("", 390, colours=colours)
        one(chrome, "#path").send_keys(str(path), Keys.ENTER)
        settled(chrome)
        for closed in every(chrome, ".app-panel details"):
            chrome.execute_script("arguments[0].open = true", closed)
        assert faults() == []
    show("", colours=colours)
    assert faults() == []


@pytest.mark.long
@pytest.mark.parametrize("colours", ["light", "dark"])
def test_no_fault_of_accessibility_at_the_end(open_address, start_server, faults, colours):
    chrome = open_address(start_server().address, 390, colours=colours)
    one(chrome, "form[action$='/end'] button").click()
    wait(chrome, lambda: chrome.title.startswith("orchq has ended"))
    assert faults() == []


def test_a_page_is_sent_without_a_way_out(show, server):
    chrome = show()
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/[\w-]{32}/", server.address)
    answer = chrome.execute_async_script(
        "const done = arguments[0];"
        "fetch('https://example.org/').then(() => done('sent'), (error) => done(String(error)));"
    )
    assert answer != "sent"
    chrome.get_log("browser")
    chrome.get_log("performance")
