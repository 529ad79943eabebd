"""Reports made of real scores."""

from collections.abc import Callable
from pathlib import Path

import music21
import pytest

import orchq
from orchq.knowledge import Knowledge
from orchq.project import Outcome
from orchq.report.engraved import html_report
from orchq.rules.finding import FileReport

QUARTET = Path(music21.__file__).parent / "corpus/beethoven/opus18no1/movement1.mxl"
"""Beethoven, op. 18 no. 1, first movement, compressed."""


@pytest.fixture(scope="session")
def graph() -> Knowledge:
    return orchq.load()


@pytest.fixture(scope="session")
def page(graph: Knowledge) -> Callable[..., str]:
    """The page about these reports."""

    catalogue = orchq.catalogue(graph)

    def make(*reports: FileReport, all_pages: bool = False) -> str:
        return html_report(Outcome(reports, catalogue, knowledge=graph), all_pages=all_pages)

    return make
