"""The hand in motion, judged on the path: shifts in a row, and strings passed over in one bow."""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct
from pyoxigraph import Quad

from orchq.derive.circumstances import Circumstances, Fact, in_words
from orchq.derive.hand import HandModel, stop_mm
from orchq.derive.lines import Attack
from orchq.derive.noteheads import is_harmonic
from orchq.derive.staves import Staff
from orchq.derive.strings import called_strings
from orchq.exact import Fraction
from orchq.lazily import lazily

if TYPE_CHECKING:
    from orchq.derive import path
else:
    (path,) = lazily("orchq.derive", "path")

_WIDE = 7
"""Semitones: what is narrower lies under one hand, or needs no more than a short shift."""
_APART = 3
"""So many moves on the average lie between leaps that follow each other closely, at most."""


class _Passage(Struct, frozen=True):
    """Single notes in a row that one hand stops, and the strings that are called for."""

    around: Circumstances
    attacks: Sequence[Attack]
    model: HandModel
    strings: tuple[int | None, ...]

    @property
    def notes(self) -> list[tuple[int, int | None]]:
        """The notes as MIDI numbers, with the strings."""
        return [(_pitch(a), string) for a, string in zip(self.attacks, self.strings, strict=True)]

    def seconds(self, first: int, last: int) -> Fraction | None:
        """The most time that there is from one attack to another."""
        return self.around.clock.span(self.attacks[first].onset, self.attacks[last].onset).most

    def time_said(self, first: int, last: int) -> str:
        """The same in words."""
        span = self.around.clock.span(self.attacks[first].onset, self.attacks[last].onset)
        return in_words(span.most or Fraction(0), span.slow_tempo)


def motion_quads(staff: Staff) -> Iterator[Quad]:
    """Yield the triples of rows of shifts, and of crossings under slurs, that rules report.

    The path is that on which the hand travels least. What is called for or printed is obeyed.
    It is searched only where there are leaps enough for something to be found.
    """
    fewest = int(staff.knowledge.judged("leaps-in-a-row"))
    crossings = int(staff.knowledge.judged("crossings-in-a-slur"))
    for line in staff.lines:
        wide = _wide(line.attacks)
        if len(wide) < crossings:
            continue
        for first, last in _dense(wide, fewest):
            passage = _passage(staff, line.attacks[first : last + 1])
            if passage is not None:
                yield from _rows(passage, fewest)
        for slur in line.slurs:
            inside = bisect_left(wide, slur.last) - bisect_left(wide, slur.first)
            if inside >= crossings and not slur.is_phrase:
                passage = _passage(staff, line.attacks[slur.first : slur.last + 1])
                if passage is not None:
                    yield from _crossing(passage, crossings)


def _wide(attacks: Sequence[Attack]) -> list[int]:
    """The places after which a single note leaps to another without a rest."""
    found = []
    before: int | None = None
    for place, attack in enumerate(attacks):
        notes = attack.event.notes
        pitch = notes[0].pitch.midi if len(notes) == 1 else None
        single = before is not None and pitch is not None and attack.follows
        if single and abs((pitch or 0) - (before or 0)) >= _WIDE:
            found.append(place - 1)
        before = pitch
    return found


def _dense(wide: Sequence[int], fewest: int) -> Iterator[tuple[int, int]]:
    """The stretches, by their first and last attack, in which leaps follow each other closely."""
    stretch: tuple[int, int] | None = None
    for first, last in zip(wide, wide[fewest - 1 :], strict=False):
        if last - first > _APART * fewest:
            continue
        if stretch is not None and first <= stretch[1]:
            stretch = stretch[0], last + 1
            continue
        if stretch is not None:
            yield stretch
        stretch = first, last + 1
    if stretch is not None:
        yield stretch


def _passage(staff: Staff, attacks: Sequence[Attack]) -> _Passage | None:
    """The passage; ``None`` where it is not of plain notes, has rests, or leaves time enough."""
    in_force = attacks[0].in_force
    fastest = staff.around.first_reported("RepeatedTravel", "fastestRepeatedTravel", in_force)
    if fastest is None or not all(
        len(attack.event.notes) == 1 and (attack.follows or place == 0)
        for place, attack in enumerate(attacks)
    ):
        return None
    model = staff.hand_of(in_force)
    seconds = staff.around.clock.span(attacks[0].onset, attacks[-1].onset).most
    if model is None or not seconds or not _may_be_fast(attacks, model, float(fastest), seconds):
        return None
    if any(is_harmonic(attack.item, staff.knowledge) for attack in attacks):
        return None
    called, numbers = called_strings(staff), [each.iri for each in in_force.strings]
    strings = tuple(
        None if each is None or each.iri not in numbers else numbers.index(each.iri)
        for each in (called(attack.item) for attack in attacks)
    )
    return _Passage(staff.around, attacks, model, strings)


