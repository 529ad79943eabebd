"""The path beside ten violinists: the TNUA Violin Fingering Dataset (IUI 2021), seven passages.

The data state no licence and are read where ORCHQ_FINGERINGS names their folder. The weights of
the graph are fitted on all seven passages, so this holds only that what was fitted is what is
used; tests/benchmarks/fit_fingering.py says how weights do on passages they were not fitted on.
"""

import os
from importlib import import_module
from pathlib import Path

import pytest

FOLDER = os.environ.get("ORCHQ_FINGERINGS")
pytestmark = pytest.mark.skipif(
    not FOLDER, reason="ORCHQ_FINGERINGS names no folder with the fingerings of violinists"
)
# As published with the data: the mean over all pairs of players, string and finger, string alone.
PLAYERS = {
    "bach1": (0.80, 0.90),
    "beeth2_1": (0.82, 0.93),
    "beeth2_2": (0.88, 0.94),
    "elgar": (0.77, 0.94),
    "flower": (0.67, 0.84),
    "mozart2_1": (0.87, 0.92),
    "mozart2_2": (0.89, 0.95),
}


@pytest.fixture(scope="module")
def violinists():
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(Path(__file__).parents[1] / "benchmarks")
        yield import_module("violinists")


@pytest.fixture(scope="module")
def passages(violinists):
    return violinists.read_all(Path(FOLDER))


def test_players_agree_among_themselves_as_published(violinists, passages):
    for passage in passages:
        told = violinists.mutual_agreement(passage)
        assert told == pytest.approx(PLAYERS[passage.name], abs=0.011)


def test_path_agrees_with_players(violinists, passages, search_on):
    search = search_on("violin")
    shares = []
    for passage in passages:
        rows = search.path(passage.steps)
        taken = [
            search.postures(step).rows[row].taken[0]
            for step, row in zip(passage.steps, rows, strict=True)
        ]
        path = violinists.mean_agreement([(n.string, n.finger) for n in taken], passage.players)
        players = violinists.mutual_agreement(passage)
        shares.append([a / b for a, b in zip(path, players, strict=True)])
    both, string = (sum(each) / len(shares) for each in zip(*shares, strict=True))
    assert both > 0.82
    assert string > 0.91
