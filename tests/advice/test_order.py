"""What is offered first, how much is tried, and what is said of what was not tried."""

from fractions import Fraction

from orchq.advice import Workbench, advise, verified_rewritings
from orchq.advice.advising import MOST_ALIKE, MOST_PROPOSALS
from orchq.advice.cutting import cut
from orchq.rules.checking import check_score
from orchq.score import Score
from orchq.terms import oq

from .conftest import line, score

MANY = 20


def _advised(whole: Score, knowledge):
    return advise(check_score(whole, knowledge, file=""), Workbench(whole, knowledge))


def _ranks(knowledge):
    return {remedy.slug: remedy.changes_music for remedy in knowledge.remedies.values()}


def test_what_changes_least_of_the_music_comes_first(knowledge, offered):
    told = offered(
        score(
            line("violin", "A4 F#6-G#6 B4 C9 B4"),
            line("violin", "A4 B4 C5", words={0: ["spiccato", "ff"]}),
            line("cello", "A3 C3 A3", words={0: ["on-d-string"]}),
        )
    )
    ranks = _ranks(knowledge)
    assert sum(len(slugs) > 1 for slugs in told.values()) >= 2
    for slugs in told.values():
        assert [ranks[slug] for slug in slugs] == sorted(ranks[slug] for slug in slugs)


def test_the_pitch_is_kept_before_the_colour_and_the_colour_before_the_octave(knowledge):
    ranks = _ranks(knowledge)
    order = (
        ("take-sign-away", "nearest-dynamic"),
        ("nearest-dynamic", "divide"),
        ("divide", "like-technique"),
        ("natural-harmonic", "artificial-harmonic"),
        ("like-technique", "leave-note-out"),
        ("leave-note-out", "other-octave"),
        ("other-part", "other-octave"),
    )
    assert all(ranks[sooner] < ranks[later] for sooner, later in order)


def test_the_nearest_dynamic_is_the_one_offered(knowledge):
    whole = score(line("violin", "A4 B4 C5", words={0: ["sul-tasto", "fff"]}))
    (finding,) = _advised(whole, knowledge).findings
    assert any("mp instead of fff" in proposal.do for proposal in finding.instead)


def test_no_more_than_three_are_offered(knowledge):
    whole = score(line("violin", "A4 G#3-A3 B4", section=True, players=8), line("viola", "A4 r B4"))
    report = check_score(whole, knowledge, file="")
    assert (
        len(verified_rewritings(report, Workbench(whole, knowledge), most=99)[0]) > MOST_PROPOSALS
    )
    assert len(_advised(whole, knowledge).findings[0].instead) == MOST_PROPOSALS


def test_findings_that_say_the_same_share_what_was_tried_and_say_so(knowledge):
    whole = score(line("violin", "A4 F#3 " * MANY))
    findings = _advised(whole, knowledge).findings
    assert len(findings) == MANY
    verified = [all(each.verified for each in finding.instead) for finding in findings]
    assert verified == [True] * MOST_ALIKE + [False] * (MANY - MOST_ALIKE)
    assert len({tuple(each.do for each in finding.instead) for finding in findings}) == 1


def test_infos_are_left_alone_and_nothing_found_costs_nothing(knowledge):
    whole = score(line("double-bass", "A2 D1 B2"))
    findings = _advised(whole, knowledge).findings
    assert [(finding.severity, finding.instead) for finding in findings] == [("info", ())]


def test_tied_notes_move_together(knowledge):
    whole = score(line("violin", "A4 F#3:2~ F#3~ F#3 B4"))
    report = check_score(whole, knowledge, file="")
    (rewritings,) = verified_rewritings(report, Workbench(whole, knowledge)).values()
    moved = next(each for each in rewritings if each.remedy == "other-octave").apply(whole)
    names = [note.pitch.name for event in moved.parts[0].events for note in event.notes]
    assert names == ["A4", "F#4", "F#4", "F#4", "B4"]


def test_rules_that_are_not_run_are_not_asked(knowledge):
    """Without the rule about chords the softer dynamic is as good as any."""
    whole = score(line("violin", "A4 G3-D4-B4 B4", words={0: ["spiccato", "ff"]}))
    rules = {"dynamic-outside-envelope"}
    report = check_score(whole, knowledge, file="", rules=rules)
    found = verified_rewritings(report, Workbench(whole, knowledge, rules=rules))
    assert "nearest-dynamic" in {each.remedy for each in found[0]}


def test_passages_are_cut_out_as_they_are_judged(knowledge):
    # the bow is evidently taken up at the down-bow, long before the cut
    notes = " ".join(["D4"] * 20)
    words = {0: ["pizzicato", "p"]}
    whole = score(line("violin", notes, words=words, signs={4: ["down-bow"]}))
    (part,) = whole.parts
    staves = Workbench(whole, knowledge).staves[part.iri]
    (carried, *_) = cut(part, staves, Fraction(12), Fraction(16)).marks
    assert carried.directives == (oq("p").value,)
    (carried, *_) = cut(part, staves, Fraction(2), Fraction(16)).marks
    assert set(carried.directives) == {oq("p").value, oq("pizzicato").value}
