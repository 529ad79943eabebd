"""Plucked notes with a crescendo of their own, which no string can make."""

from collections.abc import Iterator, Sequence

from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.placed import InForce, Placed
from orchq.derive.sonorities import tied_ends
from orchq.exact import Fraction
from orchq.knowledge import Knowledge
from orchq.score import Event, Part
from orchq.terms import oq

_TRUE = Literal(True)


def swell_quads(part: Part, placed: Sequence[Placed], knowledge: Knowledge) -> Iterator[Quad]:
    """Yield the plucked notes of a staff that swell alone, and what follows at once."""
    onsets = {item.event.onset for item in placed}
    tied = tied_ends(placed)
    for event in (item.event for item in placed if _is_plucked(item.in_force, knowledge)):
        if not event.notes or all(note.tied_back for note in event.notes):
            continue  # only the first of tied notes is plucked
        end = max(tied.get(note.iri, event.end) for note in event.notes)
        if _swells_alone(event, end, part):
            yield Quad(NamedNode(event.iri), oq("swellsAlone"), _TRUE)
            if end in onsets:
                yield Quad(NamedNode(event.iri), oq("swellLeadsOn"), _TRUE)


def _is_plucked(in_force: InForce, knowledge: Knowledge) -> bool:
    techniques = knowledge.techniques
    return any(
        "PluckedTechnique" in techniques[iri].kinds
        for iri in in_force.techniques
        if iri in techniques
    )


def _swells_alone(event: Event, end: Fraction, part: Part) -> bool:
    """Whether a crescendo lies between the pluck and the end of what is tied to it."""
    return any(
        pin.grows and event.onset <= pin.onset < pin.end <= end
        for pin in part.hairpins
        if pin.staff in (None, event.staff)
    )
