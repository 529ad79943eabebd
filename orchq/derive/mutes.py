"""Mutes that are taken off though none was put on."""

from collections.abc import Iterator, Sequence

from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.changes import MUTE_OFF, MUTE_ON
from orchq.derive.states import FINAL_BARLINE
from orchq.derive.staves import Staff
from orchq.exact import Fraction
from orchq.score import Mark
from orchq.terms import oq

_BEGINS = frozenset({"TempoWord", "BarlineSign"})


def mute_quads(staff: Staff) -> Iterator[Quad]:
    """Yield the events at which a mute is taken off in a movement that has put none on.

    Before the first notes, under a heading, after a double bar and after a long rest the word is a
    courtesy, and so it is in brackets.
    """
    marks = sorted(staff.part.marks, key=lambda mark: mark.onset)
    rest = int(staff.knowledge.judged("measures-of-a-courtesy"))
    muted, since = False, Fraction(0)
    for mark in marks:
        if FINAL_BARLINE in mark.directives:
            muted, since = False, mark.onset
        muted = muted or MUTE_ON in mark.directives
        if MUTE_OFF not in mark.directives or mark.staff not in (None, staff.number):
            continue
        if muted or mark.text.strip().startswith("("):
            continue
        played = [i.event for i in staff.placed if since <= i.event.onset < mark.onset]
        after = next((i.event for i in staff.placed if i.event.onset >= mark.onset), None)
        if not played or after is None or _begins(staff, marks, mark):
            continue
        if after.measure_index - played[-1].measure_index - 1 <= rest:
            yield Quad(NamedNode(after.iri), oq("takesOffNoMute"), Literal(True))


def _begins(staff: Staff, marks: Sequence[Mark], at: Mark) -> bool:
    """Whether something new is headed, or follows a double bar, where a mark is printed."""
    known = staff.knowledge.directives
    return any(
        iri in known and not known[iri].kinds.isdisjoint(_BEGINS)
        for mark in marks
        if mark.measure_index == at.measure_index
        for iri in mark.directives
    )
