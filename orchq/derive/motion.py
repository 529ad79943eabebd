"""The hand in motion, judged on the path: shifts in a row, and strings passed over in one bow."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from orchq.exact import Fraction
from typing import TYPE_CHECKING

from pyoxigraph import Quad

from orchq.derive.circumstances import Circumstances, Fact, in_words
from orchq.derive.hand import HandModel, stop_mm
from orchq.derive.lines import Attack
from orchq.derive.noteheads import is_harmonic
from orchq.derive.staves import Staff
from orchq.derive.strings import called_strings
from orchq.knowledge import InstrumentString
from orchq.lazily import lazily

if TYPE_CHECKING:
    from orchq.derive import path
else:
    (path,) = lazily("orchq.derive", "path")

StringAt = Callable[[Attack], InstrumentString | None]


@dataclass(frozen=True, slots=True)
class _Passage:
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
    """
    called = called_strings(staff)

    def string_at(attack: Attack) -> InstrumentString | None:
        return called(attack.item)

    for line in staff.lines:
        for run in _runs(staff, line.attacks):
            passage = _passage(staff, run, string_at)
            if passage is not None:
                yield from _rows(passage, int(staff.knowledge.judged("leaps-in-a-row")))
        for slur in line.slurs:
            attacks = line.attacks[slur.first : slur.last + 1]
            if not slur.is_phrase and all(_is_plain(staff, attack) for attack in attacks):
                passage = _passage(staff, attacks, string_at)
                if passage is not None:
                    yield from _crossing(
                        passage, int(staff.knowledge.judged("crossings-in-a-slur"))
                    )


def _runs(staff: Staff, attacks: Sequence[Attack]) -> Iterator[list[Attack]]:
    """Yield plain single notes that no rest separates."""
    run: list[Attack] = []
    for attack in attacks:
        plain = _is_plain(staff, attack)
        if run and not (plain and attack.follows):
            yield run
            run = []
        if plain:
            run.append(attack)
    if run:
        yield run


def _is_plain(staff: Staff, attack: Attack) -> bool:
    return len(attack.event.notes) == 1 and not is_harmonic(attack.item, staff.knowledge)


def _passage(staff: Staff, attacks: Sequence[Attack], string_at: StringAt) -> _Passage | None:
    """The passage, or ``None`` where nothing in it is wide and quick enough to be asked."""
    in_force = attacks[0].in_force
    model = staff.hand_of(in_force)
    fastest = staff.around.first_reported("RepeatedTravel", "fastestRepeatedTravel", in_force)
    if model is None or fastest is None or not _may_be_fast(staff, attacks, model, fastest):
        return None
    numbers = [each.iri for each in in_force.strings]
    called = (string_at(attack) for attack in attacks)
    strings = tuple(
        None if each is None or each.iri not in numbers else numbers.index(each.iri)
        for each in called
    )
    return _Passage(staff.around, attacks, model, strings)


def _may_be_fast(
    staff: Staff, attacks: Sequence[Attack], model: HandModel, fastest: Fraction
) -> bool:
    """Whether two intervals in a row are so wide that the hand might have to be this fast.

    No interval needs more travel than it would take low on one string.
    """
    for one, two, three in zip(attacks, attacks[1:], attacks[2:], strict=False):
        wide = abs(_pitch(two) - _pitch(one)), abs(_pitch(three) - _pitch(two))
        most = sum(stop_mm(model.length_mm, each) for each in wide)
        seconds = staff.around.clock.span(one.onset, three.onset).most
        if seconds and most > float(fastest * seconds):
            return True
    return False


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
