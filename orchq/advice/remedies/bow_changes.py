"""Where the bow changes, and where the way of playing does."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise

from msgspec.structs import replace

from orchq.advice.case import Candidate, Case, remedy
from orchq.advice.edits import Edit, add_slurs, change_word, print_word, take_event, take_spans
from orchq.derive.states import ARCO
from orchq.notation import beat_name
from orchq.score import Event, Mark, Part, Slur

_MOST_BOWS = 6
_MOST_RESTS = 4
_NEAR = 3
"""Places tried on either side for a change of the way of playing."""
_NEXT = Fraction(4)
"""Quarter notes by which a change between plucking and the bow moves at most: those notes sound
different from what was written."""
_FAR = Fraction(32)
"""Quarter notes by which mutes and retunings move at most."""


@remedy("change-bow")
def change_bow(case: Case) -> Iterator[Candidate]:
    """The slur from here divided into as few bows of about equal length as suffice."""
    played = [item.event for item in case.placed]
    places = {event.iri: place for place, event in enumerate(played)}
    for slur in case.part.slurs:
        if slur.first != case.event.iri or slur.last not in places:
            continue
        events = played[case.place : places[slur.last] + 1]
        for bows in range(2, min(_MOST_BOWS, len(events)) + 1):
            pieces = _divided(events, bows)
            starts = ", ".join(_where(piece[0]) for piece in pieces[1:])
            do = f"change the bow under the slur at {starts}: then no bow runs out"
            slurs = [
                Slur(f"{slur.iri}.bow{number}", piece[0].iri, piece[-1].iri)
                for number, piece in enumerate(pieces)
                if len(piece) > 1
            ]
            yield from case.offer(do, take_spans([slur.iri]), add_slurs(*slurs), over=events)


def _divided(events: Sequence[Event], bows: int) -> list[Sequence[Event]]:
    """Pieces of about equal length in time, none of them empty."""
    start, length = events[0].onset, events[-1].end - events[0].onset
    cuts: list[int] = []
    for bow in range(1, bows):
        low, high = (cuts[-1] if cuts else 0) + 1, len(events) - (bows - bow)
        ideal = start + length * bow / bows
        cuts.append(min(range(low, high + 1), key=lambda n: abs(events[n].onset - ideal)))
    edges = [0, *cuts, len(events)]
    return [events[low:high] for low, high in pairwise(edges)]


@remedy("slur-in-pairs")
def slur_in_pairs(case: Case) -> Iterator[Candidate]:
    """Two notes to each bow, over the even notes of this passage, if no word asks for a stroke."""
    directives = case.knowledge.directives
    if any(
        directives[iri].lasts_for_passage for iri in case.in_force.techniques & directives.keys()
    ):
        return
    passage, length = case.in_force.techniques, case.event.duration
    slurred = {iri for slur in case.part.slurs for iri in (slur.first, slur.last)}
    events = case.onwards(
        lambda item: (
            item.in_force.techniques == passage
            and item.event.duration == length
            and item.event.iri not in slurred
        )
    )
    pairs = [(events[n], events[n + 1]) for n in range(0, len(events) - 1, 2)]
    if pairs:
        slurs = [Slur(f"{one.iri}.pair", one.iri, two.iri) for one, two in pairs]
        do = f"slur the notes in pairs{case.until(events)}: the bow turns half as often"
        yield from case.offer(do, add_slurs(*slurs), over=events)


@remedy("move-change")
def move_change(case: Case) -> Iterator[Candidate]:
    """The change printed at the nearest notes before and after that leave more time for it."""
    if case.place == 0:
        return
    before = case.placed[case.place - 1].event
    for mark in case.part.marks:
        if not before.onset < mark.onset <= case.event.onset:
            continue
        for word in (*mark.directives, *([""] if mark.retuned else [])):
            if word and not _is_change(case, word):
                continue
            changes_colour = word in case.knowledge.techniques and not _is_mute(case, word)
            for place in _roomier(case, _NEXT if changes_colour else _FAR):
                target = case.placed[place].event
                low, high = sorted((place, case.place))
                over = [item.event for item in case.placed[low : high + 1]]
                what = case.label(word) if word else "the retuning"
                do = f"print {what} at {_where(target)} instead: there is time for the change"
                yield from case.offer(do, *_moved(mark, word, target), over=over)


@remedy("rest-before-change")
def rest_before_change(case: Case) -> Iterator[Candidate]:
    """Rests in place of the last note before the change, or of the last few."""
    for count in range(1, min(_MOST_RESTS, case.place - 1) + 1):
        gone = [item.event for item in case.placed[case.place - count : case.place]]
        iris = {event.iri for event in gone}
        spans = [s.iri for s in case.part.slurs if iris & {s.first, s.last}]
        notes = "note" if count == 1 else f"{count} notes"
        do = f"write a rest in place of the last {notes} before: it leaves time for the change"
        edits = [take_event(event.iri) for event in gone]
        yield from case.offer(do, take_spans(spans), *edits, over=(*gone, case.event))


def _is_mute(case: Case, word: str) -> bool:
    return "Muting" in case.knowledge.directives[word].kinds


def _is_change(case: Case, word: str) -> bool:
    kinds = case.knowledge.directives[word].kinds
    return word == ARCO or not kinds.isdisjoint({"PluckedTechnique", "Muting"})


def _roomier(case: Case, farthest: Fraction) -> list[int]:
    """Places of events with more time before them than this one has, the nearest first.

    Only those that lie at most so many quarter notes away.
    """

    def room(place: int) -> tuple[object, ...]:
        before, here = case.placed[place - 1].event, case.placed[place].event
        return here.onset - before.end, here.onset - before.onset

    own = room(case.place)
    roomier = [place for place in range(1, len(case.placed)) if room(place) > own]
    earlier = [place for place in roomier if place < case.place][-_NEAR:]
    later = [place for place in roomier if place > case.place][:_NEAR]
    onset = case.event.onset
    near = sorted([*earlier, *later], key=lambda place: abs(case.placed[place].event.onset - onset))
    return [place for place in near if abs(case.placed[place].event.onset - onset) <= farthest]


def _moved(mark: Mark, word: str, target: Event) -> Iterator[Edit]:
    if word:
        yield change_word(mark.iri, word)
        yield print_word(target, word)
        return
    moved = replace(
        mark,
        measure_index=target.measure_index,
        measure_number=target.measure_number,
        offset=target.offset,
        onset=target.onset,
    )

    def move(part: Part) -> Part:
        marks = (moved if each.iri == mark.iri else each for each in part.marks)
        return replace(part, marks=tuple(sorted(marks, key=lambda each: each.onset)))

    yield move


def _where(event: Event) -> str:
    return f"measure {event.measure_number}, beat {beat_name(event.beat)}"
