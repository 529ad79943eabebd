"""``orchq sheet``: a page in a file, or one sentence on what is wrong."""

import pytest


@pytest.mark.long
def test_a_sheet_is_written(run, tmp_path):
    out = tmp_path / "violin.html"
    ended = run("sheet", "Geige", "-o", out)
    assert (ended.code, ended.out, ended.err) == (0, "", f"wrote {out}\n")
    assert out.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_an_unknown_instrument_names_the_nearest(run, tmp_path):
    out = tmp_path / "sheet.html"
    ended = run("sheet", "chello", "-o", out)
    assert ended.code == 2
    assert ended.err.count("\n") == 1
    assert "cello" in ended.err.replace("chello", "").lower()
    assert not out.exists()


def test_a_wrong_call_ends_with_two(run, tmp_path):
    broken = tmp_path / "broken.ttl"
    broken.write_text("my:violin a", encoding="utf-8")
    for words in (
        ["sheet"],
        ["sheet", "violin", "-o", tmp_path],
        ["sheet", "violin", "--level", "angel"],
        ["sheet", "violin", "--trust", "nobody"],
        ["sheet", "violin", "--with", broken],
        ["sheet", "violin", "--with", tmp_path / "absent.ttl"],
    ):
        ended = run(*words)
        assert (ended.code, ended.out) == (2, "")
        assert ended.err.count("\n") == 1
