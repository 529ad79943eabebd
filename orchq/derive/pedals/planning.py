"""Plans when pedals move in a passage: as late as is practical, and as few at once as possible."""

from bisect import insort
from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import accumulate, groupby

from msgspec import Struct
from msgspec.structs import replace

from orchq.derive.pedals.settings import Setting
from orchq.exact import Fraction
from orchq.knowledge import Pedal

_ENOUGH = Fraction(1)
"""A gap of this length is as good as a longer one."""
_FARTHEST = 16
"""Gaps before the last possible one that are considered: pedals are not set far ahead."""
_LEAST = (False, Fraction(1))
"""The cost of one move in a gap that is long enough."""
_MOST = 64
"""Most gaps searched for a chain of moves, and most moves searched for a stretch."""


class Sounding(Struct, frozen=True):
    """A note of an attack: the letter of its string, its alteration, and where it ends."""

    letter: str
    alteration: int
    end: Fraction


class PluckedAttack(Struct, frozen=True):
    """The notes plucked at one time; all times in one unit, such as quarter notes."""

    onset: Fraction
    notes: tuple[Sounding, ...]


class PedalMove(Struct, frozen=True):
    """A pedal that moves in some gap from ``earliest`` to ``latest``, planned for ``gap``.

    Gaps count attacks: gap n lies right before attack n.
    """

    pedal: Pedal
    before: int
    after: int
    earliest: int
    latest: int
    gap: int


class Clash(Struct, frozen=True):
    """One letter in several positions at an attack; ``held`` are alterations still sounding."""

    attack: int
    letter: str
    struck: tuple[int, ...]
    held: tuple[int, ...]


class Rush(Struct, frozen=True):
    """Moves of one foot that end at an attack, in the stretch that leaves the least time each."""

    attack: int
    moves: tuple[PedalMove, ...]
    time: Fraction

    @property
    def each(self) -> Fraction:
        """The time for each of them."""
        return self.time / len(self.moves)


class Plan(Struct, frozen=True):
    """The initial setting, the moves in order, and the clashes and rushes."""

    start: Setting
    moves: tuple[PedalMove, ...]
    clashes: tuple[Clash, ...]

    def settings(self, attacks: int) -> Iterator[dict[str, int]]:
        """The setting at each of so many attacks."""
        now = dict(self.start)
        for attack in range(attacks):
            now |= {move.pedal.letter: move.after for move in self.moves if move.gap == attack}
            yield dict(now)


def plan(
    attacks: Sequence[PluckedAttack],
    pedals: Sequence[Pedal],
    start: Setting | None = None,
    prepared: Fraction = _ENOUGH,
) -> Plan:
    """Plan the pedals of a passage from its spelling.

    A pedal may move from the last attack on its old setting to the first on the new one. It
    moves as late as that allows, unless an earlier gap is freer: no plan has less of several
    pedals for one foot in short gaps. ``start`` is a setting known before, with the time
    ``prepared`` from there to the first attack; other letters begin as they are first needed,
    and those that nothing needs stand natural.
    """
    known = dict(start or {})
    clashes: list[Clash] = []
    moves: list[PedalMove] = []
    for pedal in pedals:
        uses = _uses(attacks, pedal.letter, clashes)
        first = uses[0][1] if uses else 0
        now, last = known.setdefault(pedal.letter, first), -1
        for attack, alteration in uses:
            if alteration != now:
                moves.append(PedalMove(pedal, now, alteration, last + 1, attack, attack))
            now, last = alteration, attack
    gaps = [prepared]
    gaps += [attacks[n].onset - attacks[n - 1].onset for n in range(1, len(attacks))]
    spread: list[PedalMove] = []
    for foot in dict.fromkeys(pedal.foot for pedal in pedals):
        spread += _spread([move for move in moves if move.pedal.foot == foot], gaps)
    order = [pedal.letter for pedal in pedals]
    spread.sort(key=lambda move: (move.gap, order.index(move.pedal.letter)))
    clashes.sort(key=lambda clash: clash.attack)
    return Plan(known, tuple(spread), tuple(clashes))


def _uses(
    attacks: Sequence[PluckedAttack], letter: str, clashes: list[Clash]
) -> list[tuple[int, int]]:
    """The attacks on strings of a letter with the alteration for each; clashes are noted.

    In a clash the pedal is assumed to keep its position, if one of the notes needs it.
    """
    uses: list[tuple[int, int]] = []
    sounding: list[Sounding] = []
    for place, attack in enumerate(attacks):
        notes = [note for note in attack.notes if note.letter == letter]
        if not notes:
            continue
        struck = {note.alteration for note in notes}
        sounding = [note for note in sounding if note.end > attack.onset]
        held = {note.alteration for note in sounding} - struck
        if len(struck) > 1 or held:
            clashes.append(Clash(place, letter, tuple(sorted(struck)), tuple(sorted(held))))
        kept = uses[-1][1] if uses and uses[-1][1] in struck else min(struck, key=abs)
        uses.append((place, kept))
        sounding += notes
    return uses


