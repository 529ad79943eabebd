"""Converts a staff to the lines that one hand plays, step by step, with printed fingerings."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from msgspec import Struct

from orchq.derive.hand import HandModel
from orchq.derive.hand.hand_frames import FINGERS, Finger
from orchq.derive.harmonics import Harmonic, natural_harmonics
from orchq.derive.lines import Line
from orchq.derive.path.ended_calls import ended_calls
from orchq.derive.path.moments import Moment, course, time_class
from orchq.derive.path.postures import OPEN, Printed, table_of
from orchq.derive.path.search import Step, Weights
from orchq.derive.placed import Placed
from orchq.derive.states import called_string
from orchq.derive.staves import Staff
from orchq.exact import Fraction
from orchq.score import Event, Note
from orchq.terms import oq

_OPEN_STRING = oq("open-string").value
_REST = Fraction(1, 5)
"""Gaps shorter than this many quarter notes are rounding errors in files, not rests."""
_GRACE_SECONDS = 0.1
_HEADS_OF_A_HARMONIC = 3
"""What is stopped, what is touched and what sounds."""


class Asked(Struct, frozen=True):
    """One attack from the point of view of the hand.

    ``notes`` are the heads from the lowest up; ``step`` is what is searched, ``model`` the hand.
    ``shown`` gives for each head the index of the note of the demand that takes it. ``seconds``
    since the attack before and ``lasts`` of the note are of the clock, or at the assumed tempo
    where it has none; ``length`` counts quarter notes, ties included. ``departs`` names the heads
    whose printed fingering no hand can obey, or whose string call is over (``ended_calls``);
    ``touching`` is the finger that touches an artificial harmonic over the one that stops it.
    """

    item: Placed
    notes: tuple[Note, ...]
    step: Step | None
    model: HandModel
    shown: tuple[int, ...]
    length: Fraction
    seconds: float
    lasts: float
    slurred: bool = False
    departs: tuple[str, ...] = ()
    touching: Finger | None = None

    @property
    def event(self) -> Event:
        """The event that the attack begins with."""
        return self.item.event


class _Attack(Struct):
    item: Placed
    events: list[Event]
    end: Fraction
    length: Fraction


class Passages:
    """Reads the demands on the hand on one staff; ``tempo`` is assumed where none is printed."""

    def __init__(self, staff: Staff, tempo: float) -> None:
        self._staff = staff
        self._tempo = tempo
        self._joined = _joined(staff.lines)
        self._ended_calls = ended_calls(staff)
        self._harmonics = {
            item.event.iri: (reader, model) for item, reader, model in staff.harmonics
        }

    def read(self) -> Iterator[list[Asked]]:
        """Yield the attacks of each voice that one player has, in time order."""
        divided = any((item.in_force.parts or 1) > 1 for item in self._staff.placed)
        items = [item for item in self._staff.placed if item.event.notes]
        if divided:
            items.sort(key=lambda item: item.event.voice)
            for _, voice in groupby(items, key=lambda item: item.event.voice):
                yield list(self._asked(self._attacks(list(voice))))
        else:
            yield list(self._asked(self._attacks(items)))

    def _attacks(self, items: Sequence[Placed]) -> list[_Attack]:
        """Join what is tied, and what voices begin together."""
        attacks: list[_Attack] = []
        for item in items:
            event = item.event
            last = attacks[-1] if attacks else None
            if all(note.tied_back for note in event.notes):
                tied = next((a for a in reversed(attacks[-4:]) if a.end == event.onset), None)
                if tied is not None:
                    tied.end, tied.length = event.end, tied.length + event.duration
                    continue
            if (
                last is not None
                and last.item.event.onset == event.onset
                and not event.grace
                and not last.item.event.grace
            ):
                last.events.append(event)
                last.end = max(last.end, event.end)
                last.length = max(last.length, event.duration)
            else:
                attacks.append(_Attack(item, [event], event.end, event.duration))
        return attacks

    def _asked(self, attacks: Sequence[_Attack]) -> Iterator[Asked]:
        before: _Attack | None = None
        for place, attack in enumerate(attacks):
            model = self._staff.hand_of(attack.item.in_force)
            if model is None:
                continue
            following = attacks[place + 1] if place + 1 < len(attacks) else None
            yield self._one(before, attack, following, model)
            before = attack

    def _one(
        self, before: _Attack | None, attack: _Attack, following: _Attack | None, model: HandModel
    ) -> Asked:
        event = attack.item.event
        notes = tuple(
            sorted((note for e in attack.events for note in e.notes), key=lambda n: n.pitch.midi)
        )
        rested = before is None or event.onset - before.end > _REST
        since = self.seconds(before.item.event.onset, event.onset) if before else 2.0
        if event.grace or (before is not None and before.item.event.grace):
            since = _GRACE_SECONDS
        lasts = self.seconds(event.onset, attack.end) if not event.grace else _GRACE_SECONDS
        top = notes[-1].pitch.midi
        came = top - _top(before) if before else 0
        goes = _top(following) - top if following else 0
        offset = event.offset
        moment = Moment(
            time_class(since),
            time_class(lasts),
            rested,
            event.iri in self._joined,
            2 if offset == 0 else int(offset.denominator == 1),
            *course(came, goes),
            before is not None and _heads(before) == _heads(attack),
        )
        harmonic = self._harmonic(attack.item, notes, model)
        pitches, printed, shown = self._demand(attack.item, notes, harmonic)
        step, departs = self._playable(pitches, printed, notes, moment, model)
        if len(attack.events) > 1 and any(e.iri in self._harmonics for e in attack.events):
            step, departs = None, ()  # a harmonic beside another voice: heads are no stop
        called = self._called(attack.item)
        if harmonic is not None and step is not None and called not in (None, harmonic.string - 1):
            departs = tuple(note.iri for note in notes)
        if event.iri in self._ended_calls:
            departs = tuple(note.iri for note in notes)
        return Asked(
            attack.item,
            notes,
            step,
            model,
            shown,
            attack.length,
            since,
            lasts,
            moment.slurred,
            departs,
            harmonic.fingers[1] if harmonic is not None and harmonic.fingers else None,
        )

    def seconds(self, start: Fraction, end: Fraction) -> float:
        """The duration from one place to another, in the middle of its possible range."""
        span = self._staff.around.clock.span(start, end)
        ends = [float(each) for each in (span.least, span.most) if each is not None]
        return sum(ends) / len(ends) if ends else float(end - start) * 60 / self._tempo

    # ---------------------------------------------------------------- what is to be taken

    def _harmonic(self, item: Placed, notes: tuple[Note, ...], model: HandModel) -> Harmonic | None:
        """The one harmonic that all heads of an attack form, or ``None``."""
        found = self._harmonics.get(item.event.iri)
        harmonics = [each.harmonic for each in found[0].interpreted(item, model)] if found else []
        harmonic = harmonics[0] if len(harmonics) == 1 else None
        if harmonic is None or len(notes) > _HEADS_OF_A_HARMONIC:
            return None
        called = self._called(item)
        if harmonic.kind == "natural" and called not in (None, harmonic.string - 1):
            every = natural_harmonics(model.strings, harmonic.partial * 2)
            there = (each for each in every if each.string - 1 == called)
            return next(
                (each for each in there if each.sounding.midi == harmonic.sounding.midi), harmonic
            )
        return harmonic

    def _called(self, item: Placed) -> int | None:
        """The string that a word calls for, from 0, the highest."""
        in_force = item.in_force
        if in_force.string_call is None or item.event.iri in self._ended_calls:
            return None
        call = self._staff.knowledge.directives[in_force.string_call]
        called = called_string(call, in_force.strings, self._staff.around.instrument)
        numbers = [each.iri for each in in_force.strings]
        return numbers.index(called.iri) if called is not None else None

    def _demand(
        self, item: Placed, notes: tuple[Note, ...], harmonic: Harmonic | None
    ) -> tuple[tuple[int, ...], tuple[Printed, ...], tuple[int, ...]]:
        """Pitches to be taken from the lowest up, what is printed at each, and who shows which."""
        if harmonic is not None:
            if harmonic.kind == "natural":
                taken, finger = harmonic.touched.midi, None
            else:
                taken = harmonic.base.midi
                finger = FINGERS.index(harmonic.fingers[0]) if harmonic.fingers else 1
            return (taken,), (Printed(harmonic.string - 1, finger),), (0,) * len(notes)
        printed = tuple(self._printed(note, item, len(notes)) for note in notes)
        return tuple(note.pitch.midi for note in notes), printed, tuple(range(len(notes)))

    def _printed(self, note: Note, item: Placed, many: int) -> Printed:
        string = note.string - 1 if note.string else None
        if string is None and many == 1:
            string = self._called(item)
        finger = _finger(note.finger)
        if finger is None and _OPEN_STRING in item.in_force.techniques and many == 1:
            finger = OPEN
        return Printed(string, finger)

    def _playable(
        self,
        pitches: tuple[int, ...],
        printed: tuple[Printed, ...],
        notes: tuple[Note, ...],
        moment: Moment,
        model: HandModel,
    ) -> tuple[Step | None, tuple[str, ...]]:
        """The step as printed, or with as little as possible left out, and at which heads."""
        nothing = (Printed(),) * len(pitches)
        strings = tuple(Printed(string=each.string) for each in printed)
        table = table_of(model)
        for each in dict.fromkeys((printed, strings, nothing)):
            if table.of((pitches, each)) is not None:
                departs = (
                    ()
                    if each == printed
                    else tuple(
                        note.iri
                        for note, one, other in zip(notes, printed, each, strict=False)
                        if one != other
                    )
                )
                return Step((pitches, each), moment), departs
        return None, ()


def plain_steps(pitches: Sequence[int], weights: Weights) -> list[Step]:
    """Steps for MIDI numbers one after another, as quarter notes with nothing printed at them.

    The tempo is the one assumed where none is printed.
    """
    time = time_class(60 / weights.assumed_tempo)
    steps = []
    for place, pitch in enumerate(pitches):
        came = pitch - pitches[place - 1] if place else 0
        goes = pitches[place + 1] - pitch if place + 1 < len(pitches) else 0
        again = place > 0 and came == 0
        moment = Moment(time, time, place == 0, False, 1, *course(came, goes), again)
        steps.append(Step(((pitch,), (Printed(),)), moment))
    return steps


def finger_name(finger: int) -> str:
    """A finger as it is printed: 0 for an open string, T for the thumb.

    >>> finger_name(OPEN), finger_name(0), finger_name(4)
    ('0', 'T', '4')
    """
    return "0" if finger == OPEN else FINGERS[finger]


def _finger(printed: str | None) -> int | None:
    if printed == "0":
        return OPEN
    return FINGERS.index(printed) if printed in FINGERS else None


def _heads(attack: _Attack) -> list[int]:
    return sorted(note.pitch.midi for event in attack.events for note in event.notes)


def _top(attack: _Attack) -> int:
    return _heads(attack)[-1]


def _joined(lines: Sequence[Line]) -> frozenset[str]:
    """The events that a slur leads to."""
    return frozenset(attack.event.iri for line in lines for attack in line.attacks if attack.joined)
