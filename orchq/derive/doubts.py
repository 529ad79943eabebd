"""Instructions that seem to be forgotten, as triples."""

from collections.abc import Iterable, Iterator

from pyoxigraph import NamedNode, Quad

from orchq.derive.circumstances import Fact
from orchq.derive.standing import Doubt
from orchq.terms import slug_of


def doubt_quads(doubts: Iterable[Doubt]) -> Iterator[Quad]:
    """Yield the instructions that seem to be forgotten, from where, and on what ground."""
    for doubt in doubts:
        fact = Fact(doubt.event, f"doubt-{slug_of(doubt.instruction)}", "DoubtfulInstruction")
        fact.say("doubtsInstruction", NamedNode(doubt.instruction))
        fact.say("hasGround", NamedNode(doubt.ground.iri))
        printed = f"printed in measure {doubt.printed.measure_number} and never cancelled"
        fact.say("doubtSaid", f"{printed}, and here {doubt.ground.label}")
        yield from fact.quads
