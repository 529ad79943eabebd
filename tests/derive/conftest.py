"""Parts and settings made by hand for the facts about time and bow."""

from collections.abc import Callable, Sequence
from fractions import Fraction

import pytest

from orchq import load
from orchq.derive.circumstances import Circumstances
from orchq.derive.clock import tempo_map
from orchq.derive.scopes import Scopes
from orchq.notation import Pitch
from orchq.score import Event, Mark, Note, Part, Score, Slur
from orchq.terms import oq

KNOWLEDGE = load()
Made = tuple[float | Fraction, float | Fraction, str]
"""Onset, length and pitches of an event, as in (0, 1, "A4 E5")."""


def make_event(number: float, made: Made, *signs: str, tied: bool = False) -> Event:
    onset, length, pitches = made
    iri = f"x:e{number}"
    return Event(
        iri=iri,
        measure_index=0,
        measure_number="1",
        offset=Fraction(onset),
        onset=Fraction(onset),
        duration=Fraction(length),
        notes=tuple(
            Note(f"{iri}.n{n}", Pitch.parse(name), tied_back=tied)
            for n, name in enumerate(pitches.split())
        ),
        marks=frozenset(oq(sign).value for sign in signs),
    )


def make_mark(
    onset: float | Fraction,
    *words: str,
    tempo: Fraction | int | None = None,
    number: int | None = None,
) -> Mark:
    return Mark(
        iri=f"x:m{onset}.{'.'.join(words)}",
        measure_index=0,
        measure_number="1",
        offset=Fraction(onset),
        onset=Fraction(onset),
        directives=tuple(oq(word).value for word in words),
        tempo=None if tempo is None else Fraction(tempo),
        number=number,
    )


def make_part(
    events: Sequence[Event],
    marks: Sequence[Mark] = (),
    slurs: Sequence[tuple[int, int]] = (),
    *,
    instrument: str = "violin",
    section: bool = False,
) -> Part:
    """A part; slurs are given by the numbers of their events."""
    return Part(
        iri="x:p",
        id="P1",
        index=0,
        name=instrument,
        instrument=oq(instrument).value,
        section=section,
        events=tuple(events),
        marks=tuple(marks),
        slurs=tuple(Slur(f"x:s{a}-{b}", f"x:e{a}", f"x:e{b}") for a, b in slurs),
    )


@pytest.fixture
def circumstances_of() -> Callable[[Part], Circumstances]:
    def make(part: Part) -> Circumstances:
        assert part.instrument is not None
        score = Score("x:score", "", (part,))
        return Circumstances(
            KNOWLEDGE,
            KNOWLEDGE.instruments[part.instrument],
            part,
            tempo_map(score, KNOWLEDGE),
            Scopes(KNOWLEDGE, None),
            None,
            None,
        )

    return make
