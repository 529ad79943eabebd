"""The path of least cost over the postures of a line, and how much other paths agree with it."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import pairwise

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from orchq.derive.hand import HandModel
from orchq.derive.path.costs import OPEN_STRINGS, Terms, move_terms, posture_terms
from orchq.derive.path.moments import Moment
from orchq.derive.path.postures import Demand, Postures, table_of

_CACHE = 1 << 15
Floats = NDArray[np.float64]


class Step(Struct, frozen=True):
    """One attack of a line: what is to be taken, and when."""

    demand: Demand
    moment: Moment


class Transition(Struct, frozen=True):
    """Costs of coming from each posture to each of the next, and their Boltzmann factors."""

    costs: Floats
    factors: Floats


class Weights(Struct, frozen=True):
    """The weight of each named term, as pairs.

    ``consensus`` is the credit for agreement with other paths; ``assumed_tempo`` is the tempo in
    quarter notes per minute where a score has none; ``repeated`` is the share of what a finger
    costs that counts where notes are repeated.
    """

    terms: tuple[tuple[str, float], ...]
    consensus: float = 0.0
    assumed_tempo: float = 90.0
    repeated: float = 1.0


class PathSearch:
    """Finds paths for one hand model; reuse it, since it caches the costs of steps.

    The path chosen is the shortest one when each posture, beside its own costs and those of
    coming to it, is charged ``consensus`` times the share of all paths, weighted by the exponential
    of their negative costs, that take the notes there with other fingers, and once more for other
    strings. So a path shared by many nearly as good ones is preferred to an isolated one.
    """

    def __init__(self, model: HandModel, weights: Weights) -> None:
        self.table = table_of(model)
        self.weights = weights
        self._terms = dict(weights.terms)
        self._single = lru_cache(_CACHE)(self._posture_costs)
        self._move = lru_cache(_CACHE)(self._move_costs)
        self._reason = lru_cache(_CACHE)(self._named_costs)

    def path(self, steps: Sequence[Step]) -> list[int]:
        """Return the row of the chosen posture at every step; each step must have postures."""
        single, moves = self.charged(steps)
        return shortest(single, [move.costs for move in moves])

    def charged(self, steps: Sequence[Step]) -> tuple[list[Floats], list[Transition]]:
        """The costs of every step and move, with the charge for differing from likely paths."""
        single, moves = self.costs(steps)
        if self.weights.consensus and len(steps) > 1:
            shares = _shares(single, [move.factors for move in moves])
            charge = self.weights.consensus
            single = [
                costs + charge * (2.0 - self._agreement(step, share))
                for costs, step, share in zip(single, steps, shares, strict=True)
            ]
        return single, moves

    def alternatives(self, steps: Sequence[Step], count: int) -> list[tuple[float, list[int]]]:
        """Return ``path`` and the cheapest other ways to take the notes, no two alike in fingers.

        Each comes with its cost, the charge for differing from likely paths included, and they are
        in the order of it: ``path`` is the first. The others are chosen without that charge, since
        with it they would differ from ``path`` in hardly a note.
        """
        path = self.path(steps)
        taken = self._taken(steps, path)
        ways = self._cheapest(steps, count)
        others = [way for way in ways if self._taken(steps, way) != taken]
        single, moves = self.charged(steps)
        costs = [_cost(single, moves, way) for way in (path, *others[: count - 1])]
        return sorted(zip(costs, (path, *others), strict=False), key=lambda each: each[0])

    def _cheapest(self, steps: Sequence[Step], count: int) -> list[list[int]]:
        """The cheapest ways without the charge, the cheapest first, no two alike in fingers."""
        single, moves = self.costs(steps)
        kept = [[(float(cost), [row])] for row, cost in enumerate(single[0])]
        for place, move in enumerate(moves, start=1):
            kept = [
                self._distinct(
                    [
                        (so_far + float(move.costs[way[-1], row] + cost), [*way, row])
                        for ways in kept
                        for so_far, way in ways
                    ],
                    steps,
                    count,
                )
                for row, cost in enumerate(single[place])
            ]
        every = [way for ways in kept for way in ways]
        return [way for _, way in self._distinct(every, steps, count)]

    def _distinct(
        self, ways: list[tuple[float, list[int]]], steps: Sequence[Step], count: int
    ) -> list[tuple[float, list[int]]]:
        """The cheapest of the ways, of those with equal fingers the first."""
        found: dict[tuple[object, ...], tuple[float, list[int]]] = {}
        for cost, way in sorted(ways):
            found.setdefault(self._taken(steps, way), (cost, way))
            if len(found) == count:
                break
        return list(found.values())

    def _taken(self, steps: Sequence[Step], way: Sequence[int]) -> tuple[object, ...]:
        """How the notes are taken on a way, wherever the hand is behind open strings."""
        pairs = zip(steps, way, strict=False)
        return tuple(self.postures(step).rows[row].taken for step, row in pairs)

    def reasons(self, steps: Sequence[Step], path: Sequence[int]) -> list[dict[str, float]]:
        """Return the costs of each step of a path by name, zeros omitted."""
        results: list[dict[str, float]] = []
        before: tuple[Demand, int] | None = None
        for step, row in zip(steps, path, strict=True):
            results.append(dict(self._reason(before, step, row)))
            before = step.demand, row
        return results

    def _named_costs(
        self, before: tuple[Demand, int] | None, step: Step, row: int
    ) -> tuple[tuple[str, float], ...]:
        board, moment, postures = self.table.board, step.moment, self.postures(step)
        terms = self.posture_terms(postures, _alone(moment))
        amounts = {name: float(amount[row]) for name, amount in terms.items()}
        if before is not None:
            came = self.postures(Step(before[0], moment))
            moves = move_terms(board, came, postures, _moving(moment))
            amounts |= {name: float(amount[before[1], row]) for name, amount in moves.items()}
        costs = ((name, self._terms.get(name, 0.0) * each) for name, each in amounts.items())
        return tuple((name, cost) for name, cost in costs if cost)

    def costs(self, steps: Sequence[Step]) -> tuple[list[Floats], list[Transition]]:
        """The costs of the postures at every step, and of the moves between neighbours."""
        single = [self._single(step.demand, _alone(step.moment)) for step in steps]
        moves = [
            self._move(before.demand, now.demand, _moving(now.moment))
            for before, now in pairwise(steps)
        ]
        return single, moves

    def postures(self, step: Step) -> Postures:
        """The postures of a step; raises ``ValueError`` where there are none."""
        return self.table.at(step.demand)

    def posture_terms(self, postures: Postures, moment: Moment) -> Terms:
        """The amount of each cost of the postures; of fingers that are down already a share."""
        terms = posture_terms(self.table.board, postures, moment)
        if not moment.again or self.weights.repeated == 1.0:
            return terms
        share = self.weights.repeated
        return {
            name: amount if name in OPEN_STRINGS else share * amount
            for name, amount in terms.items()
        }

    def _agreement(self, step: Step, share: Floats) -> Floats:
        alike, lying = self.postures(step).labels
        result: Floats = alike @ share + lying @ share
        return result

    def _posture_costs(self, demand: Demand, moment: Moment) -> Floats:
        postures = self.postures(Step(demand, moment))
        return self._weigh(self.posture_terms(postures, moment))

    def _move_costs(self, before: Demand, now: Demand, moment: Moment) -> Transition:
        one, other = self.postures(Step(before, moment)), self.postures(Step(now, moment))
        costs = self._weigh(move_terms(self.table.board, one, other, moment))
        return Transition(costs, np.exp(-costs))

    def _weigh(self, terms: Mapping[str, Floats]) -> Floats:
        total: Floats = sum(
            (self._terms.get(name, 0.0) * amount for name, amount in terms.items()),
            start=np.zeros(()),
        )
        return total


def _alone(moment: Moment) -> Moment:
    """The aspects of a moment that affect the posture."""
    return moment._replace(since=0, slurred=False)


def _moving(moment: Moment) -> Moment:
    """The aspects of a moment that affect the move."""
    return moment._replace(lasts=0, runs=False, leaps=False, again=False)


def _cost(single: Sequence[Floats], moves: Sequence[Transition], way: Sequence[int]) -> float:
    """The sum of the costs along a way."""
    own = sum(float(costs[row]) for costs, row in zip(single, way, strict=True))
    return own + sum(
        float(move.costs[pair]) for move, pair in zip(moves, pairwise(way), strict=True)
    )


def shortest(single: Sequence[Floats], moves: Sequence[Floats]) -> list[int]:
    """Return the rows of the path of least cost (Viterbi); the first of equal ones."""
    best = single[0]
    back: list[NDArray[np.int64]] = []
    for costs, move in zip(single[1:], moves, strict=True):
        reached = best[:, None] + move
        came = reached.argmin(axis=0)
        back.append(came)
        best = reached[came, np.arange(len(came))] + costs
    path = [int(best.argmin())]
    for came in reversed(back):
        path.append(int(came[path[-1]]))
    return path[::-1]


def _shares(single: Sequence[Floats], factors: Sequence[Floats]) -> list[Floats]:
    """The share of all paths through each posture, weighted by exp(-cost) (forward-backward)."""
    own = [np.exp(costs.min() - costs) for costs in single]
    ahead = [own[0] / own[0].sum()]
    for here, factor in zip(own[1:], factors, strict=True):
        reached = (ahead[-1] @ factor) * here
        ahead.append(reached / reached.sum())
    behind = np.ones(len(own[-1]))
    shares = [ahead[-1]]
    for place in range(len(own) - 2, -1, -1):
        behind = factors[place] @ (behind * own[place + 1])
        behind /= behind.sum()
        share = ahead[place] * behind
        shares.append(share / share.sum())
    return shares[::-1]
