"""Sheets of shipped extensions: strings, courses and frets as they are stated."""

import pytest

from orchq.knowledge.data_files import shipped_extensions
from orchq.questions import load_graph
from orchq.report.sheet import instrument_sheet

from .audit import Audit


@pytest.fixture(scope="module")
def graph():
    return load_graph(list(shipped_extensions().values()))


def _audit(graph, slug):
    instrument = next(i for i in graph.instruments.values() if i.slug == slug)
    return Audit(graph, instrument, instrument_sheet(graph, instrument.iri))


@pytest.mark.long
@pytest.mark.parametrize("slug", shipped_extensions())
def test_every_figure_has_its_ground(graph, slug):
    assert _audit(graph, slug).complaints() == []


@pytest.mark.sampled(5)
@pytest.mark.parametrize(
    ("slug", "heads", "cells"),
    [
        # Counted by hand from the tunings.
        ("mandolin", ["in each course", "frets"], ("G3 D4 A4 E5", "2 2 2 2", "20")),
        ("soprano-ukulele", ["order", "frets"], ("G4 C4 E4 A4", "re-entrant", "12")),
        ("hardanger-fiddle", ["sympathetic"], ("A3 D4 A4 E5", "B3 D4 E4 F#4 A4")),
        ("treble-viol", ["frets"], ("D3 G3 C4 E4 A4 D5", "7")),
        ("five-string-cello", [], ("C2 G2 D3 A3 E4",)),
    ],
)
def test_the_strings_are_told_as_far_as_there_is_something_to_tell(graph, slug, heads, cells):
    audit = _audit(graph, slug)
    columns = [th.text_content() for th in audit.document.xpath("//table[@id='tunings']/thead//th")]
    assert columns == ["tuning", "open strings", *heads, "as written", "who"]
    assert audit.rows("tunings")[0][1:] == cells


@pytest.mark.long
def test_a_changed_course_or_fret_is_found(graph):
    mandolin = next(i for i in graph.instruments.values() if i.slug == "mandolin")
    page = instrument_sheet(graph, mandolin.iri)
    for was, now in (("2 2 2 2", "2 2 1 2"), ("<td>20</td>", "<td>21</td>")):
        assert was in page
        assert Audit(graph, mandolin, page.replace(was, now, 1)).complaints()
