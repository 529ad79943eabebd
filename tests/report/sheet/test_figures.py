"""Every figure on a sheet is in the graph, or computed from it; an alien one is found."""

import re

import pytest

from orchq.questions import load_graph

from .audit import Audit
from .conftest import INSTRUMENTS

FIGURE = re.compile(r"(?<!&#)(?<=[>\s/A-G#b+-])\d+(?:\.\d+)?(?=[^<>]*<)")
"""A figure in the text of a page, not in a tag."""


def audit(slug: str, page: str) -> Audit:
    graph = load_graph()
    return Audit(graph, graph.ask.names.instrument(slug), page)


@pytest.mark.sampled(2, "nightly")
@pytest.mark.parametrize("slug", INSTRUMENTS)
def test_every_figure_has_its_ground(sheet, slug):
    assert audit(slug, sheet(slug)).complaints() == []


def places(page: str, many: int) -> list[int]:
    """Places of figures in the body, evenly spread."""
    body = page.index("<body>")
    found = [match.start() for match in FIGURE.finditer(page, body)]
    return found[:: max(1, len(found) // many)]


@pytest.mark.nightly
@pytest.mark.sampled(2, "nightly")
@pytest.mark.parametrize("slug", ["violin", "double-bass"])
def test_any_changed_figure_is_found(sheet, slug):
    page = sheet(slug)
    spread = places(page, 60)
    assert len(spread) >= 60
    unnoticed = [
        page[place - 40 : place + 20]
        for place in spread
        if not audit(slug, _changed(page, place)).complaints()
    ]
    assert unnoticed == []


def _changed(page: str, place: int) -> str:
    """The page with the figure at this place made another."""
    figure = re.compile(r"\d+(?:\.\d+)?").match(page, place)
    assert figure is not None
    return f"{page[:place]}{float(figure[0]) + 77:g}{page[figure.end() :]}"


@pytest.mark.sampled(3)
@pytest.mark.parametrize(
    "after", ["<h1>", '<li id="said-3">', '<p class="lead">', '<th scope="row">', "<td>"]
)
def test_an_added_figure_is_found(sheet, after):
    page = sheet("viola")
    assert audit("viola", page.replace(after, f"{after}4711 ", 1)).complaints()
