"""Open strings that the left hand can pluck while the bow stays in place."""

from collections.abc import Iterator, Sequence

from orchq.advice.case import Candidate, Case, remedy
from orchq.advice.edits import change_signs, change_word, exchange_techniques
from orchq.derive.changes import PIZZICATO
from orchq.derive.placed import Placed
from orchq.derive.states import ARCO
from orchq.terms import oq

LEFT_HAND_PIZZICATO = oq("left-hand-pizzicato").value


@remedy("left-hand-pizzicato")
def left_hand_pizzicato(case: Case) -> Iterator[Candidate]:
    """A plus sign at each note of this pizzicato, where they all are open strings."""
    plucked = _plucked(case)
    mark = case.word(PIZZICATO)
    if not plucked or not all(_is_open(item) for item in plucked):
        return
    events = [item.event for item in plucked]
    iris = [event.iri for event in events]
    edits = [
        change_signs(iris, on=[LEFT_HAND_PIZZICATO]),
        exchange_techniques(iris, off=[PIZZICATO], on=[LEFT_HAND_PIZZICATO]),
    ]
    after = case.after(events[-1])
    if mark is not None:
        edits.append(change_word(mark.iri, PIZZICATO))
        # the word that would have ended the pizzicato is no longer wanted
        end = after.event.onset if after is not None else events[-1].end
        edits += [
            change_word(each.iri, ARCO)
            for each in case.part.marks
            if ARCO in each.directives and events[0].onset < each.onset <= end
        ]
    notes = "the open string" if len(events) == 1 else "the open strings"
    do = f"print a plus sign instead of pizzicato: the left hand plucks {notes}, and the bow stays"
    over = events if after is None else [*events, after.event]
    yield from case.offer(do, *edits, over=over)


def _plucked(case: Case) -> Sequence[Placed]:
    """The plucked notes at the event, or those that it follows, as far as the word holds."""
    placed = case.placed
    last = case.place if _plucks(placed[case.place]) else case.place - 1
    if last < 0 or not _plucks(placed[last]):
        return ()
    first = last
    while first > 0 and _plucks(placed[first - 1]):
        first -= 1
    while last + 1 < len(placed) and _plucks(placed[last + 1]):
        last += 1
    return placed[first : last + 1]


def _plucks(item: Placed) -> bool:
    return PIZZICATO in item.in_force.techniques


def _is_open(item: Placed) -> bool:
    opened = {string.pitch.midi for string in item.in_force.strings}
    notes = item.event.notes
    return len(notes) == 1 and notes[0].role is None and notes[0].pitch.midi in opened
