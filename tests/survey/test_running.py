"""Surveys of folders: what is measured, broken off and gone on with, and told."""

import csv
import gzip
import json
import os
import sys

import pytest

from orchq import read
from orchq.cli.app import main
from orchq.errors import OrchqError, ReadError
from orchq.survey import Survey, score_files
from orchq.survey.rows import TABLES

from .conftest import UNKNOWN

SUFFIXES = {".musicxml"}


@pytest.fixture
def counting():
    """A reader that notes what it reads, and is stopped at a file of this name."""
    seen = []

    def make(stop_at=None):
        def reader(path, knowledge):
            if path.name == stop_at:
                raise KeyboardInterrupt
            seen.append(path.name)
            return read(path, knowledge)

        return reader

    make.seen = seen
    return make


def run(folder, out, reader):
    """A whole survey in this process; the outcomes."""
    survey = Survey(out, reader).begun()
    outcomes = list(survey.outcomes(score_files([folder], SUFFIXES), 1))
    survey.write(outcomes)
    return outcomes


def contents(out):
    """What the tables hold, byte for byte."""
    return {path.name: path.read_bytes() for path in out.iterdir() if path.is_file()}


def rows(out, table):
    with (out / f"{table}.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_files_are_named_by_their_path_below_the_folder(corpus):
    found = [(f.work, f.collection, f.folder) for f in score_files([corpus], SUFFIXES)]
    assert found == [
        ("Haydn,_Joseph/Set/two.musicxml", "corpus", "Haydn,_Joseph"),
        ("Haydn,_Joseph/one.musicxml", "corpus", "Haydn,_Joseph"),
        ("schumann_clara/three.musicxml", "corpus", "schumann_clara"),
    ]


def test_files_given_one_by_one_are_named_below_what_they_share(corpus):
    given = [corpus / "Haydn,_Joseph" / "one.musicxml", corpus / "schumann_clara/three.musicxml"]
    found = [(f.work, f.collection, f.path) for f in score_files(given, SUFFIXES)]
    assert found == [
        ("Haydn,_Joseph/one.musicxml", "corpus", given[0]),
        ("schumann_clara/three.musicxml", "corpus", given[1]),
    ]


def test_names_that_are_no_text_do_no_harm(corpus, tmp_path):
    odd = os.fsdecode(b"odd\xff.musicxml")
    (corpus / odd).write_text(UNKNOWN, encoding="utf-8")
    run(corpus, tmp_path / "out", read)
    assert "odd?.musicxml" in {row["work"] for row in rows(tmp_path / "out", "works")}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="named pipes are of Unix")
def test_what_is_no_file_is_not_waited_for(corpus, tmp_path, capfd):
    os.mkfifo(corpus / "pipe.musicxml")
    assert len(score_files([corpus], SUFFIXES)) == 3
    pipe, out = str(corpus / "pipe.musicxml"), str(tmp_path / "out")
    assert main(["survey", pipe, "-o", out]) == 2
    assert "pipe.musicxml" in capfd.readouterr().err


def test_a_file_given_twice_is_one(corpus):
    one = corpus / "Haydn,_Joseph" / "one.musicxml"
    assert len(score_files([one, one], SUFFIXES)) == 1
    assert len(score_files([corpus, corpus], SUFFIXES)) == 3


def test_two_files_of_one_name_are_refused(corpus):
    other = corpus / "Other" / "one.musicxml"
    other.parent.mkdir()
    other.write_text(UNKNOWN, encoding="utf-8")
    with pytest.raises(OrchqError, match=r"one\.musicxml"):
        score_files([corpus / "Haydn,_Joseph", corpus / "Other"], SUFFIXES)


@pytest.mark.long
def test_tables_hold_the_rows_of_all_files(corpus, tmp_path):
    out = tmp_path / "out"
    assert main(["survey", str(corpus), "-o", str(out), "--jobs", "1"]) == 0
    tables = {f"{table}.{suffix}" for table in TABLES for suffix in ("csv", "parquet")}
    assert set(contents(out)) == {*tables, "index.html"}
    assert [(row["work"], row["composer"], row["tempo"]) for row in rows(out, "works")] == [
        ("Haydn,_Joseph/Set/two.musicxml", "haydn", "none"),
        ("Haydn,_Joseph/one.musicxml", "haydn", "assumed"),
        ("schumann_clara/three.musicxml", "evora", "marked"),
    ]
    assert [row["seconds"] != "" for row in rows(out, "runs")] == [False, True, True, True]


