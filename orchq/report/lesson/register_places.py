"""Measures of a score that lie in a register."""

from collections import defaultdict
from collections.abc import Iterator
from itertools import groupby

from orchq.derive.path import FingeredNote, fingering_of
from orchq.knowledge import Instrument, Register
from orchq.notation import measure_name
from orchq.questions import Graph
from orchq.questions.asked_line import PlacedNote
from orchq.questions.scoring_facts import scoring_facts
from orchq.questions.scoring_places import LineOnStrings, share_in
from orchq.score import Score


def register_named(graph: Graph, name: str, on: Instrument | None) -> tuple[Instrument, Register]:
    """Return the register of this name and the instrument that has it.

    Raises ``OrchqError`` when there is none.
    """
    able = graph.instruments.values() if on is None else (on,)
    known = {each.label: (instrument, each) for instrument in able for each in instrument.registers}
    return known[graph.ask.names.one_of("register", name, known)]


def measures_in_register(
    graph: Graph, score: Score, instrument: Instrument, register: str
) -> Iterator[tuple[str, int]]:
    """Yield runs of measures that lie in a register, with how many notes they have.

    Strings are those of the likeliest fingering, and a measure lies in a register by the same
    share as a line that is scored. The longest runs come first.
    """
    facts = scoring_facts(graph.ask)
    [thing] = [each for each in facts.registers if each.iri == register]
    mostly = facts.rules["mostly"].weight
    runs = []
    for part in fingering_of(score, graph):
        if part.instrument is None or part.instrument.iri != instrument.iri:
            continue
        measures: dict[int, list[FingeredNote]] = defaultdict(list)
        for note in part.notes:
            measures[note.event.measure_index].append(note)
        within = [
            index
            for index, notes in sorted(measures.items())
            if share_in(thing, LineOnStrings(instrument, _placed(instrument, notes))) >= mostly
        ]
        for _, run in groupby(enumerate(within), key=lambda each: each[1] - each[0]):
            indices = [index for _, index in run]
            first, last = measures[indices[0]][0].event, measures[indices[-1]][0].event
            names = [measure_name(e.measure_number, e.measure_index) for e in (first, last)]
            place = f"{part.name}, {' to '.join(dict.fromkeys(names))}"
            runs.append((place, sum(len(measures[index]) for index in indices)))
    yield from sorted(runs, key=lambda each: -each[1])


def _placed(instrument: Instrument, notes: list[FingeredNote]) -> tuple[PlacedNote, ...]:
    strings = {each.number: each for each in instrument.standard.strings}
    placed = []
    for each in notes:
        string = None if each.string is None else strings.get(each.string)
        placed.append(PlacedNote(each.note.pitch, string, string, float(each.length)))
    return tuple(placed)
