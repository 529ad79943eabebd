"""A teacher's sheet in a browser: nothing is fetched or cut off, and everyone can use it."""

import pytest

import orchq
from orchq.report.lesson import LessonPlan, lesson_page

pytestmark = [pytest.mark.loopback, pytest.mark.long]


@pytest.fixture
def show(open_page, tmp_path):
    """Open a lesson, as ``open_page`` does."""

    def call(**how):
        path = tmp_path / "lesson.html"
        page = lesson_page(orchq.load(), LessonPlan("sul ponticello"))
        path.write_text(page, encoding="utf-8")
        return open_page(path, **how)

    return call


@pytest.mark.parametrize("width", [390, 1400])
def test_it_opens_quietly_and_is_no_wider_than_the_window(show, requested, width):
    browser = show(width=width)
    assert browser.get_log("browser") == []
    assert requested(browser) == [browser.current_url]
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("colours", ["light", "dark"])
def test_no_fault_of_accessibility(show, faults, colours):
    show(colours=colours)
    assert faults() == []
