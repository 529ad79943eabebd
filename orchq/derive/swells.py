"""Plucked notes with a crescendo of their own, which no string can make."""

from collections.abc import Iterator, Sequence

from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.placed import InForce, Placed
from orchq.knowledge import Knowledge
from orchq.score import Event, Part
from orchq.terms import oq

_TRUE = Literal(True)


def swell_quads(part: Part, placed: Sequence[Placed], knowledge: Knowledge) -> Iterator[Quad]:
    """Yield the plucked notes of a staff that swell alone, and what follows at once."""
    onsets = {item.event.onset for item in placed}
    for event in (item.event for item in placed if _is_plucked(item.in_force, knowledge)):
        if _swells_alone(event, part):
            yield Quad(NamedNode(event.iri), oq("swellsAlone"), _TRUE)
            if event.end in onsets:
                yield Quad(NamedNode(event.iri), oq("swellLeadsOn"), _TRUE)


def _is_plucked(in_force: InForce, knowledge: Knowledge) -> bool:
    techniques = knowledge.techniques
    return any(
        "PluckedTechnique" in techniques[iri].kinds
        for iri in in_force.techniques
        if iri in techniques
    )


def _swells_alone(event: Event, part: Part) -> bool:
    return any(
        pin.grows and event.onset <= pin.onset < pin.end <= event.end
        for pin in part.hairpins
        if pin.staff in (None, event.staff)
    )
