"""Outcomes as the formats for CI servers meet them, and a browser that looks at pages."""

import json
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from selenium import webdriver

from orchq.evidence import Evidence
from orchq.project import Outcome, Unread
from orchq.rules.catalogue import RuleInfo
from orchq.rules.finding import Accepted, FileReport, Finding

FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)

RULE = RuleInfo(
    iri="https://w3id.org/orchq/rule/note-below-lowest-string",
    slug="note-below-lowest-string",
    label="note below the lowest string",
    severities=("violation", "warning"),
    why="There is no such note.",
    instead="Give it to a lower instrument.",
    bad="Violins: F3.",
    good="Violas: F3.",
    evidence=(Evidence("limit", "", "", "physics", "A string sounds no lower than itself."),),
)


@pytest.fixture
def make_outcome(make_report: Callable[..., FileReport]) -> Callable[..., Outcome]:
    """A maker of outcomes of one file with the given findings."""

    def make(*findings: Finding, unread: bool = False, **different: Any) -> Outcome:
        threshold = different.pop("threshold", "violation")
        broken = (Unread("broken.mxl", "line one is no score", 1),) if unread else ()
        return Outcome((make_report(*findings, **different), *broken), (RULE,), threshold)

    return make


@pytest.fixture
def make_accepted(make_finding: Callable[..., Finding]) -> Callable[..., Accepted]:
    """A maker of findings that were accepted in some place for some reason."""

    def make(where: Any, reason: str = "asked the player", **different: Any) -> Accepted:
        return Accepted(make_finding(**different), reason, where)

    return make


@pytest.fixture(params=["findings", "nothing", "unreadable", "accepted", "hostile"])
def outcome(
    request: pytest.FixtureRequest,
    make_outcome: Callable[..., Outcome],
    make_finding: Callable[..., Finding],
    make_accepted: Callable[..., Accepted],
) -> Outcome:
    """Outcomes of every kind, for what must hold of all of them."""
    severities = ("violation", "warning", "info")
    findings = [make_finding(severity=each, line=7) for each in severities]
    match request.param:
        case "findings":
            return make_outcome(*findings, remarks=("a sign is not known",))
        case "unreadable":
            return make_outcome(*findings, unread=True)
        case "accepted":
            places = ("excerpt", "settings", "baseline")
            return make_outcome(accepted=tuple(map(make_accepted, places)))
        case "hostile":
            return make_outcome(
                make_finding(message=HOSTILE, part=HOSTILE, measure=HOSTILE, notes=(HOSTILE,)),
                accepted=(make_accepted("excerpt", HOSTILE),),
                file=HOSTILE.replace("\ud800", "\udcff"),  # a byte that is no UTF-8
                remarks=(HOSTILE,),
            )
    return make_outcome()


HOSTILE = (
    "a\r\n::error::x %0A,:\u2028##[add-path]/ [go](https://example.org) {0} "
    "]]></system-out><b/>&amp; \x1b[2J\x00\ud800\uffff\u202e"
)
"""Text that tries to be a command, a link, a placeholder, an element, a terminal code."""


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


@pytest.fixture
def open_page(browser: webdriver.Chrome) -> Callable[..., webdriver.Chrome]:
    """Open a file in a window of this width, with empty logs."""

    def call(
        path: Path, width: int = 1400, height: int = 900, colours: str = "light"
    ) -> webdriver.Chrome:
        metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
        features = [
            {"name": "prefers-color-scheme", "value": colours},
            {"name": "prefers-reduced-motion", "value": "reduce"},
        ]
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
        browser.get("about:blank")
        browser.get_log("browser")
        browser.get_log("performance")
        browser.get(path.as_uri())
        return browser

    return call


@pytest.fixture
def requested() -> Callable[[webdriver.Chrome], list[str]]:
    """The addresses that the open page asked for, itself among them."""

    def call(browser: webdriver.Chrome) -> list[str]:
        events = [
            json.loads(entry["message"])["message"] for entry in browser.get_log("performance")
        ]
        asked = [
            event["params"]["request"]["url"]
            for event in events
            if event["method"] == "Network.requestWillBeSent"
        ]
        return [url for url in asked if not url.startswith(("data:", "about:"))]

    return call


@pytest.fixture
def faults(browser: webdriver.Chrome) -> Callable[[], list[tuple[str, str, list[str]]]]:
    """What axe-core finds against the accessibility of the page that is open."""
    axe = os.environ.get("ORCHQ_AXE")
    if not axe:
        pytest.skip("ORCHQ_AXE names no axe.min.js (npm package axe-core)")

    def call() -> list[tuple[str, str, list[str]]]:
        # A content security policy stops scripts of the page, not those of the driver.
        browser.execute_script(Path(axe).read_text(encoding="utf-8"))
        result = browser.execute_async_script(
            "const done = arguments[0]; axe.run().then(done, (error) => done(String(error)));"
        )
        assert result["passes"]
        return [
            (fault["id"], fault["impact"], [node["html"] for node in fault["nodes"]][:3])
            for fault in result["violations"]
        ]

    return call