def _may_be_fast(
    attacks: Sequence[Attack], model: HandModel, fastest: float, seconds: Fraction
) -> bool:
    """Whether two moves in a row are so wide that the hand might have to be this fast.

    No interval needs more travel than it would take low on one string.
    """
    quarters = float(attacks[-1].onset - attacks[0].onset)
    a_quarter = float(seconds) / quarters if quarters else 0.0
    pitches = [_pitch(attack) for attack in attacks]
    most = [stop_mm(model.length_mm, abs(one - other)) for one, other in pairwise(pitches)]
    onsets = [float(attack.onset) for attack in attacks]
    return any(
        one + two > fastest * a_quarter * (until - since)
        for one, two, since, until in zip(most, most[1:], onsets, onsets[2:], strict=False)
    )


def _rows(passage: _Passage, fewest: int) -> Iterator[Quad]:
    """Shifts in a row: their distance over the time that there is for them."""
    in_force = passage.attacks[0].in_force
    fastest = passage.around.first_reported("RepeatedTravel", "fastestRepeatedTravel", in_force)
    if len(passage.attacks) <= fewest or fastest is None:
        return
    travel = path.least_travel(passage.model, passage.notes)
    if travel is None:
        return
    shifts = [place for place, way in enumerate(travel) if way]
    quick: list[tuple[int, int, Fraction]] = []
    for first, last in zip(shifts, shifts[fewest - 1 :], strict=False):
        seconds = passage.seconds(first, last + 1)
        speed = Fraction(round(sum(travel[first : last + 1]))) / seconds if seconds else Fraction(0)
        if speed >= fastest:
            quick.append((first, last, speed))
    for row in _joined(quick):
        first, last = row[0][0], row[-1][1]
        count = sum(1 for place in shifts if first <= place <= last)
        start = passage.attacks[first].event
        fact = Fact(start, "leap-row", "LeapRow")
        fact.say("travelInARow", max(speed for _, _, speed in row))
        fact.say("notesSaid", f"{count} shifts from {start.notes[0].pitch.name} on")
        fact.say("timeSaid", passage.time_said(first, last + 1))
        fact.under(passage.around.scope(in_force))
        yield from fact.quads


def _joined(
    quick: Sequence[tuple[int, int, Fraction]],
) -> Iterator[list[tuple[int, int, Fraction]]]:
    """Join the rows that overlap."""
    row: list[tuple[int, int, Fraction]] = []
    for each in quick:
        if row and each[0] > row[-1][1]:
            yield row
            row = []
        row.append(each)
    if row:
        yield row


def _crossing(passage: _Passage, fewest: int) -> Iterator[Quad]:
    """Slurred notes for which the hand is ready only on strings that are not adjacent.

    The bow would have to pass over a string between them without sounding it; on neighbouring
    strings the hand would have to travel faster than it does.
    """
    attacks = passage.attacks
    in_force = attacks[0].in_force
    fastest = passage.around.first_reported("HandTravel", "fastestHandTravel", in_force)
    times = [passage.seconds(place, place + 1) for place in range(len(attacks) - 1)]
    if fastest is None or not all(times):
        return
    seconds = [float(time) for time in times if time]
    over = path.passed_over(passage.model, passage.notes, seconds, float(fastest))
    if over is None or sum(over) < fewest:
        return
    place = over.index(True)
    before, now = attacks[place], attacks[place + 1]
    fact = Fact(attacks[0].event, "crossing", "SlurredCrossing")
    fact.say("notesSaid", f"{before.event.notes[0].pitch.name} to {now.event.notes[0].pitch.name}")
    fact.say("timeSaid", passage.time_said(place, place + 1))
    yield from fact.quads


def _pitch(attack: Attack) -> int:
    return attack.event.notes[0].pitch.midi
