"""How long one bow lasts: usable hair divided by the speed of the bow.

The lengths and speeds are from memory; the times that follow from them are checked against
seconds worked out by hand from the same figures.
"""

from fractions import Fraction

import pytest

from orchq.derive.bow_time import time_in
from orchq.derive.states import StateWalk
from orchq.terms import oq

from .conftest import KNOWLEDGE, make_event, make_mark, make_part


def _times(circumstances_of, instrument, dynamic):
    part = make_part(
        [make_event(1, (0, 1, "A3"))],
        [make_mark(0, dynamic)] if dynamic else [],
        instrument=instrument,
    )
    walk = StateWalk(KNOWLEDGE, KNOWLEDGE.instruments[oq(instrument).value], part)
    return time_in(circumstances_of(part), next(walk.walk(1)).in_force)


@pytest.mark.parametrize(
    ("dynamic", "seconds"),
    [
        # 0.65 m at 0.04 m/s
        (None, Fraction(65, 4)),
        ("ppp", Fraction(65, 4)),
        ("pp", Fraction(65, 4)),
        ("p", Fraction(65, 4)),
        ("mf", Fraction(65, 4)),
        # 0.65 m at 0.15 m/s, the slow end at mf
        ("f", Fraction(13, 3)),
        ("ff", Fraction(13, 3)),
        ("fff", Fraction(13, 3)),
    ],
)
def test_the_louder_the_shorter(circumstances_of, dynamic, seconds):
    time = _times(circumstances_of, "violin", dynamic)
    assert (time.longest, time.at_any) == (seconds, Fraction(65, 4))


@pytest.mark.parametrize("dynamic", [None, "ppp", "pp"])
def test_a_bow_as_fast_as_is_usual_where_nobody_says_how_loud_is_the_softest(
    circumstances_of, dynamic
):
    """0.65 m at 0.06 m/s, the quick end at pp: what no dynamic forbids."""
    assert _times(circumstances_of, "violin", dynamic).shortest == Fraction(65, 6)


@pytest.mark.parametrize(
    ("instrument", "seconds"),
    [("viola", 16), ("cello", 15), ("double-bass", Fraction(53, 4))],
)
def test_shorter_bows_last_less(circumstances_of, instrument, seconds):
    """0.64 m, 0.60 m and 0.53 m at 0.04 m/s."""
    assert _times(circumstances_of, instrument, "pp").longest == seconds


def test_a_time_names_what_it_rests_on(circumstances_of):
    limits = {limit.iri for limit in _times(circumstances_of, "cello", "f").limits}
    assert limits == {
        oq("limit-bow-length-cello-memory").value,
        oq("limit-bow-speed-mf-memory").value,
    }


def test_the_speeds_give_the_usual_ranges():
    """A violin bow of 0.65 m lasts 11 to 16 s at pp, 2.6 to 4.3 s at mf, 0.65 to 1.1 s at ff."""
    times = {}
    for limit in KNOWLEDGE.limits:
        if limit.kind == "BowSpeed":
            slow, fast = (
                Fraction("0.65") / Fraction(limit.values[f"{end}MetresPerSecond"])
                for end in ("slowest", "fastest")
            )
            dynamic = str(limit.values["limitsDynamic"])
            times[dynamic.rsplit("/", 1)[-1]] = round(float(fast), 2), round(float(slow), 2)
    assert times == {"pp": (10.83, 16.25), "mf": (2.6, 4.33), "ff": (0.65, 1.08)}
