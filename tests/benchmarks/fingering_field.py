"""A conditional random field over the costs of the left hand's path, fitted on players.

The place of the hand behind open strings and behind a fourth finger in the middle of a string is
hidden: it is the likeliest under the weights, found anew in every round. The weights are drawn
towards a judgement.
"""

from itertools import pairwise

import numpy as np
from msgspec.structs import replace
from violinists import Passage, mean_agreement

from orchq.derive.hand import hand_model
from orchq.derive.path import path_weights
from orchq.derive.path.board import OCTAVE
from orchq.derive.path.costs import move_terms, posture_terms
from orchq.derive.path.moments import Moment
from orchq.derive.path.search import PathSearch, _alone, _moving, shortest
from orchq.knowledge import load
from orchq.terms import OQ

FOURTH = 4
PRIOR = {
    "open-string": 0.3,
    "fourth-finger": 0.6,
    "fourth-finger-at-octave": -0.5,
    "fourth-finger-reaching-octave": -2.0,
    "half-position": 0.8,
    "second-position": 0.4,
    "third-position": 0.2,
    "fourth-position": 0.5,
    "fifth-position": 0.6,
    "high-position": 0.5,
    "altered-degree": 2.0,
    "reach-forward": 2.5,
    "reach-back": 2.5,
    "stop-stretch": 1.0,
    "shift": 1.5,
    "shift-distance": 0.3,
    "shift-in-haste": 0.5,
    "shift-distance-in-haste": 0.5,
    "shift-under-slur": 0.4,
    "crossing-under-slur": 0.3,
    "shift-after-rest": -0.5,
    "crossing": 1.0,
    "crossing-over-string": 0.3,
    "crossing-over-string-in-haste": 0.7,
    "crossing-after-rest": -0.5,
    "hop": 0.6,
    "hop-in-haste": 1.0,
    "fifth": 0.8,
    "slide": 2.0,
    "slide-by-semitone": 1.0,
    "thumb": 1.5,
    "slide-by-semitone-in-haste": 1.0,
    "refingered": 1.0,
    "stretch": 1.2,
    "stretch-in-haste": 1.0,
    "fingers-out-of-order": 1.5,
    "fingers-side-by-side": 1.0,
    "shift-to-open-string": 0.5,
}


class Lattice:
    """The costs of a passage as sums of terms, for all weights at once."""

    def __init__(self, search: PathSearch, passages: list[Passage]) -> None:
        self.names: list[str] = []
        self.search = search
        self._blocks: list[np.ndarray] = []
        self._at: dict[object, tuple[int, tuple[int, ...]]] = {}
        self._size = 0
        self.own = list(posture_terms(search.table.board, *self._sample(passages)[:1], Moment()))
        self.names = [*self.own, *move_terms(search.table.board, *self._sample(passages), Moment())]
        for passage in passages:
            for step in passage.steps:
                self._single(step)
            for one, other in zip(passage.steps, passage.steps[1:], strict=False):
                self._move(one, other)
        self.matrix = np.zeros((len(self.names), self._size), dtype=np.float32)
        for place, block, first in self._blocks:
            self.matrix[first : first + len(block), place : place + block.shape[1]] = block

    def _sample(self, passages):
        steps = passages[0].steps
        return self.search.postures(steps[0]), self.search.postures(steps[1])

    def _add(self, key, terms, first, shape):
        if key not in self._at:
            block = np.array([np.ravel(value) for value in terms.values()], dtype=np.float32)
            self._at[key] = self._size, shape
            self._blocks.append((self._size, block, first))
            self._size += block.shape[1]

    def _single(self, step):
        moment = _alone(step.moment)
        postures = self.search.postures(step)
        key = step.demand, moment
        if key not in self._at:
            terms = self.search.posture_terms(postures, moment)
            self._add(key, terms, 0, (len(postures),))

    def _move(self, one, other):
        moment = _moving(other.moment)
        key = one.demand, other.demand, moment
        if key not in self._at:
            a, b = self.search.postures(one), self.search.postures(other)
            terms = move_terms(self.search.table.board, a, b, moment)
            self._add(key, terms, len(self.own), (len(a), len(b)))

    def keys(self, passage):
        steps = passage.steps
        single = [self._at[s.demand, _alone(s.moment)] for s in steps]
        moves = [self._at[a.demand, b.demand, _moving(b.moment)] for a, b in pairwise(steps)]
        return single, moves


