"""Seven passages that ten violinists fingered, and how far fingerings agree.

The TNUA Violin Fingering Dataset, published with "Positioning Left-hand Movement in Violin
Performance" (IUI 2021): one file for each player and passage, one row for each note.
"""

import csv
from collections import Counter
from dataclasses import dataclass
from difflib import SequenceMatcher
from itertools import combinations
from pathlib import Path

import numpy as np

from orchq.derive.path.moments import Moment, course, time_class
from orchq.derive.path.postures import OPEN, Printed
from orchq.derive.path.search import Step

PLAYERS = range(1, 11)
OPEN_STRINGS = {55: 3, 62: 2, 69: 1, 76: 0}
TEMPO = 92.0


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
            *course(came, goes),
            i > 0 and came == 0,
        )
        steps.append(Step(((row.pitch,), (Printed(),)), moment))
    return steps


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
