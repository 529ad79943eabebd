import json

import pytest

import orchq

GRAVITY = ("info", "warning", "violation")


@pytest.mark.parametrize("fail_on", [*GRAVITY, "never"])
@pytest.mark.parametrize("found", [None, *GRAVITY])
def test_exit_code_tells_findings_at_or_above_the_threshold(
    run, checker, score, make_finding, found, fail_on
):
    checker(*([make_finding(severity=found)] if found else []))
    reached = (
        found is not None and fail_on != "never" and GRAVITY.index(found) >= GRAVITY.index(fail_on)
    )
    assert run("check", score(), "--fail-on", fail_on).code == int(reached)


def test_violations_are_the_threshold_unless_told(run, checker, score, make_finding):
    checker(make_finding(severity="warning"))
    assert run("check", score()).code == 0
    checker(make_finding())
    assert run("check", score()).code == 1


def test_json_goes_to_standard_output(run, checker, score, make_finding):
    checker(make_finding())
    outcome = run("check", score(), score("other.musicxml"), "--format", "json")
    assert outcome.err == ""
    files = json.loads(outcome.out)["files"]
    assert [len(file["findings"]) for file in files] == [1, 1]


def test_options_reach_the_checker(run, checker, score):
    calls = checker()
    path = score()
    outcome = run("check", path, "--level", "student", "--engine", "pyshacl")
    assert outcome.code == 0
    (call,) = calls
    assert call["path"] == path
    assert call["level"] == "student"
    assert call["engine"] == "pyshacl"
    assert call["trust"] is None
    assert call["rules"] == {rule.slug for rule in orchq.catalogue()}


@pytest.mark.parametrize(
    "broken",
    [
        ("--level", "studnet"),
        ("--trust", "nobody-at-all"),
        ("--rules", "note-below-lowest-strin"),
        ("--rules", ""),
        ("--format", "xml"),
        ("--fail-on", "error"),
        ("--engine", "other"),
        ("--no-such-option",),
        ("--with", "no-such-extension.ttl"),
        ("-o", "no-such-folder/report.txt"),
        ("-o", "."),
    ],
)
def test_a_wrong_call_ends_with_2_and_one_sentence(run, checker, score, broken):
    calls = checker()
    outcome = run("check", score(), *broken)
    assert_refused(outcome)
    assert calls == []


@pytest.mark.parametrize(
    "arguments", [(), ("check",), ("chekc", "x"), ("rules", "a", "b"), ("-x",)]
)
def test_a_call_without_sense_ends_with_2_unless_it_asks_for_help(run, arguments):
    outcome = run(*arguments)
    if arguments:
        assert_refused(outcome)
    else:
        assert outcome.code == 0
        assert "Usage" in outcome.out


@pytest.mark.parametrize(
    ("option", "wrong", "right"),
    [
        ("--level", "studnet", "student"),
        ("--trust", "berliotz", "berlioz"),
        ("--format", "jsn", "json"),
    ],
)
def test_a_misspelt_value_brings_the_nearest(run, checker, score, option, wrong, right):
    checker()
    assert right in run("check", score(), option, wrong).err


def test_a_missing_file_ends_with_2(run, tmp_path):
    outcome = run("check", tmp_path / "none.musicxml")
    assert_refused(outcome)
    assert "none.musicxml" in outcome.err


def test_an_extension_that_is_no_file_of_triples_ends_with_2(run, checker, score):
    checker()
    outcome = run("check", score(), "--with", score("limits.txt"))
    assert_refused(outcome)
    assert "limits.txt" in outcome.err
    assert ".ttl" in outcome.err


def test_one_bad_file_does_not_hide_the_others(run, checker, score, make_finding):
    checker(make_finding())
    paths = [score("first.musicxml"), score("bad.musicxml"), score("last.musicxml")]
    outcome = run("check", *paths, "--format", "json")
    assert outcome.code == 2
    files = json.loads(outcome.out)["files"]
    assert [file["file"] for file in files] == list(map(str, paths))
    assert [file.get("error") for file in files] == [None, "line 3: not well-formed", None]
    assert outcome.err.count("\n") == 1
    assert "bad.musicxml" in outcome.err


def test_a_fault_of_ours_is_one_sentence_and_names_the_file(run, checker, score):
    checker()
    outcome = run("check", score("buggy.musicxml"), score("good.musicxml"))
    assert_refused(outcome, printed=True)
    assert "buggy.musicxml" in outcome.err
    assert "good.musicxml" in outcome.out


def test_a_fault_of_ours_is_raised_for_those_who_mend_it(run, checker, score, monkeypatch):
    checker()
    monkeypatch.setenv("ORCHQ_TRACEBACK", "1")
    with pytest.raises(KeyError):
        run("check", score("buggy.musicxml"))


def test_hostile_file_names_are_shown_safely(run, checker, score):
    checker()
    outcome = run("check", score("bad\x1b[2J[red]\nname.musicxml"))
    assert_refused(outcome)
    assert "\x1b" not in outcome.err
    assert "[red]" in outcome.err


def test_a_report_for_a_pipe_has_no_terminal_codes(run, checker, score, make_finding, monkeypatch):
    monkeypatch.setenv("FORCE_COLOR", "1")
    checker(make_finding(message="[bold]\x1b[31mred"))
    outcome = run("check", score(), score("other.musicxml"))
    assert "\x1b" not in outcome.out + outcome.err
    assert "[bold]" in outcome.out


def assert_refused(outcome, *, printed=False):
    """The call ended with 2 and one sentence on stderr, and with a report only if ``printed``."""
    assert outcome.code == 2
    assert outcome.err.startswith("orchq: ")
    assert outcome.err.count("\n") == 1
    assert outcome.err.endswith("\n")
    assert "Traceback" not in outcome.err
    assert bool(outcome.out) is printed
