"""Questions, sheets and reference pages as the server shows them."""

import re
from urllib.parse import urlencode

import pytest
from lxml import html

import orchq
from orchq.questions import catalogue

ASKED = {
    "stops": {"on": "violin", "pitches": "G3 D4 B4 G5"},
    "techniques": {"on": "violin", "at": "ff", "all": "yes"},
    "compass": {"on": "harp"},
    "divisi": {"players": "14", "into": "3"},
    "terms": {"for": "sul tasto"},
    "levels": {},
}


@pytest.mark.parametrize("name", ASKED)
def test_answers_are_those_of_ask(page, name):
    shown = page.get(f"questions/{name}?{urlencode(ASKED[name])}")
    assert shown.status_code == 200
    graph = orchq.load(["harp"] if "harp" in ASKED[name].values() else [])
    given = {key: True if key == "all" else value for key, value in ASKED[name].items()}
    expected = list(orchq.ask(name, graph, **given).rows())
    rows = [
        [" ".join(cell.text_content().split()) for cell in row.iterchildren()]
        for row in html.fromstring(shown.text).iterfind(".//tbody/tr")
    ]
    assert len(rows) == len(expected)
    for row, cells in zip(rows, expected, strict=True):
        assert row[: len(cells)] == [" ".join(cell.split()) for cell in cells]


@pytest.mark.parametrize("question", catalogue(), ids=lambda each: each.name)
def test_a_form_has_a_field_for_each_parameter(page, question):
    document = html.fromstring(page.get(f"questions/{question.name}").text)
    fields = document.xpath("//form[@class='question']//*[self::input or self::select]")
    assert [each.get("name") for each in fields] == [each.name for each in question.parameters]
    needed = [each.get("name") for each in fields if each.get("required") is not None]
    assert needed == [each.name for each in question.parameters if each.required]


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("questions/techniques?on=violn&at=ff", "did you mean"),
        ("questions/techniques?on=violin", "needs --at"),
        ("questions/nothing", "no question is called"),
        ("instruments/sheet?name=kazoo", "no instrument is called"),
        ("questions/stops?on=violin&pitches=%3Cscript%3E", "&lt;script&gt;"),
    ],
)
def test_what_cannot_be_answered_is_explained(page, path, words):
    shown = page.get(path, headers={"accept": "text/html"})
    assert shown.status_code == 400
    assert words in shown.text
    assert "<script>" not in shown.text.replace('<script>"use strict"', "")


@pytest.mark.parametrize(
    ("asked", "drawn"),
    [
        ("stops?on=violin&pitches=G3+D4+B4", True),
        ("stops?on=violin&pitches=G3+A3", False),
        ("fingering?on=violin&notes=G3+B3", True),
        ("sounds?on=violin&pitch=A4", True),
        ("divisi?players=14&into=3", False),
    ],
)
def test_what_can_be_drawn_is_drawn_in_ink_for_light_and_dark(page, asked, drawn):
    shown = page.get(f"questions/{asked}")
    assert ('class="drawing"' in shown.text) is drawn
    if drawn:
        name, _, words = asked.partition("?")
        svg = page.get(f"questions/{name}/drawing.svg?{words}").text
        assert "prefers-color-scheme:dark" in svg
        assert 'color="black"' not in svg


def test_a_drawing_may_run_nothing(page):
    drawn = page.get("questions/techniques/drawing.svg?on=violin&at=ff")
    assert drawn.headers["content-type"].startswith("image/svg+xml")
    assert drawn.headers["content-security-policy"].startswith("default-src 'none'; style-src")
    assert drawn.text.rstrip().endswith("</svg>")


@pytest.mark.parametrize("name", ["viola", "mandolin"])
def test_a_sheet_has_the_bar_before_it(page, name):
    shown = page.get(f"instruments/sheet?name={name}&level=student")
    assert f">{name}</h1>" in shown.text
    assert shown.text.index('class="app-bar"') < shown.text.index("<h1>")
    assert shown.text.count('class="skip"') == 1


def test_the_reference_is_made_once_and_its_links_lead_on(page):
    shown = page.get("reference/rules.html")
    assert 'aria-current="page"' in shown.text
    for name in set(re.findall(r'href="([a-z]+\.html)', shown.text)):
        assert page.get(f"reference/{name}").status_code == 200
