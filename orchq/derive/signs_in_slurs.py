"""Signs for the direction of the bow inside a slur, whose notes share one direction."""

from collections.abc import Iterator

from pyoxigraph import NamedNode, Quad

from orchq.derive.bow_time import RICOCHET, STROKES
from orchq.derive.circumstances import Fact
from orchq.derive.lines import Attack, Line, Slurred
from orchq.derive.staves import Staff
from orchq.terms import oq

_SEPARATES = frozenset(
    oq(name).value
    for name in ("staccato", "staccatissimo", "tenuto", "portato", "slurred-staccato")
)


def sign_in_slur_quads(staff: Staff) -> Iterator[Quad]:
    """Yield the triples of bow directions on notes that a short slur joins to the one before.

    A long slur, one over others and one over a rest show a phrase, taken in several bows. Where
    notes are separated by dots or dashes under the slur, the sign says that the bow goes on in
    its direction; so it does next to a note with the same sign. A note tied on may be taken in a
    new bow. Notes of a section that divides may have each a bow of their own.
    """
    most = staff.knowledge.judged("quarters-of-a-bowing-slur")
    for line in staff.lines:
        for slur in line.slurs:
            under = line.attacks[slur.first : slur.last + 1]
            if (
                any(STROKES & attack.event.marks for attack in under[1:])
                and under[-1].end - under[0].onset <= most
                and _is_one_bow(staff, line, slur)
            ):
                yield from _signs(staff, line, slur)


def _is_one_bow(staff: Staff, line: Line, slur: Slurred) -> bool:
    """Whether a slur stands for itself over bowed notes in a row."""
    under = line.attacks[slur.first : slur.last + 1]
    alone = not any(
        other is not slur and other.first < slur.last and slur.first < other.last
        for other in line.slurs
    )
    return (
        alone
        and all(attack.follows for attack in under[1:])
        and all(
            RICOCHET not in attack.in_force.techniques and staff.around.is_on_hair(attack.in_force)
            for attack in under
        )
    )


def _signs(staff: Staff, line: Line, slur: Slurred) -> Iterator[Quad]:
    first = line.attacks[slur.first]
    direction = STROKES & first.event.marks
    begins = {each.first for each in line.slurs}
    for place in range(slur.first + 1, slur.last + 1):
        attack = line.attacks[place]
        signs = STROKES & attack.event.marks
        hooked = signs <= line.attacks[place - 1].event.marks
        if len(signs) != 1 or place in begins or hooked or _is_shared_out(staff, attack):
            continue
        apart = any(
            not _SEPARATES.isdisjoint(each.event.marks)
            for each in line.attacks[place - 1 : place + 1]
        )
        if apart and (not direction or signs == direction):
            continue
        fact = Fact(attack.event, "sign-in-slur", "SignInSlur")
        fact.say("printsSign", NamedNode(min(signs)))
        fact.say("beginsAgain", signs == direction)
        yield from fact.quads


def _is_shared_out(staff: Staff, attack: Attack) -> bool:
    several = staff.around.has_several_players(attack.in_force)
    return several and len(attack.event.notes) > 1
