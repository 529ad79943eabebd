"""Pizzicati without a printed arco although signs show that the bow is back in use."""

from collections.abc import Collection, Iterator, Sequence

from msgspec.structs import replace

from orchq.derive.placed import Placed, PluckedPassage
from orchq.derive.states import ARCO
from orchq.knowledge import Knowledge
from orchq.score import Event, Part


def slurred_events(part: Part) -> frozenset[str]:
    """First events of slurs that join notes of different onset; grace notes do not count."""
    events = {event.iri: event for event in part.events}
    slurred = set()
    for slur in part.slurs:
        first, last = events.get(slur.first), events.get(slur.last)
        if first and last and first.onset < last.onset and not (first.grace or last.grace):
            slurred.add(first.iri)
    return frozenset(slurred)


class Returns:
    """Finds where the bow is evidently taken up again on one staff."""

    def __init__(
        self, placed: Sequence[Placed], slurred: Collection[str], knowledge: Knowledge
    ) -> None:
        self._placed = placed
        self._knowledge = knowledge
        self._enough_signs = knowledge.judged("signs-of-missing-arco")
        self._bowed = {item.event.iri for item in placed if item.bow_signs}.union(slurred)

    def missing_at(self, passage: PluckedPassage) -> Event | None:
        """The event from which on an arco is missing, or ``None`` where none is missing.

        A passage that an arco ends may hold a stray sign or two, which are reported as such; with
        more of them, the arco came too late.
        """
        signed = [event for event in passage.events if event.iri in self._bowed]
        if not signed or (passage.returned and len(signed) < self._enough_signs):
            return None
        return signed[0]

    def believed(self) -> Iterator[Placed]:
        """Yield the events as they are meant: bowed from where an arco is missing.

        One finding reports the missing arco; what follows is not judged as if it were plucked.
        """
        techniques = self._knowledge.techniques
        plucked = {iri for iri, t in techniques.items() if "PluckedTechnique" in t.kinds}
        since: dict[int, Event | None] = {}
        for item in self._placed:
            passage = item.plucked_passage
            if passage is None or item.event.state is not None:
                yield item
                continue
            if id(passage) not in since:
                since[id(passage)] = self.missing_at(passage)
            missing = since[id(passage)]
            if (
                missing is None
                or item.event.onset < missing.onset
                or not plucked.isdisjoint(item.event.marks)
            ):
                yield item
                continue
            bowing = {sign for sign in item.bow_signs if ARCO in techniques[sign].implies}
            meant = (item.in_force.techniques - plucked) | bowing | {ARCO}
            yield replace(
                item,
                in_force=replace(item.in_force, techniques=meant),
                standing=item.standing - plucked,
                arco_missing=True,
            )