def test_parquet_holds_what_csv_holds(corpus, tmp_path):
    parquet = pytest.importorskip("pyarrow.parquet")
    out = tmp_path / "out"
    run(corpus, out, read)
    for table in TABLES:
        held = parquet.read_table(out / f"{table}.parquet").to_pylist()
        assert len(held) == len(rows(out, table)), table
    (leap,) = parquet.read_table(out / "leaps.parquet").to_pylist()
    assert (leap["beat"], leap["measure_index"], leap["seconds"]) == (2.0, 6, 1.0)


@pytest.mark.long
def test_tables_do_not_depend_on_the_number_of_processes(corpus, tmp_path):
    one, many = tmp_path / "one", tmp_path / "many"
    assert main(["survey", str(corpus), "-o", str(one), "--jobs", "1"]) == 0
    assert main(["survey", str(corpus), "-o", str(many), "--jobs", "3"]) == 0
    assert contents(one) == contents(many)


def test_a_survey_that_was_broken_off_goes_on(corpus, tmp_path, counting):
    out, whole = tmp_path / "out", tmp_path / "whole"
    with pytest.raises(KeyboardInterrupt):
        run(corpus, out, counting(stop_at="three.musicxml"))
    assert not contents(out)
    assert counting.seen == ["two.musicxml", "one.musicxml"]
    counting.seen.clear()
    run(corpus, out, counting())
    assert counting.seen == ["three.musicxml"]
    run(corpus, whole, read)
    assert contents(out) == contents(whole)


def test_only_what_changed_is_measured_again(corpus, tmp_path, counting):
    out = tmp_path / "out"
    run(corpus, out, counting())
    counting.seen.clear()
    one = corpus / "Haydn,_Joseph" / "one.musicxml"
    one.write_text(UNKNOWN, encoding="utf-8")
    run(corpus, out, counting())
    assert counting.seen == ["one.musicxml"]
    assert {row["tempo"] for row in rows(out, "runs")} == {"none", "marked"}
    assert len(list((out / ".done").iterdir())) == 3, "results of what is gone are forgotten"


def test_another_graph_measures_all_again(corpus, tmp_path, counting):
    out = tmp_path / "out"
    run(corpus, out, counting())
    counting.seen.clear()
    survey = Survey(out, counting(), ("viola-d-amore",)).begun()
    list(survey.outcomes(score_files([corpus], SUFFIXES), 1))
    assert len(counting.seen) == 3


def test_a_result_that_is_not_whole_is_made_anew(corpus, tmp_path):
    out = tmp_path / "out"
    run(corpus, out, read)
    kept = min((out / ".done").iterdir())
    whole, table = kept.read_bytes(), (out / "pitches.csv").read_bytes()
    rows = json.loads(gzip.decompress(whole))
    some = next(name for name in rows if rows[name])
    for damaged in (
        b"damaged",
        whole[: len(whole) // 2],
        *(
            gzip.compress(json.dumps(wrong).encode())
            for wrong in (
                {},
                [],
                rows | {some: [row[:-1] for row in rows[some]]},
                rows | {some: [[[]] * len(row) for row in rows[some]]},
            )
        ),
    ):
        kept.write_bytes(damaged)
        run(corpus, out, read)
        assert gzip.decompress(kept.read_bytes()) == gzip.decompress(whole)
        assert (out / "pitches.csv").read_bytes() == table


def test_links_out_of_the_folder_are_not_followed(corpus, tmp_path):
    files = score_files([corpus], SUFFIXES)
    away = tmp_path / "away.musicxml"
    away.write_bytes(files[0].path.read_bytes())
    (corpus / "link.musicxml").symlink_to(away)
    assert score_files([corpus], SUFFIXES) == files
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / ".done").symlink_to(corpus, target_is_directory=True)
    with pytest.raises(OrchqError, match="is a link"):
        run(corpus, tmp_path / "out", read)


