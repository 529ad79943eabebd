"""Players that a caller gives stand above those of the score, in MusicXML and in triples."""

import pytest

import orchq

SIZE = "more-divisi-than-players"
HIGH = "high-tutti-register"


@pytest.fixture(params=["musicxml", "ttl"])
def piece(request, tmp_path):
    """The demo: its double basses divide into three, two of them play; violins play high."""
    if request.param == "musicxml":
        return orchq.demo_path()
    path = tmp_path / "piece.ttl"
    path.write_text(orchq.export(orchq.demo_path()))
    return path


def told(piece, **players):
    report = orchq.check(piece, rules=[SIZE, HIGH], players=players)
    return {(finding.part, finding.rule, finding.severity) for finding in report.findings}


def test_without_players_the_score_says_who_plays(piece):
    assert told(piece) == {
        ("Violins I", HIGH, "info"),
        ("Double Basses", SIZE, "violation"),
    }


@pytest.mark.parametrize(
    ("players", "found"),
    [
        (3, set()),
        (2, {("Double Basses", SIZE, "violation")}),
        (1, {("Double Basses", SIZE, "violation")}),
    ],
)
def test_a_number_of_players_is_what_rules_count(piece, players, found):
    assert {each for each in told(piece, **{"double  basses": players}) if each[1] == SIZE} == found


def test_a_solo_part_is_no_section(piece):
    assert ("Violins I", HIGH, "info") not in told(piece, **{"Violins I": 1})
    assert ("Violins I", HIGH, "info") in told(piece, **{"Violins I": 2})


def test_a_part_may_be_named_by_its_identifier(piece):
    assert ("Violins I", HIGH, "info") not in told(piece, P1=1)


@pytest.mark.long
def test_both_engines_count_alike(piece):
    players = {"Double Basses": 3, "Violins I": 1}
    found = [
        orchq.check(piece, rules=[SIZE, HIGH], players=players, engine=engine).findings
        for engine in ("fast", "pyshacl")
    ]
    assert found[0] == found[1]
