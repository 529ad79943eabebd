"""The core with every shipped extension beside it, loaded once."""

import pytest

import orchq
from orchq.knowledge.data_files import shipped_extensions


@pytest.fixture(scope="session")
def graph():
    return orchq.load(shipped_extensions())


@pytest.fixture(scope="session")
def ask(graph):
    return graph.ask
