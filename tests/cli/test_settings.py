"""Settings and baselines on the command line, which stands above both."""

import json

import pytest

import orchq

RULE = "note-below-lowest-string"
SETTINGS = """
level = "student"
trust = "berlioz"
fail-on = "warning"
[rules]
leave-out = ["key-too-remote"]
[severities]
stop-hard = "off"
[players]
"Violin I" = 14
"""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder to work in, which is no repository."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def project(folder):
    def write(text):
        (folder / "orchq.toml").write_text(text, encoding="utf-8")

    return write


def test_settings_reach_the_checker(run, checker, score, project):
    calls = checker()
    project(SETTINGS)
    assert run("check", score()).out.startswith("Settings in force: orchq.toml\n")
    (call,) = calls
    assert (call["level"], call["trust"]) == ("student", "berlioz")
    assert call["players"] == {"Violin I": 14}
    assert RULE in call["rules"]
    assert call["rules"].isdisjoint({"key-too-remote", "stop-hard"})


def test_the_command_line_stands_above_the_settings(run, checker, score, project, make_finding):
    calls = checker(make_finding(severity="warning"))
    project(SETTINGS)
    assert run("check", score()).code == 1
    words = ("--level", "soloist", "--trust", "tavan", "--rules", "stop-hard")
    assert run("check", score(), *words, "--fail-on", "violation").code == 0
    assert (calls[1]["level"], calls[1]["trust"]) == ("soloist", "tavan")
    assert calls[1]["rules"] == {"stop-hard"}


def test_no_settings_are_taken_when_none_are_wanted(run, checker, score, project):
    calls = checker()
    project("this is no TOML")
    outcome = run("check", score(), "--no-settings")
    assert outcome.code == 0
    assert "ettings" not in outcome.out
    assert (calls[0]["level"], calls[0]["players"]) == (None, {})
    assert calls[0]["rules"] == {rule.slug for rule in orchq.catalogue()}


def test_a_file_of_settings_may_be_named(run, checker, score, folder, project):
    calls = checker()
    project("level = 'student'")
    (folder / "other.toml").write_text("level = 'soloist'")
    assert "other.toml" in run("check", score(), "--settings", "other.toml").out
    assert calls[0]["level"] == "soloist"


def test_json_tells_the_settings(run, checker, score, project):
    checker()
    project("")
    (file,) = json.loads(run("check", score(), "--format", "json").out)["files"]
    assert file["settings"] == "orchq.toml"


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        ("levle = 'student'", ("orchq.toml", "levle", "level")),
        ("level = 'studnt'", ("orchq.toml", "level", "student")),
        ("trust = 'berlio'", ("orchq.toml", "trust", "berlioz")),
        ("[severities]\nstop-hrd = 'info'", ("orchq.toml", "severities", "stop-hard")),
        ("extensions = ['broken.ttl']", ("broken.ttl",)),
        ("\x1b[2J = 3", ("orchq.toml",)),
        ('"\\u001b[2J\\n" = 3', ("orchq.toml",)),
    ],
)
def test_wrong_settings_end_with_2_and_one_sentence(
    run, checker, score, folder, project, settings, words
):
    calls = checker()
    project(settings)
    (folder / "broken.ttl").write_text("this is no Turtle")
    assert_refused(run("check", score()), *words)
    assert calls == []


@pytest.mark.parametrize(
    "words",
    [
        ("--settings", "none.toml"),
        ("--settings", "."),
        ("--settings", "orchq.toml", "--no-settings"),
        ("--baseline", "known.json", "--write-baseline", "known.json"),
        ("--baseline", "none.json"),
        ("--baseline", "orchq.toml"),
        ("--baseline", "."),
        ("--write-baseline", "."),
        ("--write-baseline", "none/known.json"),
        ("--write-baseline", "piece.musicxml"),
        ("--write-baseline", "orchq.toml"),
        ("-o", "orchq.toml"),
        ("--watch", "-o", "report.txt"),
        ("--watch", "--format", "json"),
        ("--watch", "--write-baseline", "known.json"),
    ],
)
def test_a_wrong_call_ends_with_2_and_one_sentence(run, checker, score, project, words):
    calls = checker()
    project("level = 'student'")
    assert_refused(run("check", score(), *words))
    assert calls == []


# -------------------------------------------------------------------- acceptances, baselines


def test_what_settings_accept_does_not_fail(run, checker, score, project, make_finding):
    checker(make_finding())
    project(
        f"[[accepted]]\nrule = '{RULE}'\npart = 'Violin I'\nmeasure = 12\nreason = 'asked for'\n"
    )
    outcome = run("check", score())
    assert outcome.code == 0
    assert "asked for" in outcome.out
    assert "nothing found (1 accepted)" in outcome.out


def test_a_baseline_lets_only_new_findings_fail(run, checker, score, folder, make_finding):
    checker(make_finding())
    path = score()
    written = run("check", path, "--write-baseline", "known.json")
    assert written.code == 0
    assert "nothing found (1 accepted)" in written.out
    assert run("check", path).code == 1
    assert run("check", path, "--baseline", "known.json").code == 0
    checker(make_finding(), make_finding())
    assert run("check", path, "--baseline", "known.json").code == 1
    checker()
    outcome = run("check", path, "--baseline", "known.json")
    assert outcome.code == 0
    assert "1 of the baseline known.json is gone" in outcome.out


def test_a_baseline_is_renewed_in_place(run, checker, score, folder, make_finding):
    checker(make_finding())
    path = score()
    run("check", path, "--write-baseline", "known.json")
    checker(make_finding(), make_finding(rule="stop-hard"))
    assert run("check", path, "--write-baseline", "known.json").code == 0
    assert run("check", path, "--baseline", "known.json").code == 0
    assert (folder / "known.json").read_text().count("rule") == 2


def test_no_baseline_is_written_when_a_file_cannot_be_read(run, checker, score, folder):
    checker()
    words = ("--write-baseline", "known.json")
    outcome = run("check", score(), score("bad.musicxml"), *words)
    assert outcome.code == 2
    assert "known.json: not written" in outcome.err
    assert not (folder / "known.json").exists()


def assert_refused(outcome, *words):
    assert outcome.code == 2
    assert outcome.out == ""
    assert outcome.err.startswith("orchq: ")
    assert outcome.err.count("\n") == 1
    assert "\x1b" not in outcome.err
    for word in words:
        assert word in outcome.err
