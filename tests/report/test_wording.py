import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchq.evidence import Evidence
from orchq.notation import beat_name
from orchq.report.wording import authority, one_line, place


@given(st.text(max_size=300))
def test_one_line_keeps_nothing_that_acts_on_a_terminal(text):
    shown = one_line(text)
    assert not {unicodedata.category(c) for c in shown} & {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
    assert one_line(shown) == shown


def test_one_line_cuts_what_is_too_long():
    assert one_line("ab" * 500, 10) == "ababababa…"
    assert one_line("a" * 10, 10) == "a" * 10


@pytest.mark.parametrize("words", ["Größe", "Альт I", "ヴァイオリン", "Violin [bold]I[/]"])
def test_one_line_leaves_ordinary_names_alone(words):
    assert one_line(words) == words


@pytest.mark.parametrize(
    ("beat", "name"),
    [
        (1.0, "1"),
        (2.5, "2½"),
        (4 / 3, "1⅓"),
        (1.125, "1⅛"),
        (3.0625, "3 1/16"),
        (1 + 1 / 5, "1 1/5"),
    ],
)
def test_beats_are_named_in_fractions(beat, name):
    assert beat_name(beat) == name


@pytest.mark.parametrize(
    ("measure", "index", "named"),
    [
        ("12", 11, "m. 12, beat 3"),
        ("12", 14, "m. 12, beat 3"),
        ("0", 0, "pick-up (m. 0), beat 3"),
        ("X1", 8, "m. X1, beat 3"),
        ("", 8, "measure 9 of the part (no number printed), beat 3"),
        ("5", 104, "m. 5 (the part's measure 105), beat 3"),
    ],
)
def test_a_place_is_named_by_the_printed_number(make_finding, measure, index, named):
    assert place(make_finding(measure=measure, measure_index=index)) == named


@pytest.mark.parametrize(
    ("evidence", "words"),
    [
        (Evidence("l", "Somebody", "p. 7", "published", ""), "Somebody, p. 7 (published)"),
        (Evidence("l", "Somebody", "", "published", ""), "Somebody (published)"),
        (Evidence("l", "", "", "common-practice", ""), "common practice"),
        (Evidence("l", "", "", "memory", ""), "memory"),
    ],
)
def test_authority_names_source_place_and_basis(evidence, words):
    assert authority(evidence) == words
