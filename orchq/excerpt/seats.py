"""Numbers of players given by the user, which override those of the score."""

from collections.abc import Iterable, Iterator, Mapping

from msgspec.structs import replace
from pyoxigraph import Literal, NamedNode, Quad

from orchq.score import Part, Score, same_name
from orchq.terms import oq

_SEATS = frozenset({oq("isSection"), oq("playerCount")})


def seated(score: Score, players: Mapping[str, int]) -> Score:
    """Return the score with these numbers of players; 1 makes a solo part.

    A part is named as it is printed, or by its identifier.
    """
    return replace(score, parts=tuple(_seated(part, players) for part in score.parts))


def seated_quads(quads: Iterable[Quad], score: Score) -> Iterator[Quad]:
    """Yield the triples of a score, with the current numbers of players of its parts."""
    parts = {NamedNode(part.iri): part for part in score.parts}
    for quad in quads:
        if quad.predicate not in _SEATS or quad.subject not in parts:
            yield quad
    for node, part in parts.items():
        yield Quad(node, oq("isSection"), Literal(part.section))
        if part.players is not None:
            yield Quad(node, oq("playerCount"), Literal(part.players))


def _seated(part: Part, players: Mapping[str, int]) -> Part:
    for name, number in players.items():
        if name == part.id or same_name(name, part.name):
            return replace(part, section=number > 1, players=number)
    return part
