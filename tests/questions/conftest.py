"""The questions of the packaged graph, asked once loaded."""

import pytest

import orchq


@pytest.fixture(scope="session")
def graph():
    return orchq.load()


@pytest.fixture(scope="session")
def ask(graph):
    return graph.ask
