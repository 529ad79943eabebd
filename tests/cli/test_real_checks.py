"""The whole way, on a small excerpt written by hand."""

import json
import subprocess
import sys

import pytest

# A violin that is to play F3, below its lowest string (G3), and then A4; and a part of an
# instrument that the graph does not know.
EXCERPT = """
@prefix oq: <https://w3id.org/orchq/> .
@prefix : <https://example.org/piece#> .

:piece a oq:Excerpt ; oq:hasPart :violin , :kazoo .
:violin a oq:Part ; oq:partName "Violin" ; oq:partId "P1" ; oq:partIndex 0 ;
    oq:forInstrument oq:violin ; oq:hasEvent :low , :plain .
:low a oq:Event ; oq:measureIndex 0 ; oq:measureNumber "1" ; oq:beat 1.0 ; oq:onset 0.0 ;
    oq:duration 1.0 ; oq:hasNote [ a oq:Note ; oq:pitch "F3" ] .
:plain a oq:Event ; oq:measureIndex 0 ; oq:measureNumber "1" ; oq:beat 2.0 ; oq:onset 1.0 ;
    oq:duration 1.0 ; oq:hasNote [ a oq:Note ; oq:pitch "A4" ] .
:kazoo a oq:Part ; oq:partName "Kazoo" ; oq:partId "P2" ; oq:partIndex 1 .
"""


@pytest.fixture
def excerpt(tmp_path):
    path = tmp_path / "piece.ttl"
    path.write_text(EXCERPT, encoding="utf-8")
    return path


@pytest.mark.sampled(2)
@pytest.mark.parametrize("engine", ["fast", "pyshacl"])
def test_json_tells_the_finding_and_its_place(run, excerpt, engine):
    outcome = run("check", excerpt, "--format", "json", "--engine", engine)
    assert outcome.code == 1
    (file,) = json.loads(outcome.out)["files"]
    assert file["file"] == str(excerpt)
    assert file["notes"] == 2
    assert [
        (part["name"], part["id"], part["index"], part["instrument"], part["checked"])
        for part in file["parts"]
    ] == [("Violin", "P1", 0, "violin", True), ("Kazoo", "P2", 1, None, False)]
    (found,) = file["findings"]
    assert found["event"] == "https://example.org/piece#low"
    assert found["rule"] == "note-below-lowest-string"
    assert found["severity"] == "violation"
    assert (found["part"], found["part_id"], found["part_index"]) == ("Violin", "P1", 0)
    assert (found["measure"], found["measure_index"], found["beat"]) == ("1", 0, 1.0)
    assert found["notes"] == ["F3"]
    assert found["evidence"]


def test_text_names_part_place_and_pitch(run, excerpt):
    outcome = run("check", excerpt)
    assert outcome.code == 1
    for words in (
        "Violin (violin, 2 notes; judged for a soloist)",
        "m. 1, beat 1: F3",
        "Kazoo",
        "1 violation in 1 part",
    ):
        assert words in outcome.out


def test_only_the_rules_asked_for_run(run, excerpt):
    assert run("check", excerpt, "--rules", "note-above-compass,high-tutti-register").code == 0
    assert (
        run("check", excerpt, "--rules", "note-above-compass, note-below-lowest-string").code == 1
    )


def test_a_misspelt_term_of_ours_ends_with_2_and_is_named(run, tmp_path):
    path = tmp_path / "piece.ttl"
    path.write_text(EXCERPT.replace("oq:hasEvent", "oq:hasEvnt"), encoding="utf-8")
    outcome = run("check", path)
    assert outcome.code == 2
    assert outcome.err.count("\n") == 1
    assert "hasEvnt" in outcome.err
    assert path.name in outcome.err


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("piece.ttl", b"this is no Turtle"),
        ("piece.musicxml", b"this is no XML"),
        ("piece.musicxml", b""),
        ("piece.mxl", b"PK\x03\x04 cut off"),
        ("piece.xml", b"<html><body/></html>"),
        ("piece.docx", b"anything"),
    ],
)
def test_a_file_that_cannot_be_read_ends_with_2_and_is_named(run, tmp_path, name, content):
    path = tmp_path / name
    path.write_bytes(content)
    outcome = run("check", path)
    assert outcome.code == 2
    assert outcome.out == ""
    assert outcome.err.count("\n") == 1
    assert name in outcome.err
    assert "internal error in orchq" not in outcome.err


def test_a_folder_ends_with_2(run, tmp_path):
    outcome = run("check", tmp_path)
    assert outcome.code == 2
    assert "internal error in orchq" not in outcome.err


@pytest.mark.long
def test_the_process_ends_with_the_exit_code(excerpt, tmp_path):
    for path, code in ((excerpt, 1), (tmp_path / "none.ttl", 2)):
        done = subprocess.run(
            [sys.executable, "-m", "orchq", "check", str(path)],
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == code
        assert "Traceback" not in done.stderr
        assert bool(done.stdout) is (code == 1)


def test_html_goes_to_a_file(run, excerpt, tmp_path):
    page = tmp_path / "report.html"
    outcome = run("check", excerpt, "--format", "html", "-o", page)
    assert (outcome.code, outcome.out, outcome.err) == (1, "", f"wrote {page}\n")
    assert "F3 lies below the lowest string" in page.read_text(encoding="utf-8")


def test_html_without_its_libraries_is_refused_before_anything_is_read(run, monkeypatch, tmp_path):
    monkeypatch.setattr("orchq.report.web.find_spec", lambda name: None)
    outcome = run("check", tmp_path / "absent.ttl", "--format", "html")
    assert outcome.code == 2
    assert "pip install 'orchq[report]'" in outcome.err
    assert "absent" not in outcome.err
