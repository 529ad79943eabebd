"""Parts whose player breaks chords freely: unaccompanied polyphony, sonatas, and soloists."""

import re
from collections.abc import Iterator, Sequence
from itertools import islice

from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.sonorities import sonorities
from orchq.derive.staves import Staff
from orchq.score import Part, Score
from orchq.terms import oq

_ONE_OF_SEVERAL = re.compile(r"\d|\b[IV]+\b")
"""Figures in the name of a part: others stand beside it, though the file has only this one."""


def breaking_quads(score: Score, part: Part, staves: Sequence[Staff]) -> Iterator[Quad]:
    """Yield whether nobody binds the one player of a part to sound chords together.

    Lengths over the chords of a lone player are nominal: the hand lets go, the bow rolls from the
    lower strings to the upper ones. Among equals, such as in a quartet, the length and the softness
    of a chord are those of an ensemble, and a section breaks no chord together.
    """
    if _is_soloist(score, part) or _is_only_string_player(score, part, staves):
        yield Quad(NamedNode(part.iri), oq("breaksChordsFreely"), Literal(True))


def _is_soloist(score: Score, part: Part) -> bool:
    """Whether a part is marked as that of one player, beside sections."""
    return not part.section and part.players == 1 and any(other.section for other in score.parts)


def _is_only_string_player(score: Score, part: Part, staves: Sequence[Staff]) -> bool:
    """Whether one player bows alone, with chords so often that they are no effect.

    A keyboard beside, as in a sonata, does not bow: nobody has to break the chords with the player.
    """
    others = any(other.instrument is not None for other in score.parts if other is not part)
    one = not part.section and (part.players or 1) == 1
    if others or not one or _ONE_OF_SEVERAL.search(part.name):
        return False
    fewest = int(staves[0].knowledge.judged("stops-of-polyphony"))
    together = (
        sonority for staff in staves for sonority in sonorities(part, staff.placed, staff.knowledge)
    )
    return sum(1 for _ in islice(together, fewest)) == fewest
