"""Fit the weights of the left hand's path on violinists, and say how well it agrees with others.

    ORCHQ_FINGERINGS=FOLDER python tests/benchmarks/fit_fingering.py [--write ontology/measured]

FOLDER holds seven passages of the TNUA Violin Fingering Dataset (published with "Positioning
Left-hand Movement in Violin Performance", IUI 2021), each fingered by the same ten violinists. The
table gives for each passage the agreement of the path, with weights fitted on the six others, with
a player, averaged over the ten, and of the players with each other: by string and finger, and by
string alone. The weights are those of a conditional random field over the named costs, with the
place of the hand behind open strings hidden; they are drawn towards a judgement, so that what the
passages say little about stays near it. --write writes the weights fitted on all passages.
"""

import csv
import os
import sys
from collections import Counter
from dataclasses import dataclass
from difflib import SequenceMatcher
from importlib.metadata import version
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np

from orchq.derive.hand import hand_model
from orchq.derive.path.costs import move_terms, posture_terms
from orchq.derive.path.moments import Moment, time_class
from orchq.derive.path.postures import OPEN, Printed
from orchq.derive.path.search import PathSearch, Step, Weights, _alone, _moving, shortest
from orchq.knowledge import load
from orchq.terms import OQ

PLAYERS = range(1, 11)
OPEN_STRINGS = {55: 3, 62: 2, 69: 1, 76: 0}
TEMPO = 92.0
DEMANDS_ALONE = {"further-note", "attack-in-haste", "bow-stroke-in-haste"}
"""Costs that bear on difficulty and on no choice."""
PRIOR = {
    "open-string": 0.3,
    "fourth-finger": 0.6,
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
    "fifth": 0.4,
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


@dataclass(frozen=True)
class Row:
    pitch: int
    start: float
    duration: float
    string: int
    position: int
    finger: int


@dataclass
class Passage:
    """A passage with what each player does: string from 0, finger, position; None if unreadable."""

    name: str
    steps: list[Step]
    players: list[list[tuple[int, int, int] | None]]


def read_passage(folder: Path, name: str) -> Passage:
    rows = {player: _rows(folder / f"vio{player}_{name}.csv") for player in PLAYERS}
    usual = Counter(tuple(row.pitch for row in each) for each in rows.values()).most_common(1)[0][0]
    first = next(each for each in rows.values() if tuple(row.pitch for row in each) == usual)
    players = []
    for each in rows.values():
        labels: list[tuple[int, int, int] | None] = [None] * len(usual)
        pitches = tuple(row.pitch for row in each)
        matcher = SequenceMatcher(None, usual, pitches, autojunk=False)
        for block in matcher.get_matching_blocks():
            for offset in range(block.size):
                labels[block.a + offset] = _label(each[block.b + offset])
        players.append(labels)
    return Passage(name, _steps(first), players)


def _rows(path: Path) -> list[Row]:
    with path.open(newline="") as file:
        return [
            Row(
                int(float(row["pitch"])),
                float(row["start"]),
                float(row["duration"]),
                int(row["string"]),
                int(row["position"]),
                int(row["finger"]),
            )
            for row in csv.DictReader(file)
        ]


def _label(row: Row) -> tuple[int, int, int] | None:
    if row.finger == 0:
        return (OPEN_STRINGS[row.pitch], OPEN, 0) if row.pitch in OPEN_STRINGS else None
    return 4 - row.string, row.finger, row.position


def _steps(rows: list[Row]) -> list[Step]:
    beat = 60.0 / TEMPO
    steps = []
    ends = [row.start + row.duration for row in rows]
    for i, row in enumerate(rows):
        since, rested = 2.0, True
        if i:
            before = rows[i - 1]
            since = row.start - before.start
            if since <= 0:
                measure = max(*ends[max(0, i - 20) : i + 20], before.start + before.duration)
                since += measure
            rested = since - before.duration > 0.2
        came = row.pitch - rows[i - 1].pitch if i else 0
        goes = rows[i + 1].pitch - row.pitch if i + 1 < len(rows) else 0
        weight = 2 if abs(row.start) < 1e-6 else int(abs(row.start - round(row.start)) < 1e-6)
        moment = Moment(
            time_class(since * beat),
            time_class(row.duration * beat),
            rested,
            False,
            weight,
            came * goes < 0,
        )
        steps.append(Step(((row.pitch,), (Printed(),)), moment))
    return steps


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
            terms = posture_terms(self.search.table.board, postures, moment)
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
        self.search = PathSearch(hand_model(knowledge, violin), Weights(()))
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

    def agreement(self, passage, w, consensus=16.0):
        self.search = PathSearch(
            self.search.table.model, Weights(tuple(zip(self.names, w, strict=False)), consensus)
        )
        path = self.search.path(passage.steps)
        labels = []
        for step, row in zip(passage.steps, path, strict=False):
            note = self.search.postures(step).rows[row].taken[0]
            labels.append((note.string, note.finger))
        return mean_agreement(labels, passage.players)


def mean_agreement(labels, players):
    """The share of notes agreed on with a player, averaged: string and finger, string alone."""
    both, string = [], []
    for player in players:
        pairs = [(a, b) for a, b in zip(labels, player, strict=False) if a and b]
        both.append(np.mean([a[:2] == b[:2] for a, b in pairs]))
        string.append(np.mean([a[0] == b[0] for a, b in pairs]))
    return float(np.mean(both)), float(np.mean(string))


def mutual_agreement(passage):
    """The same of the players with each other, averaged over all pairs."""
    pairs = [mean_agreement(a, [b]) for a, b in combinations(passage.players, 2)]
    return tuple(float(np.mean(each)) for each in zip(*pairs, strict=False))


def read_all(folder: Path) -> list[Passage]:
    names = sorted({path.stem.split("_", 1)[1] for path in folder.glob("vio1_*.csv")})
    return [read_passage(folder, name) for name in names]


HEAD = """@prefix dcterms: <http://purl.org/dc/terms/> .
@prefix oq: <https://w3id.org/orchq/> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .

# Fitted on violinists: written by tests/benchmarks/fit_fingering.py, never edited.

<https://w3id.org/orchq/ontology/measured/{name}> a owl:Ontology ;
    rdfs:label "orchq: {label}"@en ;
    dcterms:license <https://spdx.org/licenses/MIT> ;
    owl:versionIRI <https://w3id.org/orchq/{version}/ontology/measured/{name}> ;
    owl:versionInfo "{version}" .
"""
WEIGHT = """
oq:path-weight-{cost} a oq:PathWeight ;
    skos:prefLabel "weight: {words}"@en ;
    oq:weighsCost oq:path-cost-{cost} ;
    oq:weighs {weight:.2f} ;
    oq:statement "Fitted on all seven passages, each fingered by ten violinists; that it holds for other players and instruments is assumed." ;
    oq:hasBasis oq:derived ;
    oq:accordingTo oq:tnua-violin-fingering ;
    oq:locator "seven passages, ten players" .
"""  # noqa: E501
FILES = {
    "path-weights-postures": "weights of postures",
    "path-weights-shifts": "weights of shifts",
    "path-weights-fingers": "weights of crossings and fingers",
}


def write(folder: Path, fit: Fit, weights: np.ndarray) -> None:
    """Write the weights as modules of the graph, but for costs that no passage has."""
    texts = {
        name: HEAD.format(name=name, label=label, version=version("orchq"))
        for name, label in FILES.items()
    }
    met = np.abs(fit.lattice.matrix).sum(axis=1) > 0
    for place, (cost, weight) in enumerate(zip(fit.names, weights, strict=True)):
        if met[place] and cost not in DEMANDS_ALONE:
            own = "postures" if cost in fit.lattice.own else "fingers"
            file = f"path-weights-{'shifts' if cost.startswith('shift') else own}"
            texts[file] += WEIGHT.format(cost=cost, words=cost.replace("-", " "), weight=weight)
    for name, text in texts.items():
        (folder / f"{name}.ttl").write_text(text, encoding="utf-8")


def main() -> None:
    folder = Path(os.environ["ORCHQ_FINGERINGS"])
    passages = read_all(folder)
    fit = Fit(passages)
    if "--write" in sys.argv:
        write(Path(sys.argv[sys.argv.index("--write") + 1]), fit, fit.weights(passages))
        return
    print(f"{'passage':12} {'players':>12} {'path':>12} {'share':>12}")
    shares = []
    for passage in passages:
        weights = fit.weights([other for other in passages if other is not passage])
        path, players = fit.agreement(passage, weights), mutual_agreement(passage)
        share = tuple(a / b for a, b in zip(path, players, strict=True))
        shares.append(share)
        figures = " ".join(f"{a:.3f} {b:.3f} " for a, b in (players, path, share))
        print(f"{passage.name:12} {figures}", flush=True)
    both, string = np.mean(shares, axis=0)
    print(f"{'mean share':12} {'':26} {both:.3f} {string:.3f}")


if __name__ == "__main__":
    main()
