"""Nodes of a vibrating string: where to touch it, and which pitch sounds.

A string touched at k/n of its length sounds its n-th partial when k and n have no common
divisor; the frequency of that partial is n times the string's own.
"""

from functools import lru_cache
from math import gcd, log2

from msgspec import Struct

OWN_NODE_CENTS = 20
"""A touch sounds the lowest partial with a node within this many cents, under the fingertip."""
NEAR_NODE_CENTS = 50
"""Beyond this distance in cents from every node no harmonic is meant."""


class Node(Struct, frozen=True):
    """The place ``k``/``n`` of a string counted from the nut, which sounds partial ``n``.

    ``touch`` and ``sound`` are the exact heights in semitones above the string's lowest note of
    the place touched and of what sounds.
    """

    k: int
    n: int

    @property
    def touch(self) -> float:
        """Semitones from the string's lowest note to the note stopped at the node."""
        return 12 * log2(self.n / (self.n - self.k))

    @property
    def sound(self) -> float:
        """Semitones from the string's lowest note to what sounds."""
        return 12 * log2(self.n)

    def __str__(self) -> str:
        return f"{self.k}/{self.n}"


@lru_cache(64)
def nodes(highest_partial: int, *, whole_string: bool = False) -> tuple[Node, ...]:
    """Return the nodes of partials 2 and up, by partial and from the nut.

    The half towards the nut is given; ``whole_string`` adds the half towards the bridge.

    >>> [str(node) for node in nodes(5)]
    ['1/2', '1/3', '1/4', '1/5', '2/5']
    """
    return tuple(
        Node(k, n)
        for n in range(2, highest_partial + 1)
        for k in range(1, n if whole_string else n // 2 + 1)
        if gcd(k, n) == 1
    )


def node_at(touch: int, highest_partial: int) -> Node | None:
    """Return the node meant by touching this many semitones above the string's lowest note.

    It is the lowest partial whose node lies under the fingertip, or else the nearest node
    within half a semitone, of the partials up to the highest one.

    >>> str(node_at(5, 8))
    '1/4'
    """
    near = [
        (abs(node.touch - touch) * 100, node)
        for node in nodes(highest_partial, whole_string=True)
        if abs(node.touch - touch) * 100 <= NEAR_NODE_CENTS
    ]
    own = [node for cents, node in near if cents <= OWN_NODE_CENTS]
    if own:
        return min(own, key=lambda node: node.n)
    return min(near, key=lambda pair: (pair[0], pair[1].n))[1] if near else None
