"""Limits weighed: zones and their ends, and what must hold whatever the limits are."""

from fractions import Fraction
from itertools import pairwise
from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from orchq import load
from orchq.knowledge import VERDICTS, Limit, Yardstick, Zone
from orchq.knowledge.data_files import data_directory
from orchq.knowledge.weighing import Ladder, weigh
from orchq.severity import SEVERITIES
from orchq.terms import oq

EXTENSIONS = sorted(path.stem for path in (data_directory("ontology") / "extensions").iterdir())
KNOWLEDGE = load(EXTENSIONS)
STUDENT, ORCHESTRAL, SOLOIST = (oq(each).value for each in ("student", "orchestral", "soloist"))
LEVELS = (STUDENT, ORCHESTRAL, SOLOIST)
LADDER = Ladder(MappingProxyType({STUDENT: 1, ORCHESTRAL: 2, SOLOIST: 3}), 2)

CEILING = Yardstick(
    iri="x:ceiling",
    kind="RateLimit",
    name="fastestRate",
    usual="usualRate",
    is_ceiling=True,
    is_ratio=False,
    step=Fraction(2),
    near=Fraction(1, 2),
    far=Fraction(2),
    gravest="violation",
    gravest_for_technique="violation",
    says_beyond="",
    says_disputed="",
)
FLOOR = replace(CEILING, iri="x:floor", is_ceiling=False)
RATIO = replace(CEILING, iri="x:ratio", is_ratio=True, step=Fraction(5, 4))
RATIO_FLOOR = replace(RATIO, iri="x:ratio-floor", is_ceiling=False)
YARDSTICKS = (CEILING, FLOOR, RATIO, RATIO_FLOOR)

BASES = {
    # basis: whether it condemns, whether its objection is worth a remark
    "published": (True, True),
    "common-practice": (True, True),
    "derived": (False, True),
    "memory": (False, False),
    "attested": (False, False),
}


def limit(value, basis="published", *, claim="usual range", level=None, usual=None, iri="x:limit"):
    condemns, disputes = BASES[basis]
    values = {"fastestRate": value, "usualRate": usual}
    return Limit(
        iri=f"{iri}-{basis}-{claim}-{level}-{value}-{usual}",
        kind="RateLimit",
        technique=None,
        instrument=None,
        family=None,
        level=level,
        tuning=None,
        register=None,
        role=None,
        basis=basis,
        condemns=condemns,
        source=None,
        locator="",
        statement="",
        values=MappingProxyType({k: v for k, v in values.items() if v is not None}),
        topics=MappingProxyType({}),
        claim="at least so far" if basis == "attested" else claim,
        disputes=disputes,
    )


def zones(*limits, level=ORCHESTRAL, yardstick=CEILING):
    return weigh(limits, yardstick, level, LADDER, {})


def at(value, found, yardstick=CEILING) -> Zone | None:
    """The zone of a value; none where nothing limits."""
    for zone in found:
        if zone.up_to is None or not yardstick.exceeds(Fraction(value), zone.up_to):
            return zone
    return None


def said(value, *limits, level=ORCHESTRAL, yardstick=CEILING):
    zone = at(value, zones(*limits, level=level, yardstick=yardstick), yardstick)
    return (zone.verdict, zone.severity) if zone else ("allowed", None)


def grave(zone: Zone | None) -> int:
    """How grave a zone is, as a number."""
    return -1 if zone is None or zone.severity is None else SEVERITIES.index(zone.severity)


# ------------------------------------------------------------------ ends of zones


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        (10, ("allowed", None)),
        ("10.001", ("unusual", "info")),
        (11, ("unusual", "info")),
        ("11.001", ("unusual", "warning")),
        (14, ("unusual", "warning")),
        ("14.001", ("not allowed", "violation")),
    ],
)
def test_zones_of_a_ceiling(value, verdict):
    """Half a step of two is near, two steps are not yet far."""
    assert said(value, limit(10)) == verdict


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        (10, ("allowed", None)),
        (9, ("unusual", "info")),
        (6, ("unusual", "warning")),
        ("5.999", ("not allowed", "violation")),
    ],
)
def test_zones_of_a_floor(value, verdict):
    assert said(value, limit(10), yardstick=FLOOR) == verdict


@pytest.mark.parametrize(
    ("yardstick", "value", "severity"),
    [
        (RATIO, "11.18034", "info"),
        (RATIO, "11.18035", "warning"),
        (RATIO, "15.625", "warning"),
        (RATIO, "15.626", "violation"),
        (RATIO_FLOOR, "8.944272", "info"),
        (RATIO_FLOOR, "8.944271", "warning"),
        (RATIO_FLOOR, "6.4", "warning"),
        (RATIO_FLOOR, "6.399", "violation"),
    ],
)
def test_steps_may_be_factors(yardstick, value, severity):
    """Ten times the root of 1.25, and 1.25 squared."""
    assert said(value, limit(10), yardstick=yardstick)[1] == severity


