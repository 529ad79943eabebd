"""Finger every part of a collection of scores and measure how hard the parts are.

    nice -n 15 python tests/benchmarks/corpus_paths.py SCORES [SCORES ...]

Checked of every part whose hand the graph describes: each note has string, position and finger,
or no hand takes the notes; what is printed (fingers, strings, open strings, string calls) is what
the path takes, or the note says that it departs from it. What fails is listed, with its place.

Then a table by composer and part: how many movements, the score of the median measure, of the
median movement (its hardest measure) and of the hardest movement, its grade and main demand.
Composers are folders; parts of one instrument are numbered from the top of the score.
"""

import sys
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median

import orchq
from orchq.derive.path import (
    FingeredNote,
    FingeredPart,
    PartDifficulty,
    Taking,
    difficulty_of,
    fingering_of,
)
from orchq.derive.states import called_string
from orchq.knowledge import Knowledge
from orchq.readers import MUSICXML_SUFFIXES
from orchq.score import Part
from orchq.terms import oq

OPEN_STRING = oq("open-string").value
FINGERS = ("T", "0", "1", "2", "3", "4")
SHOWN = 12


@dataclass
class Row:
    """What is known of one part of one composer's scores."""

    movements: list[float] = field(default_factory=list)
    measures: list[float] = field(default_factory=list)
    hardest: tuple[float, str] = (-1.0, "")


def lost(part: Part, fingered: FingeredPart) -> list[str]:
    """Notes to be played that the fingering does not have at all."""
    found = {each.note.iri for each in fingered.notes}
    return [
        f"{note.pitch} in m. {event.measure_number}"
        for event in part.events
        if not event.cue
        for note in event.notes
        if note.iri not in found and not note.tied_back
    ]


def contradicted(fingered: FingeredPart) -> Iterator[str]:
    """Fingers and strings printed at notes that are taken otherwise, without a word."""
    for each in fingered.notes:
        if each.string is None or each.departs:
            continue
        wrong = each.note.finger in FINGERS and each.note.finger != each.finger
        if wrong or each.note.string not in (None, each.string):
            yield f"{_said(each)} taken {each.string}/{each.finger}"


def calls_contradicted(fingered: FingeredPart, knowledge: Knowledge) -> Iterator[str]:
    """Single notes under a string call or an open string's sign that are taken otherwise."""
    instrument = fingered.instrument
    for taking in (taking for line in fingered.lines for taking in line):
        asked, posture = taking.asked, taking.posture
        if posture is None or len(asked.notes) != 1 or instrument is None or asked.departs:
            continue
        in_force, taken = asked.item.in_force, posture.taken[0]
        if OPEN_STRING in in_force.techniques and taken.height:
            yield f"{asked.notes[0].pitch} in m. {asked.event.measure_number} open, but stopped"
        if in_force.string_call is None or asked.notes[0].string:
            continue
        call = called_string(
            knowledge.directives[in_force.string_call], in_force.strings, instrument
        )
        if call is not None and in_force.strings[taken.string].iri != call.iri:
            place = f"{asked.notes[0].pitch} in m. {asked.event.measure_number}"
            yield f"{place} called on {call.name}, taken on {in_force.strings[taken.string].name}"


def part_names(parts: tuple[FingeredPart, ...]) -> dict[int, str]:
    """A name for each part by its index: the instrument, numbered where there are several."""
    labels = {p.index: p.instrument.label if p.instrument else p.name for p in parts}
    many, seen, names = Counter(labels.values()), Counter[str](), {}
    for index, label in labels.items():
        seen[label] += 1
        names[index] = f"{label} {seen[label]}" if many[label] > 1 else label
    return names


def _said(each: FingeredNote) -> str:
    printed = f"string {each.note.string or '-'}, finger {each.note.finger or '-'}"
    return f"{each.note.pitch} in m. {each.event.measure_number} printed {printed}"


