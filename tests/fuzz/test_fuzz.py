"""Whatever is damaged is read or refused in one sentence; ``run.py`` does so for thousands."""

import pytest

from tests.fuzz.damage import damaged
from tests.fuzz.kinds import check_seed, outcome
from tests.fuzz.run import SHARES
from tests.fuzz.seeds import seed

SLOW = frozenset({"html", "rule", "question", "mei", "kern", "abc", "midi"})


@pytest.mark.parametrize("kind", [kind for kind in SHARES if kind not in SLOW])
def test_a_damaged_input_is_read_or_refused(kind, tmp_path):
    check_seed(kind, tmp_path)
    ended = [
        outcome(kind, damaged(seed(kind), (kind, "suite", number)), tmp_path) for number in range(8)
    ]
    assert set(ended) <= {"read", "refused"}
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


@pytest.mark.long
@pytest.mark.parametrize("kind", sorted(SLOW))
def test_a_damaged_input_of_a_kind_that_takes_long(kind, tmp_path):
    check_seed(kind, tmp_path)
    for number in range(8):
        outcome(kind, damaged(seed(kind), (kind, "suite", number)), tmp_path)


def test_the_same_seed_does_the_same_damage():
    assert damaged(b"a <b> c 1", 1) == damaged(b"a <b> c 1", 1)
    assert len({damaged(b"a <b> c 1", number) for number in range(50)}) > 25
