"""Nothing that a score holds can run in the page, fetch anything, or hide other words."""

import unicodedata

import pytest
from lxml import html

import orchq
from orchq.evidence import Evidence
from orchq.report.engraved.labels import Label
from orchq.report.engraved.system_drawing import Glyphs, draw
from orchq.rules.finding import Accepted, Proposal

from .hostile import PAYLOADS, TEXT, score

_LINKS = {"href", "src", "action", "formaction", "data", "poster", "xlink:href", "srcset"}


def assert_inert(page: str) -> None:
    assert not [c for c in page if unicodedata.category(c) in {"Cc", "Cf"} and c != "\n"]
    root = html.fromstring(page)
    assert len(root.findall(".//script")) == len(root.findall(".//style")) == 1
    for element in root.iter():
        assert element.tag not in {"img", "iframe", "object", "embed", "base", "link", "image"}
        for name, value in element.attrib.items():
            assert not name.startswith("on")
            assert name != "style"
            assert name not in _LINKS or value.startswith("#")
            if not name.startswith(("aria-", "data-")) and name not in {"id", "href", "value"}:
                assert "url(" not in value


def test_a_hostile_score_makes_an_inert_page(tmp_path, page, graph):
    path = tmp_path / "<script>window.caught=1<!--.musicxml"
    path.write_text(score(), encoding="utf-8")
    report = orchq.check(path, knowledge=graph, rules={"note-below-lowest-string"})
    made = page(report, all_pages=True)
    assert 'class="noted violation"' in made
    assert_inert(made)


def test_hostile_findings_make_an_inert_page(page, make_finding, make_report):
    said = " ".join(PAYLOADS)
    finding = make_finding(
        part=said,
        measure=said,
        notes=(said,),
        message=said,
        event=said,
        rule=said,
        evidence=(Evidence(said, said, said, said, said),),
        instead=(Proposal(said, True),),
    )
    accepted = (Accepted(finding, said, "settings"),)
    report = make_report(finding, file=f"{TEXT}.ttl", remarks=(said,), accepted=accepted)
    assert_inert(page(report))


@pytest.mark.parametrize(
    "content",
    [
        "<script>caught()</script>",
        '<a href="https://example.org"><path d="M1 1 L2 2"/></a>',
        '<image href="https://example.org/x.png"/>',
        '<foreignObject><p xmlns="http://www.w3.org/1999/xhtml">x</p></foreignObject>',
        '<use href="https://example.org/x.svg#a" transform="translate(1, 1) scale(1, 1)"/>',
        '<path d="M0 0" fill="url(https://example.org/x)" onclick="caught()" style="x"/>',
        '<text x="1" font-family="url(x)">&lt;b&gt;&#x202e;</text>',
        '<text x="1"><tspan onclick="caught()">x</tspan></text>',
        '<animate attributeName="href" to="javascript:caught()"/>',
        "<style>* { background: url(https://example.org) }</style>",
    ],
)
def test_a_drawing_keeps_only_what_is_listed(content):
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg"><svg viewBox="0 0 100 100">'
        f'<g transform="translate(0, 0)">{content}</g></svg></svg>'
    )
    drawn = draw(svg, {}, "f1", Glyphs()).svg
    for word in ("script", "example", "caught", "foreign", "style", "url", "animate", "<b>"):
        assert word not in drawn
    assert "\u202e" not in drawn


def test_the_words_of_a_label_are_escaped():
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg"><defs><g id="E0A4-x"><path d="M0 0"/></g></defs>'
        '<svg viewBox="0 0 100 100"><g transform="translate(0, 0)"><g class="note" id="n1">'
        '<g class="notehead"><use href="#E0A4-x" transform="translate(1, 1) scale(1, 1)"/></g>'
        "</g></g></svg></svg>"
    )
    labels = {"n1": [Label("f1-1", 1, "violation", '"><script>')]}
    drawn = draw(svg, labels, "f1", Glyphs()).svg
    assert 'aria-label="&quot;&gt;&lt;script&gt;"' in drawn
