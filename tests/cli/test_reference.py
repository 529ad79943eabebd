"""``orchq reference``: pages in a folder, or one sentence on what is wrong."""

import pytest


@pytest.mark.long
def test_the_pages_are_written(run, tmp_path):
    out = tmp_path / "reference"
    ended = run("reference", "-o", out, "--with", "mandolin")
    assert (ended.code, ended.out) == (0, "")
    assert ended.err == f"wrote {out}: {len(list(out.iterdir()))} pages\n"
    assert {path.name for path in out.iterdir()} >= {"index.html", "rules.html", "mandolin.html"}
    assert "mandolin.html" in (out / "index.html").read_text(encoding="utf-8")
    assert run("reference", "-o", out).code == 0  # a second time over the first


def test_a_wrong_call_ends_with_two(run, tmp_path):
    file = tmp_path / "file"
    file.write_text("", encoding="utf-8")
    (tmp_path / "rules.ttl").write_text("<urn:a> <urn:b> <urn:c> .", encoding="utf-8")
    for words in (
        ["reference"],
        ["reference", "-o", file],
        ["reference", "-o", tmp_path / "absent" / "reference"],
        ["reference", "-o", tmp_path / "out", "--with", "mandolni"],
        ["reference", "-o", tmp_path / "out", "--with", "mandolin", "--with", "mandolin"],
        ["reference", "-o", tmp_path / "out", "--with", tmp_path / "rules.ttl"],
    ):
        ended = run(*words)
        assert (ended.code, ended.out) == (2, "")
        assert ended.err.count("\n") == 1
    assert not (tmp_path / "out").exists()