def _departures(line: tuple[Taking, ...]) -> int:
    return sum(bool(taking.asked.departs) for taking in line)


def record(table: dict[tuple[str, str], Row], key: tuple[str, str], hard: PartDifficulty) -> None:
    """Add one movement to the table."""
    row, worst = table[key], hard.hardest(1)[0]
    row.movements.append(hard.score)
    row.measures += [each.score for each in hard.measures]
    why = worst.demands[0][0] if worst.demands else "nothing"
    row.hardest = max(row.hardest, (hard.score, f"{hard.grade.label}: {why}"))


def main() -> None:
    """Finger all scores, and print what fails and the table."""
    knowledge = orchq.load()
    counts, faults = Counter[str](), defaultdict[str, list[str]](list)
    table: dict[tuple[str, str], Row] = defaultdict(Row)
    grades: Counter[str] = Counter()
    spent: Counter[str] = Counter()
    files = [
        (folder, file)
        for folder in map(Path, sys.argv[1:])
        for file in sorted(folder.rglob("*"))
        if file.suffix in MUSICXML_SUFFIXES
    ]
    for folder, file in files:
        composer = file.relative_to(folder).parts[0].split(",")[0]
        clock = time.process_time()
        score = orchq.read(file, knowledge)
        spent["reading"] += time.process_time() - clock
        clock = time.process_time()
        parts = fingering_of(score, knowledge)
        spent["fingering"] += time.process_time() - clock
        clock = time.process_time()
        hard = {each.index: each for each in difficulty_of(score, knowledge)}
        spent["difficulty"] += time.process_time() - clock
        names = part_names(parts)
        for part, fingered in zip(score.parts, parts, strict=True):
            where = f"{file.stem}, {part.name}"
            if fingered.instrument is None:
                counts["parts for other instruments"] += 1
                continue
            counts["parts"] += 1
            counts["notes"] += len(fingered.notes)
            counts["notes no hand takes"] += sum(n.string is None for n in fingered.notes)
            counts["notes that depart"] += sum(each.departs for each in fingered.notes)
            counts["attacks that depart"] += sum(_departures(line) for line in fingered.lines)
            counts["fingers or strings printed"] += sum(
                n.note.finger is not None or n.note.string is not None for n in fingered.notes
            )
            counts["attacks under string calls"] += sum(
                taking.asked.item.in_force.string_call is not None
                for line in fingered.lines
                for taking in line
            )
            faults["no hand"] += [
                f"{where}: {n.note.pitch} in m. {n.event.measure_number}"
                for n in fingered.notes
                if n.string is None
            ]
            faults["lost"] += [f"{where}: {each}" for each in lost(part, fingered)]
            faults["contradicted"] += [f"{where}: {each}" for each in contradicted(fingered)]
            faults["call contradicted"] += [
                f"{where}: {each}" for each in calls_contradicted(fingered, knowledge)
            ]
            faults["departs"] += [
                f"{where}: {_said(n)} taken {n.string}/{n.finger}"
                for n in fingered.notes
                if n.departs
            ]
            if part.index in hard:
                grades[hard[part.index].grade.label] += 1
                record(table, (composer, names[part.index]), hard[part.index])
    print(f"{len(files)} scores;", ", ".join(f"{n:,} {name}" for name, n in counts.items()))
    print("seconds:", ", ".join(f"{name} {n:.0f}" for name, n in spent.items()))
    for kind, places in faults.items():
        print(f"{kind}: {len(places)}")
        for place in places[:SHOWN]:
            print("   ", place)
    print("grades of parts:", dict(grades.most_common()))
    print("composer | part | movements | median measure | median movement | hardest | why")
    for (composer, name), row in sorted(table.items()):
        middle = f"{median(row.measures):5.1f} | {median(row.movements):5.1f}"
        print(f"{composer} | {name} | {len(row.movements)} | {middle} | ", end="")
        print(f"{row.hardest[0]:5.1f} | {row.hardest[1]}")


if __name__ == "__main__":
    main()
