"""Whether instructions still hold: one that nobody cancelled may have been forgotten.

An instruction holds where it is printed, and from there until a ground for doubt arises; see
``ontology/practice/grounds-for-doubt.ttl``. One whose end is printed was meant up to there. Words
for strokes last for the passage, so their end is never missed.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from orchq.derive.placed import InForce, Placed
from orchq.derive.states import ARCO
from orchq.exact import Fraction
from orchq.knowledge import Instrument, Knowledge
from orchq.knowledge.lexicon import words_of
from orchq.knowledge.model import DoubtGround
from orchq.score import Event, Mark, Part

_EXPLICIT = frozenset({"Cancellation", "Muting"})
"""Kinds of directives that print an end explicitly."""
_SCORE_WIDE = frozenset({"TempoWord", "BarlineSign"})
_NO_BOW = frozenset({"PluckedTechnique", "StickTechnique"})


class Doubt(Struct, frozen=True):
    """An instruction that grows doubtful at an event, where it was printed, and on what ground."""

    instruction: str
    printed: Mark
    ground: DoubtGround
    event: Event


class Stretch(Struct):
    """Where one printed instruction stands on a staff: from a first to a last event, as indices.

    ``released`` is where its end is printed explicitly; ``repeated`` is the mark that prints it
    again before that.
    """

    instruction: str
    printed: Mark
    first: int
    last: int
    released: Fraction | None = None
    repeated: Mark | None = None


class Carried(Struct):
    """One staff of a part with the stretches of its instructions."""

    part: Part
    instrument: Instrument
    placed: Sequence[Placed]
    marks: Sequence[Mark]
    slurred: frozenset[str]
    stretches: list[Stretch] = field(default_factory=list)
    judged: dict[object, tuple[InForce, frozenset[str]]] = field(default_factory=dict)
    """What remains in force without what is doubtful: one object for all events with the same."""


class Standing:
    """Judges whether printed instructions still hold, over all staves of a score."""

    def __init__(self, knowledge: Knowledge, parts: Iterable[Part]) -> None:
        self._knowledge = knowledge
        self._grounds = knowledge.doubt_grounds
        self._tracked = frozenset().union(*(each.casts_doubt_on for each in self._grounds))
        self._score_wide = [
            (mark.onset, iri)
            for part in parts
            for mark in part.marks
            for iri in mark.directives
            if iri in knowledge.directives and knowledge.directives[iri].kinds & _SCORE_WIDE
        ]
        self._staves: list[Carried] = []

    def take(self, part: Part, instrument: Instrument, placed: Sequence[Placed]) -> Carried:
        """Add a staff; all must be added before any is judged."""
        number = placed[0].event.staff
        marks = [mark for mark in part.marks if mark.staff in (None, number)]
        marks.sort(key=lambda mark: mark.onset)
        staff = Carried(part, instrument, placed, marks, _under_slurs(part))
        if any(not self._tracked.isdisjoint(mark.directives) for mark in marks):
            staff.stretches = list(self._stretches(staff))
        self._staves.append(staff)
        return staff

    # -------------------------------------------------------------------- stretches

    def _stretches(self, staff: Carried) -> Iterator[Stretch]:
        """Find where each printed instruction stands, in the order in which they end."""
        printed: dict[str, Mark] = {}
        going: dict[str, Stretch] = {}
        place = 0
        for number, item in enumerate(staff.placed):
            onset = item.event.onset
            passed = place
            while place < len(staff.marks) and staff.marks[place].onset <= onset:
                mark = staff.marks[place]
                printed.update((iri, mark) for iri in mark.directives if iri in self._tracked)
                place += 1
            since = staff.marks[passed:place]
            holding = self._holding(item) if item.event.state is None else frozenset()
            for iri in [iri for iri in going if iri not in holding]:
                yield self._ended(going.pop(iri), since, going)
            for iri in sorted(holding):
                mark_of = printed.get(iri)
                before = going.get(iri)
                if before is not None and before.printed is mark_of:
                    before.last = number
                    continue
                if before is not None:
                    ended = self._ended(before, since, going)
                    if ended.released is None:
                        ended.repeated = mark_of
                    yield ended
                if mark_of is not None:
                    going[iri] = Stretch(iri, mark_of, number, number)
        for iri in list(going):
            yield self._ended(going.pop(iri), staff.marks[place:], going)

    def _holding(self, item: Placed) -> frozenset[str]:
        dynamic = item.in_force.dynamic
        return self._tracked & (item.standing if dynamic is None else item.standing | {dynamic})

    def _ended(
        self, stretch: Stretch, since: Iterable[Mark], going: Mapping[str, Stretch]
    ) -> Stretch:
        """Note whether the end of a stretch is printed; a word for many ends the last of them."""
        directives = self._knowledge.directives
        for mark in since:
            for directive in (directives[iri] for iri in mark.directives if iri in directives):
                if stretch.instruction not in directive.cancels:
                    continue
                if directive.kinds.isdisjoint(_EXPLICIT):
                    continue
                rivals = (each for iri, each in going.items() if iri in directive.cancels)
                if all(each.printed.onset <= stretch.printed.onset for each in rivals):
                    stretch.released = mark.onset
        return stretch

    # ------------------------------------------------------------------------ doubts

    def judged(self, staff: Carried) -> tuple[tuple[Placed, ...], tuple[Doubt, ...]]:
        """The events of a staff without doubtful instructions, and those to ask about."""
        doubtful: dict[int, set[str]] = {}
        doubts: list[Doubt] = []
        for stretch in staff.stretches:
            passing = self._knowledge.directives[stretch.instruction].lasts_for_passage
            if stretch.released is not None and not passing:
                continue
            found = self._first_ground(staff, stretch)
            if found is None:
                doubts += self._repetition(staff, stretch)
                continue
            place, ground = found
            for number in range(place, stretch.last + 1):
                doubtful.setdefault(number, set()).add(stretch.instruction)
            if not passing:
                event = staff.placed[place].event
                doubts.append(Doubt(stretch.instruction, stretch.printed, ground, event))
        placed = tuple(
            self._without(staff, item, doubtful[number]) if number in doubtful else item
            for number, item in enumerate(staff.placed)
        )
        return placed, tuple(doubts)

    def _repetition(self, staff: Carried, stretch: Stretch) -> Iterator[Doubt]:
        """Ask about a word that is printed again, unless it is marked as a reminder."""
        again = stretch.repeated
        for ground in self._grounds:
            if (
                again is None
                or not ground.at_repetition
                or stretch.instruction not in ground.casts_doubt_on
            ):
                continue
            reminds = not {*words_of(again.text)}.isdisjoint(ground.reminders)
            if not reminds and not again.text.strip().startswith("("):
                event = staff.placed[stretch.last + 1].event
                yield Doubt(stretch.instruction, stretch.printed, ground, event)

    def _first_ground(self, staff: Carried, stretch: Stretch) -> tuple[int, DoubtGround] | None:
        """The first event of a stretch at which it is doubtful, and the ground."""
        found = (
            (place, order, ground)
            for order, ground in enumerate(self._grounds)
            if stretch.instruction in ground.casts_doubt_on
            for place in self._places(staff, stretch, ground)
        )
        first = min(found, key=lambda each: each[:2], default=None)
        return None if first is None else (first[0], first[2])

    def _places(self, staff: Carried, stretch: Stretch, ground: DoubtGround) -> Iterator[int]:
        """The first place, if any, at which a ground arises within a stretch."""
        if ground.marks:
            yield from self._at_marks(staff, stretch, ground)
        elif ground.fewest_others is not None:
            yield from self._at_release(staff, stretch, ground.fewest_others)
        elif ground.rest_measures is not None:
            measures = ground.rest_measures
            yield from self._at_event(
                staff, stretch, lambda n: _rests_before(staff, n, stretch.printed, measures)
            )
        elif ground.note_quarters is not None:
            quarters = Fraction(ground.note_quarters)
            yield from self._at_event(
                staff, stretch, lambda n: staff.placed[n].event.duration >= quarters
            )
        elif ground.at_slur:
            yield from self._at_event(
                staff, stretch, lambda n: staff.placed[n].event.iri in staff.slurred
            )
        elif ground.signs:
            yield from self._at_event(
                staff, stretch, lambda n: not ground.signs.isdisjoint(staff.placed[n].event.marks)
            )

    def _at_event(
        self, staff: Carried, stretch: Stretch, arises: Callable[[int], bool]
    ) -> Iterator[int]:
        # an instruction printed at an event is meant there
        since = bisect_right(
            staff.placed, stretch.printed.onset, stretch.first, stretch.last + 1, key=_onset
        )
        for number in range(since, stretch.last + 1):
            if arises(number):
                yield number
                return

    def _at_marks(self, staff: Carried, stretch: Stretch, ground: DoubtGround) -> Iterator[int]:
        onsets = [
            mark.onset for mark in staff.marks if not ground.marks.isdisjoint(mark.directives)
        ]
        onsets += [onset for onset, iri in self._score_wide if iri in ground.marks]
        for onset in sorted(set(onsets)):
            if onset <= stretch.printed.onset:
                continue
            place = _first_from(staff.placed, onset)
            if place > stretch.last:
                return
            event = staff.placed[place].event
            if (
                event.measure_index - stretch.printed.measure_index >= ground.after_measures
                and (not ground.needs_signature or _changes_signature(staff.part, onset))
                and (ground.after is None or _used_before(staff.placed, place, ground.after))
            ):
                yield max(place, stretch.first)
                return

    def _at_release(self, staff: Carried, stretch: Stretch, fewest: int) -> Iterator[int]:
        """Where all others that had the instruction together with this staff were released."""
        start, end = _span(staff, stretch)
        released: list[Fraction] = []
        for other in self._staves:
            if other is staff or other.part is staff.part:
                continue
            for each in other.stretches:
                if each.instruction != stretch.instruction:
                    continue
                began, ended = _span(other, each)
                if began >= end or ended <= start:
                    continue
                if each.released is None:
                    return
                released.append(each.released)
        if len(released) >= fewest:
            place = _first_from(staff.placed, max(released))
            if stretch.first <= place <= stretch.last:
                yield place

    def _without(self, staff: Carried, item: Placed, doubtful: set[str]) -> Placed:
        """An event without what is doubtful; a sign at the note stands for itself."""
        techniques = self._knowledge.techniques
        in_force = item.in_force
        gone = frozenset(doubtful - item.event.marks)
        key = id(in_force), gone, frozenset(doubtful), item.standing
        if key in staff.judged:
            changed, standing = staff.judged[key]
            return replace(item, in_force=changed, standing=standing)
        used = in_force.techniques - gone
        stick = any(iri in techniques and techniques[iri].kinds & _NO_BOW for iri in gone)
        if stick and techniques[ARCO].is_on(staff.instrument):
            used |= {ARCO}
        changed = replace(
            in_force,
            techniques=used,
            dynamic=None if in_force.dynamic in gone else in_force.dynamic,
            doubtful=gone,
        )
        standing = item.standing - doubtful
        staff.judged[key] = changed, standing
        return replace(item, in_force=changed, standing=standing)


def _onset(item: Placed) -> Fraction:
    return item.event.onset


def _span(staff: Carried, stretch: Stretch) -> tuple[Fraction, Fraction]:
    return staff.placed[stretch.first].event.onset, staff.placed[stretch.last].event.end


def _first_from(placed: Sequence[Placed], onset: Fraction) -> int:
    """The place of the first event that does not begin before an onset."""
    place = bisect_right(placed, onset, key=_onset)
    while place > 0 and placed[place - 1].event.onset == onset:
        place -= 1
    return place


def _used_before(placed: Sequence[Placed], place: int, technique: str) -> bool:
    return place > 0 and technique in placed[place - 1].in_force.techniques


def _rests_before(staff: Carried, number: int, printed: Mark, measures: int) -> bool:
    """Whether as many whole measures of rest or more lie before an event, after a mark."""
    latest = staff.placed[number].event.measure_index - measures - 1
    if printed.measure_index > latest:
        return False
    if number == 0:
        return True
    last = staff.placed[number - 1].event
    if last.measure_index > latest:
        return False
    if last.end == last.onset or not staff.part.measures:
        return True
    place = bisect_right(staff.part.measures, last.end, key=lambda m: m.onset)
    return place - 1 - (staff.part.measures[place - 1].onset == last.end) <= latest


def _changes_signature(part: Part, onset: Fraction) -> bool:
    """Whether key or metre change at a place."""
    if any(mark.signature is not None and mark.onset == onset for mark in part.marks):
        return True
    place = bisect_right(part.measures, onset, key=lambda measure: measure.onset) - 1
    if place < 1 or part.measures[place].onset != onset:
        return False
    before, after = part.measures[place - 1], part.measures[place]
    return (before.beats, before.beat_type) != (after.beats, after.beat_type)


def _under_slurs(part: Part) -> frozenset[str]:
    """The events that slurs join, those of one onset left out."""
    places = {event.iri: number for number, event in enumerate(part.events)}
    found: set[str] = set()
    for slur in part.slurs:
        if slur.first not in places or slur.last not in places:
            continue
        first, last = part.events[places[slur.first]], part.events[places[slur.last]]
        if first.onset < last.onset and not (first.grace or last.grace):
            found.update(
                event.iri
                for event in part.events[places[slur.first] : places[slur.last] + 1]
                if event.voice == first.voice and event.staff == first.staff
            )
    return frozenset(found)