@pytest.mark.parametrize(
    ("limits", "value", "verdict"),
    [
        ([limit(8), limit(10)], 8, ("allowed", None)),
        ([limit(8), limit(10)], 9, ("disputed", "info")),
        ([limit(8), limit(10)], 10, ("disputed", "info")),
        ([limit(8), limit(10)], 11, ("unusual", "info")),
        # memory permits like all others, and its objection is not worth a remark
        ([limit(8), limit(10, "memory")], 10, ("disputed", "info")),
        ([limit(8, "memory"), limit(10)], 10, ("disputed", None)),
        ([limit(8, "memory"), limit(10, "memory")], 10, ("disputed", None)),
        ([limit(8, "derived"), limit(10)], 10, ("disputed", "info")),
        # what scores alone have reached is rare enough to be mentioned
        ([limit(8, "memory"), limit(10, "attested")], 10, ("disputed", "info")),
        ([limit(8), limit(10, "attested")], 10, ("disputed", "info")),
        # beyond what is usual somebody objects, though the figure permits
        ([limit(10, usual=8)], 8, ("allowed", None)),
        ([limit(10, usual=8)], 9, ("disputed", "info")),
        ([limit(None, usual=8)], 9, ("unusual", "info")),
        # memory alone never condemns
        ([limit(8, "memory")], 9, ("unusual", "info")),
        ([limit(8, "memory")], 100, ("unusual", "warning")),
        ([limit(8, "derived")], 100, ("unusual", "warning")),
        ([limit(8, "derived"), limit(5)], 100, ("not allowed", "violation")),
        # beyond a bound nothing exists, whoever permits it
        ([limit(8, claim="bound")], 8, ("allowed", None)),
        ([limit(8, claim="bound")], "8.001", ("not allowed", "violation")),
        ([limit(8, claim="bound"), limit(10)], 9, ("not allowed", "violation")),
        ([limit(8, claim="bound"), limit(5, "attested")], 8, ("allowed", None)),
        ([limit(20, claim="bound"), limit(8)], 9, ("unusual", "info")),
        # who has reached so far forbids nothing
        ([limit(8, claim="at least so far")], 100, ("allowed", None)),
        ([limit(8, "attested")], 100, ("allowed", None)),
        ([], 100, ("allowed", None)),
    ],
)
def test_what_is_said_of_a_value(limits, value, verdict):
    assert said(value, *limits) == verdict


def test_both_sides_are_named_the_most_permitting_first():
    low, high, higher = limit(8), limit(9), limit(10)
    zone = at(Fraction(19, 2), zones(low, high, higher))
    assert zone.opposed_by == (high, low)
    assert zone.permitted_by == (higher,)


def test_the_gravest_is_that_of_the_yardstick_and_of_a_technique():
    milder = replace(CEILING, gravest="warning", gravest_for_technique="info")
    assert said(100, limit(8), yardstick=milder)[1] == "warning"
    assert said(100, replace(limit(8), technique="x:technique"), yardstick=milder)[1] == "info"


# ------------------------------------------------------------------ levels of player


@pytest.mark.parametrize(
    ("limits", "student", "orchestral", "soloist"),
    [
        # a ceiling binds its level and those below
        ([limit(8, level=ORCHESTRAL)], "info", "info", None),
        ([limit(8, level=SOLOIST)], "info", "info", "info"),
        ([limit(8, level=STUDENT)], "info", None, None),
        # and permits its level and those above
        ([limit(8), limit(9, level=STUDENT)], "info", "info", "info"),
        ([limit(8), limit(9, level=SOLOIST)], "info", "info", "info"),
        ([limit(7, level=STUDENT), limit(9, level=SOLOIST)], "warning", None, None),
        # what names no level is about the orchestra, and binds soloists too
        ([limit(8)], "info", "info", "info"),
        ([limit(7, level=STUDENT), limit(9)], "warning", None, None),
        # an attested figure for students takes nothing from them
        ([limit(9), limit(4, "attested", level=STUDENT)], None, None, None),
    ],
)
def test_levels(limits, student, orchestral, soloist):
    """What is said of 9."""
    found = [said(9, *limits, level=level)[1] for level in LEVELS]
    assert found == [student, orchestral, soloist]


# ------------------------------------------------------------------ whatever the limits are

VALUES = st.integers(1, 30)
LIMITS = st.builds(
    lambda value, basis, claim, level, usual: limit(
        value,
        basis,
        claim=claim,
        level=level,
        usual=None if usual is None else min(value, usual),
    ),
    VALUES,
    st.sampled_from(sorted(BASES)),
    st.sampled_from(["bound", "usual range", "at least so far"]),
    st.sampled_from([None, *LEVELS]),
    st.none(),
)
SETS = st.lists(LIMITS, max_size=6)
MEASURES = st.fractions(min_value=Fraction(1, 2), max_value=60, max_denominator=8)


