"""``orchq lint`` on the command line."""

from pathlib import Path

import pytest

BROKEN = Path(__file__).parents[1] / "lint" / "broken" / "dynamic-misspelt.ttl"


@pytest.mark.long
@pytest.mark.parametrize("format_", ["text", "json", "sarif"])
def test_each_format_tells_the_fault(run, format_):
    outcome = run("lint", BROKEN, "--format", format_)
    assert outcome.code == 1
    assert "oq:pianisimo" in outcome.out


def test_a_call_without_anything_to_do_is_refused(run):
    outcome = run("lint")
    assert outcome.code == 2
    assert "--reason" in outcome.err


def test_a_new_instrument_is_not_written_over_a_file(run, tmp_path):
    path = tmp_path / "mine.ttl"
    assert run("new", "instrument", "octave fiddle", "-o", path).code == 0
    written = path.read_text(encoding="utf-8")
    assert "octave-fiddle" in written
    outcome = run("new", "instrument", "octave fiddle", "-o", path)
    assert outcome.code == 2
    assert path.read_text(encoding="utf-8") == written
