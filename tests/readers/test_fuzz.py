"""Whatever happens to a file, reading it ends in a score or in a ``ReadError``."""

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orchq.errors import ReadError
from orchq.readers import ReadLimits, read_score
from orchq.score import Score

SMALL = (Path(__file__).parent / "data" / "small.musicxml").read_bytes()
MARKUP = re.compile(rb"<[^>]*>|[^<]+")
PIECES = MARKUP.findall(SMALL)
TEXTS = [place for place, piece in enumerate(PIECES) if not piece.startswith(b"<")]
LEAVES = re.compile(rb"<(\w[\w-]*)[^>]*>[^<>]*</\1>|<\w[^>]*/>")
LIMITS = ReadLimits(max_bytes=1_000_000)

pytestmark = pytest.mark.filterwarnings("error")
manner = settings(
    max_examples=150,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)


@pytest.fixture
def survives(tmp_path, knowledge):
    """Read these bytes; anything but a score or a ``ReadError`` that names the file fails."""
    path = tmp_path / "fuzz.musicxml"

    def call(content: bytes) -> None:
        path.write_bytes(content)
        try:
            score = read_score(path, knowledge, LIMITS)
        except ReadError as error:
            if not str(error).startswith(str(path)):
                raise AssertionError("the error does not name the file") from error
        else:
            check(score)

    return call


def check(score: Score) -> None:
    """What holds of every score that was read."""
    for part in score.parts:
        iris = [event.iri for event in part.events] + [mark.iri for mark in part.marks]
        assert len(set(iris)) == len(iris)
        known = {event.iri for event in part.events}
        assert all({slur.first, slur.last} <= known for slur in part.slurs)
        assert all(hairpin.end > hairpin.onset >= 0 for hairpin in part.hairpins)
        assert [measure.index for measure in part.measures] == list(range(len(part.measures)))
        for event in part.events:
            measure = part.measures[event.measure_index]
            assert event.notes
            assert event.duration >= 0
            assert event.onset == measure.onset + event.offset
            assert event.offset + event.duration <= measure.length or event.grace


@manner
@given(data=st.data())
def test_changed_bytes(survives, data):
    content = bytearray(SMALL)
    for _ in range(data.draw(st.integers(1, 8))):
        place = data.draw(st.integers(0, len(content) - 1))
        content[place] = data.draw(st.integers(0, 255))
    survives(bytes(content))


@manner
@given(st.integers(0, len(SMALL)), st.integers(0, 200), st.binary(max_size=20))
def test_cut_and_pasted_bytes(survives, place, length, inserted):
    survives(SMALL[:place] + inserted + SMALL[place + length :])


@pytest.mark.long
@manner
@given(
    st.dictionaries(
        st.sampled_from(TEXTS),
        st.one_of(
            st.sampled_from(["", "0", "-1", "1e400", "NaN", "inf", "9" * 5000, "\u00b2", "0x10"]),
            st.integers(-10, 10**9).map(str),
            st.decimals(allow_nan=False, allow_infinity=False).map(str),
            st.text(st.characters(exclude_categories=("Cc", "Cs", "Cn"), exclude_characters="<&")),
        ),
        min_size=1,
        max_size=4,
    )
)  # fmt: skip
def test_other_texts_in_elements(survives, texts):
    survives(b"".join(
        texts[place].encode() if place in texts else piece for place, piece in enumerate(PIECES)
    ))  # fmt: skip


@manner
@given(st.lists(st.tuples(st.integers(0, 400), st.integers(0, 400)), min_size=1, max_size=4))
def test_elements_removed_and_doubled(survives, places):
    leaves = [
        match.span() for match in re.finditer(rb"<(\w[\w-]*)[^>]*>[^<>]*</\1>|<\w[^>]*/>", SMALL)
    ]
    content = SMALL
    for removed, doubled in places:
        start, end = leaves[removed % len(leaves)]
        first, last = leaves[doubled % len(leaves)]
        extra = SMALL[first:last]
        content = content.replace(SMALL[start:end], extra + extra, 1)
    survives(content)