@given(SETS, st.sampled_from(LEVELS), st.sampled_from(YARDSTICKS), MEASURES, MEASURES)
def test_farther_is_never_milder(limits, level, yardstick, one, other):
    found = zones(*limits, level=level, yardstick=yardstick)
    easy, hard = sorted((one, other), key=yardstick.order)
    assert grave(at(easy, found, yardstick)) <= grave(at(hard, found, yardstick))


@given(SETS, st.sampled_from(YARDSTICKS), MEASURES)
def test_no_level_is_allowed_less_than_the_one_below(limits, yardstick, value):
    found = [
        at(value, zones(*limits, level=each, yardstick=yardstick), yardstick) for each in LEVELS
    ]
    assert sorted(map(grave, found), reverse=True) == list(map(grave, found))


@given(SETS, st.sampled_from(LEVELS), st.sampled_from(YARDSTICKS), LIMITS, MEASURES)
def test_a_limit_that_permits_makes_nothing_graver(limits, level, yardstick, more, value):
    """Somebody who has reached so far, anywhere; a usual range, where it permits."""
    reached = replace(more, claim="at least so far")
    before = at(value, zones(*limits, level=level, yardstick=yardstick), yardstick)
    after = at(value, zones(*limits, reached, level=level, yardstick=yardstick), yardstick)
    assert grave(after) <= grave(before)
    grants = replace(more, claim="usual range", level=level)
    if limits and not yardstick.exceeds(value, Fraction(grants.values["fastestRate"])):
        speaking = [each for each in limits if each.level == level]
        after = at(value, zones(*speaking, grants, level=level, yardstick=yardstick), yardstick)
        before = at(value, zones(*speaking, level=level, yardstick=yardstick), yardstick)
        assert grave(after) <= grave(before)


@given(SETS, st.sampled_from(LEVELS), st.sampled_from(YARDSTICKS), MEASURES)
def test_without_anyone_who_condemns_nothing_is_a_violation(limits, level, yardstick, value):
    weak = [each for each in limits if not each.condemns and each.claim != "bound"]
    zone = at(value, zones(*weak, level=level, yardstick=yardstick), yardstick)
    assert zone is None or zone.severity != "violation"


@given(SETS, st.sampled_from(LEVELS), st.sampled_from(YARDSTICKS))
def test_zones_cover_all_values(limits, level, yardstick):
    found = zones(*limits, level=level, yardstick=yardstick)
    covers(found, yardstick)
    rank = LADDER.rank(level)
    binds = any(
        each.claim != "at least so far" and (each.level is None or LADDER.rank(each.level) >= rank)
        for each in limits
    )
    assert bool(found) == binds


def covers(found, yardstick):
    """Zones follow each other without a gap, and whoever speaks in one is rightly named."""
    if not found:
        return
    assert found[0].beyond is None
    assert found[-1].up_to is None
    for zone, following in pairwise(found):
        assert zone.up_to == following.beyond
        assert zone.beyond is None or yardstick.exceeds(zone.up_to, zone.beyond)
        assert VERDICTS.index(zone.verdict) <= VERDICTS.index(following.verdict)
    for zone in found:
        assert (zone.severity is None) == (zone.verdict == "allowed") or zone.verdict == "disputed"
        assert zone.opposed_by or zone.verdict == "allowed"


# ------------------------------------------------------------------ the whole graph


@pytest.mark.parametrize("instrument", sorted(KNOWLEDGE.instruments))
def test_levels_of_the_graph_stand_in_order(instrument):
    """For every technique and kind of limit; and the zones cover all values without a gap."""
    player = KNOWLEDGE.instruments[instrument]
    kinds = sorted({yardstick.kind for yardstick in KNOWLEDGE.yardsticks})
    ordered = sorted(KNOWLEDGE.levels, key=KNOWLEDGE.ladder.rank)
    compared = 0
    for kind in kinds:
        techniques = {each.technique for each in KNOWLEDGE.limits if each.kind == kind}
        for technique in techniques:
            by_level = [
                {
                    (each.yardstick.iri, tuple(sorted(each.topics.items()))): each
                    for each in KNOWLEDGE.weighings(kind, player, technique=technique, level=level)
                }
                for level in ordered
            ]
            for weighings in by_level:
                for weighing in weighings.values():
                    covers(weighing.zones, weighing.yardstick)
            for key, weighing in by_level[0].items():
                ends = {
                    zone.up_to
                    for weighings in by_level
                    if key in weighings
                    for zone in weighings[key].zones
                    if zone.up_to is not None
                }
                beyond = max(ends, key=weighing.yardstick.order)
                for value in {*ends, weighing.yardstick.beyond(beyond, Fraction(1, 100))}:
                    found = [
                        grave(weighings[key].at(value)) if key in weighings else -1
                        for weighings in by_level
                    ]
                    assert found == sorted(found, reverse=True), (key, value)
                    compared += 1
            # no level is limited where the one below is not
            for below, above in pairwise(by_level):
                assert set(above) <= set(below)
    if player.family == oq("bowed-strings").value:
        assert compared > 20
