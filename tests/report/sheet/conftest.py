"""Sheets of the instruments of the graph, each made once."""

from collections.abc import Callable
from functools import cache

import pytest

from orchq.questions import load_graph
from orchq.report.sheet import instrument_sheet

INSTRUMENTS = ("violin", "viola", "cello", "double-bass")


@pytest.fixture(scope="session")
def sheet() -> Callable[[str], str]:
    """The sheet of an instrument by its slug."""
    return cache(lambda slug: instrument_sheet(load_graph(), slug))
