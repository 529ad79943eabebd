"""Short scores for advice, written as a line of notes with what is printed above it."""

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction

import pytest
from msgspec.structs import replace

from orchq import load
from orchq.advice import Workbench, verified_rewritings
from orchq.knowledge import Knowledge
from orchq.notation import Pitch
from orchq.rules.checking import check_score
from orchq.score import Event, Hairpin, Mark, Note, Part, Score, Slur
from orchq.terms import oq

BASE = "https://example.org/advice#"
Offered = dict[tuple[str, str], list[str]]
"""By rule and severity the remedies that passed, in the order in which they are offered."""


def line(
    instrument: str,
    notes: str,
    *,
    words: Mapping[int, Sequence[str | int]] | None = None,
    signs: Mapping[int, Sequence[str]] | None = None,
    slurs: Sequence[tuple[int, int]] = (),
    swells: Sequence[int] = (),
    tempo: int = 80,
    section: bool = False,
    players: int | None = None,
) -> Callable[[int], Part]:
    """A part in bars of four quarters; words and signs stand at the notes counted from 0.

    ``notes`` are chords such as ``G3-D4`` with their length in quarters after a colon, ``r`` is
    a rest, ``~`` ties to the next note, ``o`` before a pitch makes it what sounds, ``*`` what is
    touched and ``_`` what is stopped. A number among words is printed with them.
    """

    def make(index: int) -> Part:
        iri = f"{BASE}p{index}"
        events: list[Event] = []
        onset = Fraction(0)
        tied = False
        for token in notes.split():
            chord, _, length = token.rstrip("~").partition(":")
            duration = Fraction(length or 1)
            if chord != "r":
                forward = token.endswith("~")
                events.append(_event(iri, len(events), chord, onset, duration, forward, tied))
                tied = forward
            onset += duration
        for place, names in (signs or {}).items():
            marks = frozenset(oq(name).value for name in names)
            events[place] = replace(events[place], marks=marks)
        marks = [_mark(iri, events[place], names) for place, names in (words or {}).items()]
        start = _mark(iri, events[0], ())
        first = replace(start, iri=f"{iri}.tempo", tempo=Fraction(tempo))
        return Part(
            iri=iri,
            id=f"P{index}",
            index=index,
            name=f"{instrument} {index}",
            instrument=oq(instrument).value,
            section=section,
            players=players,
            events=tuple(events),
            marks=(first, *sorted(marks, key=lambda mark: mark.onset)),
            slurs=tuple(
                Slur(f"{iri}.s{low}", events[low].iri, events[high].iri) for low, high in slurs
            ),
            hairpins=tuple(
                Hairpin(f"{iri}.h{n}", True, events[n].onset, events[n].end) for n in swells
            ),
        )

    return make


def score(*lines: Callable[[int], Part]) -> Score:
    """Lines one above the other."""
    return Score(BASE, "advice", tuple(make(index) for index, make in enumerate(lines)))


def _event(
    part: str,
    number: int,
    chord: str,
    onset: Fraction,
    duration: Fraction,
    forward: bool,
    back: bool,
) -> Event:
    iri = f"{part}.e{number}"
    heads = {"o": ("sounding", None), "*": ("touching", "diamond"), "_": ("base", None)}
    notes = []
    for place, name in enumerate(chord.split("-")):
        role, head = heads.get(name[0], (None, None))
        pitch = Pitch.parse(name[1:] if role else name)
        notes.append(Note(f"{iri}.n{place}", pitch, forward, back, role=role, notehead=head))  # type: ignore[arg-type]
    measure, offset = int(onset // 4), onset % 4
    return Event(iri, measure, str(measure + 1), offset, onset, duration, tuple(notes))


def _mark(part: str, event: Event, names: Sequence[str | int]) -> Mark:
    return Mark(
        f"{part}.m{event.iri.rpartition('.')[2]}",
        event.measure_index,
        event.measure_number,
        event.offset,
        event.onset,
        directives=tuple(oq(name).value for name in names if isinstance(name, str)),
        number=next((name for name in names if isinstance(name, int)), None),
    )


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    """The graph."""
    return load()


@pytest.fixture
def offered(knowledge: Knowledge) -> Callable[[Score], Offered]:
    """What is offered against each finding of a score; findings of one rule are put together."""

    def ask(whole: Score) -> Offered:
        report = check_score(whole, knowledge, file="")
        found = verified_rewritings(report, Workbench(whole, knowledge), most=99)
        told: Offered = {}
        for number, finding in enumerate(report.findings):
            slugs = [each.remedy for each in found.get(number, ())]
            told.setdefault((finding.rule, finding.severity), []).extend(slugs)
        return told

    return ask
