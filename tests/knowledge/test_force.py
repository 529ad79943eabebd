"""Which limits hold, by how specific and how well known they are."""

from types import MappingProxyType

import pytest
from msgspec.structs import replace

from orchq import load
from orchq.knowledge import Limit
from orchq.knowledge.force import heard, limits_in_force
from orchq.terms import oq

KNOWLEDGE = load()
VIOLIN = KNOWLEDGE.instruments[oq("violin").value]
SOLOIST = oq("soloist").value
SOURCE = next(iter(KNOWLEDGE.sources.values()))

GENERAL = Limit(
    iri="x:general",
    kind="CompassLimit",
    technique=None,
    instrument=VIOLIN.iri,
    family=None,
    level=None,
    tuning=None,
    register=None,
    role=None,
    basis="common-practice",
    condemns=True,
    source=None,
    locator="",
    statement="",
    values=MappingProxyType({}),
    topics=MappingProxyType({}),
    claim="usual range",
    disputes=True,
)
FAMILY = replace(GENERAL, iri="x:family", instrument=None, family=VIOLIN.family)
LEVEL = replace(GENERAL, iri="x:level", level=SOLOIST)
MEMORY = replace(GENERAL, iri="x:memory", level=SOLOIST, basis="memory", condemns=False)
TRUSTED = replace(GENERAL, iri="x:trusted", basis="published", source=SOURCE)
ATTESTED = replace(
    GENERAL, iri="x:attested", basis="attested", condemns=False, claim="at least so far"
)
VOUCHED = replace(TRUSTED, iri="x:vouched", claim="at least so far")
OTHER_LEVEL = replace(GENERAL, iri="x:other-level", level=oq("student").value)
OTHER_INSTRUMENT = replace(GENERAL, iri="x:viola", instrument=oq("viola").value)
OTHER_TUNING = replace(GENERAL, iri="x:tuning", tuning="x:retuned")
REGISTER = replace(GENERAL, iri="x:register", register="x:high")
ONTO = MappingProxyType({"changesFrom": "x:bare", "changesTo": "x:muted"})
OFF = MappingProxyType({"changesFrom": "x:muted", "changesTo": "x:bare"})
MUTE_ON = replace(FAMILY, iri="x:mute-on", topics=ONTO)
MUTE_OFF = replace(GENERAL, iri="x:mute-off", topics=OFF)
OWN_MUTE_ON = replace(GENERAL, iri="x:own-mute-on", topics=ONTO)
TECHNIQUE = replace(GENERAL, iri="x:pizzicato", technique=oq("pizzicato").value)


@pytest.mark.parametrize(
    ("limits", "held"),
    [
        ([GENERAL, FAMILY], ["x:general"]),
        ([FAMILY], ["x:family"]),
        ([GENERAL, LEVEL], ["x:level"]),
        ([GENERAL, MEMORY], ["x:general", "x:memory"]),
        ([LEVEL, MEMORY], ["x:level", "x:memory"]),
        ([MEMORY], ["x:memory"]),
        ([GENERAL, OTHER_LEVEL], ["x:general"]),
        ([GENERAL, OTHER_INSTRUMENT, OTHER_TUNING, REGISTER, TECHNIQUE], ["x:general"]),
        ([GENERAL, TRUSTED], ["x:general", "x:trusted"]),
        ([MUTE_ON, MUTE_OFF], ["x:mute-on", "x:mute-off"]),
        ([MUTE_ON, OWN_MUTE_ON, MUTE_OFF], ["x:own-mute-on", "x:mute-off"]),
        ([FAMILY, ATTESTED], ["x:family"]),
        ([ATTESTED], []),
        ([GENERAL, VOUCHED], ["x:general"]),
    ],
)
def test_specific_displaces_general(limits: list[Limit], held: list[str]) -> None:
    found = limits_in_force(limits, VIOLIN, level=SOLOIST)
    assert [limit.iri for limit in found] == held


def test_the_trusted_source_speaks_alone() -> None:
    found = limits_in_force([GENERAL, TRUSTED], VIOLIN, trust=SOURCE.iri)
    assert [limit.iri for limit in found] == ["x:trusted"]


def test_what_scores_attest_stands_beside_and_displaces_nothing() -> None:
    groups = list(heard([GENERAL, ATTESTED, MEMORY], VIOLIN))
    assert [{limit.iri for limit in group} for group in groups] == [
        {"x:general", "x:attested", "x:memory"}
    ]


def test_scores_of_a_family_say_little_of_an_instrument_with_limits_of_its_own() -> None:
    other = replace(ATTESTED, iri="x:attested-family", instrument=None, family=VIOLIN.family)
    assert list(heard([GENERAL, other], VIOLIN)) == [[GENERAL]]
    assert list(heard([FAMILY, other], VIOLIN)) == [[other, FAMILY]]


def test_limits_of_every_level_are_heard() -> None:
    (group,) = heard([GENERAL, LEVEL, OTHER_LEVEL], VIOLIN)
    assert group == [GENERAL, LEVEL, OTHER_LEVEL]


@pytest.mark.parametrize("authority", [SOURCE.iri, oq("published").value])
def test_others_are_silent_for_who_trusts_a_source_or_a_basis(authority: str) -> None:
    assert list(heard([ATTESTED, GENERAL, TRUSTED], VIOLIN, trust=authority)) == [[TRUSTED]]


def test_where_the_trusted_source_is_silent_the_others_hold() -> None:
    found = limits_in_force([GENERAL], VIOLIN, trust=SOURCE.iri)
    assert [limit.iri for limit in found] == ["x:general"]


def test_both_opinions_on_spiccato_are_in_force() -> None:
    """Common practice says p to mp; remembered teaching goes further. Both stay."""
    held = KNOWLEDGE.in_force("DynamicEnvelope", VIOLIN, technique=oq("spiccato").value)
    assert {limit.basis for limit in held} == {"common-practice", "memory"}
    loudest = {limit.basis: limit.values["loudest"] for limit in held}
    assert loudest["common-practice"] == oq("mp").value
    assert loudest["memory"] == oq("f").value
