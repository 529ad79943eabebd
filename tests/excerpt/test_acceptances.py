"""An excerpt accepts findings by triples: with a reason, on its own events, never in silence."""

import pytest
from msgspec.structs import replace

import orchq
from orchq.excerpt import score_from_quads, score_quads

HEAD = """
@prefix oq: <https://w3id.org/orchq/> .
@prefix rule: <https://w3id.org/orchq/rule/> .
@prefix : <https://example.org/evening#> .

:violin a oq:Part ; oq:partName "Violin" ; oq:forInstrument oq:violin ; oq:hasEvent :e1 , :e2 .
:e1 a oq:Event ; oq:measureIndex 0 ; oq:beat 1 ; oq:onset 0 ; oq:duration 1 ;
    oq:inState :loud ; oq:hasNote [ a oq:Note ; oq:pitch "F3" ; oq:tiesForward true ] .
:e2 a oq:Event ; oq:measureIndex 0 ; oq:onset 1 ; oq:duration 1 ; oq:beat 2 ;
    oq:inState :loud ; oq:hasNote [ a oq:Note ; oq:pitch "F3" ; oq:tiedBack true ] .
:loud a oq:PlayingState ; oq:usesTechnique oq:spiccato ; oq:atDynamic oq:ff .
"""
ACCEPTED = """
:asked a oq:Acceptance ;
    oq:acceptsRule rule:note-below-lowest-string ;
    oq:acceptedOn :e1 ;
    oq:reason "The G string is tuned down." .
"""
LOW, LOUD = "note-below-lowest-string", "dynamic-outside-envelope"


@pytest.fixture
def checked(tmp_path):
    def check(accepted, **options):
        path = tmp_path / "evening.ttl"
        path.write_text(HEAD + accepted)
        return orchq.check(path, **options)

    return check


def rules(findings):
    return {finding.rule for finding in findings}


def test_nothing_is_accepted_unless_it_is_said(checked):
    report = checked("")
    assert rules(report.findings) == {LOW, LOUD}
    assert report.accepted == report.remarks == ()


@pytest.mark.parametrize("engine", ["fast", "pyshacl"])
def test_what_is_accepted_no_longer_stands_and_is_counted(checked, engine):
    report = checked(ACCEPTED, engine=engine)
    assert rules(report.findings) == {LOUD}
    (accepted,) = report.accepted
    assert (accepted.finding.rule, accepted.where) == (LOW, "excerpt")
    assert accepted.reason == "The G string is tuned down."
    assert report.remarks == ()


def test_an_acceptance_names_several_rules_and_events(checked):
    report = checked(
        ACCEPTED.replace(f"rule:{LOW}", f"rule:{LOW} , rule:{LOUD}").replace(":e1", ":e1 , :e2")
    )
    assert report.findings == ()
    assert len(report.remarks) == 2
    for rule, remark in zip(sorted((LOW, LOUD)), sorted(report.remarks), strict=True):
        assert f"{rule} on e2 " in remark
    assert rules(each.finding for each in report.accepted) == {LOW, LOUD}


def test_an_acceptance_in_vain_is_told(checked):
    report = checked(ACCEPTED.replace(LOW, "stop-hard"))
    assert rules(report.findings) == {LOW, LOUD}
    (remark,) = report.remarks
    assert "stop-hard" in remark
    assert "e1" in remark
    assert "no longer accepts anything" in remark


def test_an_acceptance_of_a_rule_that_is_not_run_is_not_told(checked):
    report = checked(ACCEPTED, rules=[LOUD])
    assert rules(report.findings) == {LOUD}
    assert report.accepted == report.remarks == ()


def test_an_unknown_rule_is_named_with_its_line_and_the_nearest(checked):
    with pytest.raises(orchq.UnknownTermError) as caught:
        checked(ACCEPTED.replace(LOW, "note-below-lowest-strin"))
    assert LOW in str(caught.value)
    line = (HEAD + ACCEPTED).splitlines().index(f"    oq:acceptsRule rule:{LOW} ;") + 1
    assert f"evening.ttl:{line}: " in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (' ;\n    oq:reason "The G string is tuned down."', ""),
        ("The G string is tuned down.", " \\n "),
        ('"The G string is tuned down."', '"one" , "two"'),
        ('"The G string is tuned down."', ":violin"),
        (f"rule:{LOW}", f'"{LOW}"'),
        (f"rule:{LOW}", f'"https://w3id.org/orchq/rule/{LOW}"'),
        (f"rule:{LOW}", "oq:spiccato"),
        (":e1", ":violin"),
        (":e1", ":nobody"),
        ("oq:acceptedOn :e1 ;", ""),
        (f"oq:acceptsRule rule:{LOW} ;", ""),
    ],
)
def test_a_broken_acceptance_is_refused(checked, old, new):
    assert old in ACCEPTED
    with pytest.raises(orchq.OrchqError) as caught:
        checked(ACCEPTED.replace(old, new))
    assert "evening.ttl" in str(caught.value)


@pytest.mark.parametrize(
    ("format_", "suffix"), [("turtle", "ttl"), ("nt", "nt"), ("jsonld", "jsonld")]
)
def test_an_export_keeps_what_is_accepted(checked, tmp_path, format_, suffix):
    told = checked(ACCEPTED)
    copy = tmp_path / f"copy.{suffix}"
    copy.write_text(orchq.export(tmp_path / "evening.ttl", format=format_))
    kept = orchq.check(copy).accepted
    assert _without_lines(kept) == _without_lines(told.accepted)


def _without_lines(accepted):
    """The line of an event is its place in one file, not in its copy."""
    return [replace(each, finding=replace(each.finding, line=None)) for each in accepted]


def test_a_score_keeps_what_is_accepted_when_it_becomes_triples(checked, tmp_path):
    checked(ACCEPTED)
    path = tmp_path / "evening.ttl"
    score = orchq.read(path)
    assert len(score.acceptances) == 1
    assert score_from_quads(list(score_quads(score)), path).acceptances == score.acceptances
