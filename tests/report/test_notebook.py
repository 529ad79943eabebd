"""Outcomes, reports and answers in a notebook."""

import pytest
from lxml import html

import orchq

FINDINGS = "//*[@data-severity and contains(@class, 'finding')]"
MUSIC = "//*[@class='music']"


def framed(shown):
    (frame,) = html.fragments_fromstring(shown)
    assert frame.get("sandbox") == "allow-scripts"
    return html.fromstring(frame.get("srcdoc"))


@pytest.mark.long
def test_an_outcome_and_a_report_are_engraved():
    outcome = orchq.Project().check(orchq.demo_path())
    for thing in (outcome, outcome.reports[0]):
        page = framed(thing._repr_html_())
        assert len(page.xpath(FINDINGS)) == len(outcome.reports[0].findings)
        assert page.xpath(MUSIC)


def test_answers_are_a_table_and_drawn_where_they_can_be():
    drawn = orchq.ask("strings", on="violin", pitch="A4")
    assert drawn._repr_svg_().rstrip().endswith("</svg>")
    assert "<table>" in drawn._repr_html_()
    assert "data:image/svg+xml" in drawn._repr_html_()
    plain = orchq.ask("divisi", players=14, into=3)
    assert plain._repr_svg_() is None
    assert "<img" not in plain._repr_html_()
