"""Competency questions about techniques, each against a source outside the project.

Where no source was read the expectation is common practice, and says so.
"""

import pytest


def by_technique(answers):
    return {answer.technique: answer for answer in answers}


def test_techniques_of_the_violin_at_ff(ask):
    found = by_technique(ask.techniques(on="violin", at="ff", all=True))
    # Berlioz, djvu/15: a tremolo of many players storms in the middle at full force.
    assert found["tremolo, unmeasured"].verdict == "allowed"
    # Rimsky-Korsakov, chapter I C: pizzicato has every degree from ff to pp. Common practice
    # stops at f: the two stand side by side.
    assert found["pizzicato"].verdict == "disputed"
    bases = {said.basis for said in found["pizzicato"].evidence}
    assert bases == {"published", "common practice", "attested"}
    # Common practice.
    assert found["sul ponticello"].verdict == "allowed"
    assert found["snap pizzicato"].verdict == "allowed"
    # A degree more than common practice and memory give.
    for technique in ("spiccato", "sul tasto", "natural harmonic", "artificial harmonic"):
        assert found[technique].verdict == "unusual"


def test_what_is_not_allowed_is_told_on_request_only(ask):
    shown = ask.techniques(on="violin", at="ff")
    assert {answer.verdict for answer in shown} == {"allowed", "disputed"}


def test_envelope_of_spiccato_by_both_opinions(ask):
    found = {
        (answer.basis, answer.softest, answer.loudest, answer.in_force)
        for answer in ask.dynamics(on="violin", technique="spiccato")
    }
    # Common practice; the other opinion is remembered.
    assert found == {("common practice", "p", "mp", True), ("memory", "pp", "f", True)}


def test_how_loud_a_pizzicato_is_by_those_who_say_so(ask):
    found = {
        (answer.evidence[0].source.partition(",")[0], answer.loudest)
        for answer in ask.dynamics(on="viola", technique="pizzicato")
        if answer.basis != "attested"
    }
    # Rimsky-Korsakov, Principles of Orchestration, chapter I C; common practice has no name.
    assert found == {("Rimsky-Korsakov", "ff"), ("", "f")}


def test_the_softest_that_two_techniques_share(ask):
    # Common practice: spiccato p to mp, sul ponticello pp to ff.
    [answer] = ask.softest(on="violin", techniques="sul ponticello, spiccato")
    assert (answer.softest, answer.loudest) == ("p", "mp")
    # Common practice: harmonics pp to mf, snap pizzicato mf to ff.
    [answer] = ask.softest(on="violin", techniques="natural harmonic, snap pizzicato")
    assert (answer.softest, answer.loudest) == ("mf", "mf")


def test_what_excludes_each_other_has_no_softest(ask):
    [answer] = ask.softest(on="violin", techniques="sul ponticello, sul tasto")
    assert answer.verdict == "not allowed"
    assert answer.softest is answer.loudest is None


def test_bow_near_the_bridge_excludes_bow_over_the_fingerboard(ask):
    # Physics: one bow has one contact point.
    assert "sul tasto" in by_technique(ask.excludes(technique="sul ponticello"))
    found = by_technique(ask.excludes(technique="spiccato"))
    # What is bowed is not plucked at once, whatever the stroke.
    assert "snap pizzicato" in found
    assert "arco" not in found


def test_how_fast_cellos_pluck(ask):
    # Berlioz, djvu/60: eight quavers to a bar of 2/2 at Allegro non troppo (minim 80), twelve
    # semiquavers to a bar of 6/8 at Andantino (dotted crotchet 56).
    rates = sorted(
        answer.fastest
        for answer in ask.rates(on="cello", technique="pizzicato")
        if answer.evidence[0].source.startswith("Berlioz")
    )
    assert rates == pytest.approx([8 * 80 / 2 / 60, 12 * 56 / 2 / 60], abs=0.01)


def test_rebound_tremolo_of_the_bass(ask):
    # Berlioz, djvu/62: four demisemiquavers to the quaver at Allegro moderato, crotchet 108 to 126.
    [answer] = ask.rates(on="double bass", technique="rebound tremolo")
    assert answer.slowest == pytest.approx(8 * 108 / 60, abs=0.5)
    assert answer.fastest == pytest.approx(8 * 126 / 60, abs=0.5)


def test_time_to_put_a_mute_on_at_crotchet_96(ask):
    # Berlioz, djvu/32: about two bars of 4/4 at Moderato. Moderato is 88 to 108, so that at 96
    # the eight beats lie between the ends.
    found = ask.changes(from_="senza sordino", to="con sordino", tempo=96)
    berlioz = next(answer for answer in found if answer.evidence[0].source.startswith("Berlioz"))
    assert (berlioz.shortest, berlioz.longest) == (round(8 * 60 / 108, 1), round(8 * 60 / 88, 1))
    assert berlioz.shortest_beats < 8 < berlioz.longest_beats


def test_the_mute_comes_off_sooner_than_it_goes_on(ask):
    # Berlioz, djvu/32, without a figure.
    [berlioz] = [answer for answer in ask.changes(to="senza sordino") if answer.says]
    assert berlioz.shortest is None
    assert "less time" in berlioz.says
    assert berlioz.evidence[0].locator == "djvu/32"


def test_what_is_said_of_speed_without_a_figure(ask):
    """The notes about this instrument, then those about none, and nothing of another one."""
    remarks = ask.rates(on="cello", technique="pizzicato").remarks
    # Berlioz, djvu/60, and Rimsky-Korsakov, chapter I C.
    assert [remark.split(",")[0] for remark in remarks] == [
        "Violins pluck faster than cellos",
        "Plucking is always slower than bowing",
    ]
    [bass, _] = ask.rates(on="double bass", technique="pizzicato").remarks[-2:]
    assert bass.startswith("Basses must always pluck much more slowly")


def test_a_bow_at_ff(ask):
    # Arithmetic: 0.65 m at the fast end at ff, 1 m/s, and at the slow end at mf, 0.15 m/s, as the
    # rule on long slurs has it; all figures are remembered.
    [answer] = ask.bow(on="violin", at="ff")
    assert (answer.shortest, answer.longest) == (0.65, round(0.65 / 0.15, 2))
    assert (answer.hair, answer.slowest, answer.fastest) == (0.65, 0.15, 1.0)
    assert {said.basis for said in answer.evidence} == {"memory"}
    assert {said.limit.rpartition("/")[2] for said in answer.evidence} == {
        "limit-bow-length-violin-memory",
        "limit-bow-speed-mf-memory",
        "limit-bow-speed-ff-memory",
    }


@pytest.mark.parametrize(("at", "counts"), [("ppp", "pp"), ("p", "mf"), ("f", "ff"), ("fff", "ff")])
def test_a_dynamic_without_a_speed_counts_as_the_next_louder(ask, at, counts):
    found, stated = (ask.bow(on="cello", at=each, tempo=60) for each in (at, counts))
    assert found.answers == stated.answers
    assert found[0].dynamic == counts
    assert found.remarks
    assert not stated.remarks
    assert found[0].longest_beats == found[0].longest


def test_what_the_mute_takes(ask):
    rows = {answer.what: answer for answer in ask.mute(on="double bass")}
    assert rows["dynamics"].muted == "ppp to ff"
    # Berlioz, djvu/82: on the bass the mute changes little.
    said = {each.locator for answer in ask.mute(on="double bass") for each in answer.evidence}
    assert "djvu/82" in said
    assert "djvu/82" not in {e.locator for a in ask.mute(on="violin") for e in a.evidence}
