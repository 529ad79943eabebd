"""A browser that looks at pages; each ``conftest.py`` takes from here what its tests need."""

import json
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from selenium import webdriver

FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)


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
def open_address(browser: webdriver.Chrome) -> Callable[..., webdriver.Chrome]:
    """Open an address in a window of this width, with empty logs."""

    def call(
        address: str, width: int = 1400, height: int = 900, colours: str = "light"
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
        browser.get(address)
        return browser

    return call


@pytest.fixture
def open_page(
    open_address: Callable[..., webdriver.Chrome],
) -> Callable[..., webdriver.Chrome]:
    """Open a file as ``open_address`` does."""
    return lambda path, *how, **named: open_address(path.as_uri(), *how, **named)


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