# ------------------------------------------------------------------ spread over gaps


def _spread(moves: Sequence[PedalMove], gaps: Sequence[Fraction]) -> list[PedalMove]:
    """Move the pedals of one foot away from gaps that are crowded for their length."""
    loads = _Loads(moves, gaps)
    while sum(loads.ease(gap) for gap in loads.crowded()):
        pass
    return loads.moves


class _Loads:
    """Moves in gaps. What n moves cost in a gap is n squared over its length, up to enough.

    The cost is convex, so that a plan which no chain of moves into a freer gap improves is the
    best there is, as far as gaps are looked at.
    """

    def __init__(self, moves: Sequence[PedalMove], gaps: Sequence[Fraction]) -> None:
        self._gaps = gaps
        self._in: dict[int, list[PedalMove]] = defaultdict(list)
        for move in moves:
            self._in[move.gap].append(move)

    @property
    def moves(self) -> list[PedalMove]:
        """All moves with the gaps that they are in now."""
        return [move for moves in self._in.values() for move in moves]

    def crowded(self) -> list[int]:
        """The gaps that could have less in them."""
        return [gap for gap, moves in self._in.items() if moves and self._last_cost(gap) > _LEAST]

    def ease(self, gap: int) -> bool:
        """Take one move out of a gap, by way of others if need be; false if that helps nothing."""
        chain = self._chain(gap)
        for move, into in chain:
            self._in[move.gap].remove(move)
            self._in[into].append(replace(move, gap=into))
        return bool(chain)

    def _chain(self, start: int) -> list[tuple[PedalMove, int]]:
        """Moves, each into the gap that the next one leaves, that end in a cheaper gap."""
        came: dict[int, PedalMove] = {}
        waiting = deque([start])
        while waiting and len(came) < _MOST:
            for move in self._in.get(waiting.popleft(), ()):
                first = max(move.earliest, move.latest - _FARTHEST)
                for into in range(move.latest, first - 1, -1):
                    if into == start or into in came:
                        continue
                    came[into] = move
                    waiting.append(into)
                    if self._last_cost(into, more=1) < self._last_cost(start):
                        return _back_to(start, into, came)
        return []

    def _last_cost(self, gap: int, more: int = 0) -> tuple[bool, Fraction]:
        """What the last move in a gap adds to the cost; a gap of no length costs more than any."""
        count = len(self._in.get(gap, ())) + more
        length = min(self._gaps[gap], _ENOUGH)
        return (True, Fraction(count)) if length <= 0 else (False, (2 * count - 1) / length)


def _back_to(start: int, end: int, came: Mapping[int, PedalMove]) -> list[tuple[PedalMove, int]]:
    chain: list[tuple[PedalMove, int]] = []
    while end != start:
        chain.append((came[end], end))
        end = came[end].gap
    return chain[::-1]


# --------------------------------------------------------------- time for each pedal


def rushes(
    moves: Iterable[PedalMove], gaps: Sequence[Fraction], needed: Fraction
) -> Iterator[Rush]:
    """Yield for each foot and attack the stretch before it that leaves least time for each move.

    ``gaps`` are the times before each attack, in seconds; stretches with more than ``needed`` for
    each are not reported. If the moves wholly within some stretch need more than its length, the
    foot cannot make them, wherever in the stretch each is made.
    """
    times = list(accumulate(gaps, initial=Fraction(0)))
    by_foot: dict[str, list[PedalMove]] = defaultdict(list)
    for move in moves:
        by_foot[move.pedal.foot].append(move)
    for own in by_foot.values():
        inside: list[PedalMove] = []
        for attack, due in groupby(sorted(own, key=_latest), key=_latest):
            for move in due:
                insort(inside, move, key=lambda each: (-each.earliest, -each.latest))
            near = inside[:_MOST]
            spans = [times[attack + 1] - times[move.earliest] for move in near]
            least = next((n for n, m in enumerate(near, 1) if m.latest == attack), len(near))
            each, count = min((spans[n - 1] / n, n) for n in range(least, len(near) + 1))
            if each <= needed:
                yield Rush(attack, tuple(near[:count]), spans[count - 1])


def _latest(move: PedalMove) -> int:
    return move.latest