class Fit:
    """Fits weights on passages."""

    def __init__(self, passages: list[Passage], pull: float = 16.0) -> None:
        knowledge = load()
        violin = knowledge.instruments[OQ + "violin"]
        settings = path_weights(knowledge, violin)
        self.settings = replace(settings, terms=())
        self.search = PathSearch(hand_model(knowledge, violin), self.settings)
        self.passages = passages
        self.lattice = Lattice(self.search, passages)
        self.names = self.lattice.names
        self.prior = np.array([PRIOR.get(name, 0.0) for name in self.names])
        self.pull = pull
        self.keys = {p.name: self.lattice.keys(p) for p in passages}
        self.masks = {p.name: self._masks(p) for p in passages}

    def _masks(self, passage):
        masks = []
        for player in passage.players:
            row = []
            for step, label in zip(passage.steps, player, strict=False):
                postures = self.search.postures(step)
                mask = np.ones(len(postures), bool)
                if label:
                    told = (postures.lone_string == label[0]) & (postures.lone_finger == label[1])
                    there = told & (postures.place == label[2]) if label[2] else told
                    if label[1] == FOURTH and (told & (postures.lone_height == OCTAVE)).any():
                        there = told  # the harmonic may be reached from the position below
                    mask = there if there.any() else told if told.any() else mask
                row.append(mask)
            masks.append(row)
        return masks

    def costs(self, passage, flat):
        single, moves = self.keys[passage.name]
        own = [flat[at : at + shape[0]] for at, shape in single]
        way = [flat[at : at + shape[0] * shape[1]].reshape(shape) for at, shape in moves]
        return own, way

    def _gold(self, passage, flat, total):
        own, way = self.costs(passage, flat)
        single, moves = self.keys[passage.name]
        share = 1.0 / len(passage.players)
        for masks in self.masks[passage.name]:
            path = shortest([np.where(m, c, 1e4) for m, c in zip(masks, own, strict=False)], way)
            for (at, _), row in zip(single, path, strict=False):
                total[at + row] += share
            for (at, shape), one, other in zip(moves, path, path[1:], strict=False):
                total[at + one * shape[1] + other] += share

    def _indices(self, passages: list[Passage]) -> tuple[np.ndarray, np.ndarray]:
        """Where in the flat arrays the costs of all steps stand: step by passage by posture.

        Behind the end of the flat arrays there are a nought, for postures that a step has not, and
        a one, for what makes no difference.
        """
        nought = self.lattice.matrix.shape[1]
        keys = [self.keys[passage.name] for passage in passages]
        steps = max(len(single) for single, _ in keys)
        most = max(shape[0] for single, _ in keys for _, shape in single)
        own = np.full((steps, len(keys), most), nought)
        way = np.full((steps - 1, len(keys), most, most), nought + 1)
        own[:, :, 0] = nought + 1
        for row, (single, moves) in enumerate(keys):
            for step, (at, (count,)) in enumerate(single):
                own[step, row, :count] = np.arange(at, at + count)
            for step, (at, (rows, columns)) in enumerate(moves):
                block = np.arange(at, at + rows * columns).reshape(rows, columns)
                way[step, row, :rows, :columns] = block
        return own, way

    def _expected(
        self, factor: np.ndarray, own_at: np.ndarray, way_at: np.ndarray
    ) -> tuple[np.ndarray, float]:
        """What the weights expect of every cost, and the logarithm of the sums over paths."""
        own, way = factor[own_at], factor[way_at]
        ahead = np.empty_like(own)
        scales = np.empty(own.shape[:2])
        alpha = own[0]
        for step, here in enumerate(own):
            if step:
                alpha = (alpha[:, None, :] @ way[step - 1])[:, 0, :] * here
            scales[step] = alpha.sum(axis=1)
            alpha = alpha / scales[step][:, None]
            ahead[step] = alpha
        behind = np.empty_like(own)
        beta = np.ones_like(own[0])
        behind[-1] = beta
        for step in range(len(own) - 2, -1, -1):
            beta = (way[step] @ (beta * own[step + 1])[:, :, None])[:, :, 0]
            beta = beta / beta.sum(axis=1, keepdims=True)
            behind[step] = beta
        shares = ahead * behind
        shares /= shares.sum(axis=2, keepdims=True)
        joint = ahead[:-1, :, :, None] * way * (behind * own)[1:, :, None, :]
        joint /= joint.sum(axis=(2, 3), keepdims=True)
        size = len(factor)
        total = np.bincount(own_at.ravel(), shares.ravel(), size)
        total += np.bincount(way_at.ravel(), joint.ravel(), size)
        return total[:-2], float(np.log(scales).sum())

    def weights(
        self, passages: list[Passage], rounds: int = 3, iterations: int = 30, rate: float = 0.1
    ) -> np.ndarray:
        w = self.prior.copy()
        first, second, count = np.zeros_like(w), np.zeros_like(w), 0
        matrix = self.lattice.matrix
        own_at, way_at = self._indices(passages)
        for _ in range(rounds):
            gold = np.zeros(matrix.shape[1])
            flat = w.astype(np.float32) @ matrix
            for passage in passages:
                self._gold(passage, flat, gold)
            for _ in range(iterations):
                flat = w.astype(np.float32) @ matrix
                factor = np.concatenate([np.exp(-flat), np.array([0, 1], np.float32)])
                expected, _ = self._expected(factor, own_at, way_at)
                difference = (gold - expected).astype(np.float32)
                gradient = matrix @ difference + self.pull * (w - self.prior)
                count += 1
                first = 0.9 * first + 0.1 * gradient
                second = 0.98 * second + 0.02 * gradient**2
                size = rate if count < 40 else rate / 2 if count < 70 else rate / 4
                w = w - size * (first / (1 - 0.9**count)) / (
                    np.sqrt(second / (1 - 0.98**count)) + 1e-8
                )
        return w

    def agreement(self, passage, w):
        terms = tuple(zip(self.names, w, strict=True))
        search = PathSearch(self.search.table.model, replace(self.settings, terms=terms))
        path = search.path(passage.steps)
        labels = []
        for step, row in zip(passage.steps, path, strict=False):
            note = search.postures(step).rows[row].taken[0]
            labels.append((note.string, note.finger))
        return mean_agreement(labels, passage.players)