@pytest.mark.long
def test_a_page_of_someone_else_is_not_overwritten(corpus, tmp_path, capfd):
    page = tmp_path / "out" / "index.html"
    page.parent.mkdir()
    page.write_text("<title>My garden</title>", encoding="utf-8")
    assert main(["survey", str(corpus), "-o", str(page.parent), "--jobs", "1"]) == 2
    assert main(["reference", "-o", str(page.parent)]) == 2
    assert page.read_text(encoding="utf-8") == "<title>My garden</title>"
    assert len(capfd.readouterr().err.splitlines()) == 2
    page.unlink()
    for _ in range(2):  # the second time over a page of its own
        assert main(["survey", str(corpus), "-o", str(page.parent), "--jobs", "1"]) == 0


def test_what_is_kept_is_plain_json(corpus, tmp_path):
    run(corpus, tmp_path / "out", read)
    for kept in (tmp_path / "out" / ".done").iterdir():
        assert set(json.loads(gzip.decompress(kept.read_bytes()))) == set(TABLES)


@pytest.mark.long
def test_a_bad_file_in_a_folder_is_told_and_does_not_hide_the_others(corpus, tmp_path, capfd):
    bad = corpus / "Haydn,_Joseph" / "bad.musicxml"
    bad.write_text("<score-partwise", encoding="utf-8")
    assert main(["survey", str(corpus), "-o", str(tmp_path / "out"), "--jobs", "2"]) == 0
    told = capfd.readouterr()
    assert told.err.count("\n") == 1
    assert "bad.musicxml" in told.err
    assert "3 of 4" in told.out
    assert len(rows(tmp_path / "out", "works")) == 3


@pytest.mark.long
def test_a_bad_file_that_was_named_makes_the_call_wrong(corpus, tmp_path, capfd):
    bad = tmp_path / "bad.musicxml"
    bad.write_text("<score-partwise", encoding="utf-8")
    out = tmp_path / "out"
    assert main(["survey", str(bad), str(corpus), "-o", str(out), "--jobs", "1"]) == 2
    assert "bad.musicxml" in capfd.readouterr().err
    assert len(rows(out, "works")) == 3


def test_where_nothing_can_be_read_nothing_is_written(tmp_path, capfd):
    folder = tmp_path / "folder"
    folder.mkdir()
    (folder / "bad.musicxml").write_text("", encoding="utf-8")
    out = tmp_path / "out"
    assert main(["survey", str(folder), "-o", str(out), "--jobs", "1"]) == 2
    assert "bad.musicxml" in capfd.readouterr().err
    assert not contents(out)


def test_a_fault_of_a_reader_is_told_of_its_file(corpus, tmp_path):
    def reader(path, knowledge):
        if path.name == "one.musicxml":
            raise ReadError(f"{path}: no")
        if path.name == "two.musicxml":
            raise RecursionError
        return read(path, knowledge)

    outcomes = run(corpus, tmp_path / "out", reader)
    assert [outcome.result is None for outcome in outcomes] == [True, True, False]
    assert ["two" in outcomes[0].error, "one" in outcomes[1].error] == [True, True]


@pytest.mark.parametrize(
    "words",
    [
        ["survey"],
        ["survey", "{folder}"],
        ["survey", "{empty}", "-o", "{out}"],
        ["survey", "{folder}", "-o", "{file}"],
        ["survey", "{folder}", "-o", "{out}", "--jobs", "0"],
        ["survey", "{folder}", "-o", "{out}", "--with", "no-such-extension"],
        ["survey", "{folder}", "-o", "{out}", "--with", "{broken}"],
        ["survey", "{absent}", "-o", "{out}"],
    ],
)
def test_a_wrong_call_ends_with_two_and_one_sentence(corpus, tmp_path, capfd, words):
    (tmp_path / "empty").mkdir()
    (tmp_path / "file").write_text("", encoding="utf-8")
    (tmp_path / "broken.ttl").write_text("my:violin a", encoding="utf-8")
    places = {
        "folder": corpus,
        "empty": tmp_path / "empty",
        "file": tmp_path / "file",
        "out": tmp_path / "out",
        "broken": tmp_path / "broken.ttl",
        "absent": tmp_path / "absent.musicxml",
    }
    assert main([word.format_map(places) for word in words]) == 2
    told = capfd.readouterr()
    assert (told.out, told.err.count("\n")) == ("", 1)


def test_without_the_library_for_tables_the_call_says_what_to_install(
    corpus, tmp_path, capfd, monkeypatch
):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    assert main(["survey", str(corpus), "-o", str(tmp_path / "out")]) == 2
    assert "orchq[survey]" in capfd.readouterr().err
    assert not (tmp_path / "out").exists()
