"""Pedals and hands on open strings as triples, over all staves of a part."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby, pairwise

from pyoxigraph import Quad

from orchq.derive.changes import open_times
from orchq.derive.circumstances import Circumstances, Fact, in_words, values_of
from orchq.derive.pedals.planning import Clash, Plan, PluckedAttack, Rush, Sounding, plan, rushes
from orchq.derive.pedals.settings import (
    Setting,
    position_in_words,
    respelled,
    spellings,
)
from orchq.derive.placed import Placed
from orchq.derive.sonorities import ARPEGGIATE, tied_ends
from orchq.exact import Fraction
from orchq.knowledge import Instrument, Pedal
from orchq.notation import Pitch, step_of
from orchq.score import Event, Note
from orchq.terms import oq

NON_ARPEGGIATE = oq("non-arpeggiate").value

_TIME_ENOUGH = Fraction(3600)


def pedal_quads(around: Circumstances, placed: Iterable[Placed]) -> Iterator[Quad]:
    """Yield the triples of clashes, rushes and notes beyond the pedals.

    ``placed`` are the events of all staves. Several players who read one part can share its
    pedals: clashes and rushes are not reported then. Grace notes are ignored, since their length
    is not printed. A setting printed before the first note is the initial one. The time for a
    pedal runs from attack to attack, as a plucked string needs the hand no longer.
    """
    pedals = around.instrument.pedals
    every = sorted(placed, key=lambda item: item.event.onset)
    groups = _attacks(every)
    if not pedals or not groups:
        return
    outside = _fixed(around.instrument)
    for items in groups:
        yield from _unsettable(items, pedals, outside)
    if around.has_several_players(groups[0][0].in_force):
        return
    ends = tied_ends(every)
    attacks = [_attack(items, pedals, outside, ends) for items in groups]
    onset = attacks[0].onset
    printed = [mark for mark in around.part.marks if mark.pedals and mark.onset <= onset]
    start = dict(printed[-1].pedals) if printed else {}
    prepared = onset - printed[-1].onset if printed else Fraction(0)
    planned = plan(attacks, pedals, start, prepared)
    bound = start.keys() | {note.letter for attack in attacks for note in attack.notes}
    settings = [
        {letter: setting[letter] for letter in bound} for setting in planned.settings(len(attacks))
    ]
    for clash in planned.clashes:
        yield from _clash(clash, groups, settings[clash.attack], pedals)
    yield from _rushes(around, planned, groups, settings, prepared)


def _attacks(placed: Iterable[Placed]) -> list[list[Placed]]:
    """The notes plucked at each time, without grace notes; ``placed`` are in time order."""
    struck = [
        item
        for item in placed
        if not item.event.grace and not all(note.tied_back for note in item.event.notes)
    ]
    return [list(group) for _, group in groupby(struck, key=lambda item: item.event.onset)]


def _struck(items: Sequence[Placed]) -> list[tuple[Note, Event]]:
    return [(note, item.event) for item in items for note in item.event.notes if not note.tied_back]


def _fixed(instrument: Instrument) -> Mapping[tuple[str, int], set[int]]:
    """The possible tunings of strings that no pedal reaches, by letter and octave."""
    found: dict[tuple[str, int], set[int]] = {}
    for tuning in (instrument.standard, *instrument.variants):
        for string in tuning.strings:
            letter, alteration, octave = string.pitch.spelling
            if string.outside_pedals:
                found.setdefault((letter, octave), set()).add(alteration)
    return found


def _attack(
    items: Sequence[Placed],
    pedals: Sequence[Pedal],
    outside: Mapping[tuple[str, int], set[int]],
    ends: Mapping[str, Fraction],
) -> PluckedAttack:
    positions = {pedal.letter: pedal.alterations for pedal in pedals}
    notes = []
    for note, event in _struck(items):
        letter, alteration, octave = note.pitch.spelling
        if alteration in positions.get(letter, ()) and (letter, octave) not in outside:
            notes.append(Sounding(letter, alteration, ends.get(note.iri, event.end)))
    return PluckedAttack(items[0].event.onset, tuple(notes))


# ------------------------------------------------------------------- what cannot be set


def _unsettable(
    items: Sequence[Placed],
    pedals: Sequence[Pedal],
    outside: Mapping[tuple[str, int], set[int]],
) -> Iterator[Quad]:
    positions = {pedal.letter: pedal.alterations for pedal in pedals}
    for item in items:
        amiss = []
        for note in item.event.notes:
            letter, alteration, octave = note.pitch.spelling
            able = outside.get((letter, octave), positions.get(letter, ()))
            if alteration not in able and not note.tied_back:
                amiss.append(note.pitch)
        if not amiss:
            continue
        fact = Fact(item.event, "unsettable", "UnsettableNotes")
        fact.say("notesSaid", " and ".join(pitch.name for pitch in amiss))
        others = [next(spellings(pitch, pedals), None) for pitch in amiss]
        fact.say("wayOut", _way_out(amiss, others))
        yield from fact.quads


def _clash(
    clash: Clash, groups: Sequence[Sequence[Placed]], setting: Setting, pedals: Sequence[Pedal]
) -> Iterator[Quad]:
    struck = _struck(groups[clash.attack])
    pitches = [note.pitch for note, _ in struck]
    own = [pitch for pitch in pitches if pitch.spelling[0] == clash.letter]
    event = next(event for note, event in struck if note.pitch in own)
    fact = Fact(event, f"clash-{clash.letter.lower()}", "PedalClash")
    positions = [position_in_words(clash.letter, each) for each in clash.held]
    held = f" while {' and '.join(positions)} still sounds" if positions else ""
    fact.say("notesSaid", " and ".join(dict.fromkeys(map(str, sorted(own)))) + held)
    fact.say("strikesTogether", len(clash.struck) > 1)
    if held:
        others = [_elsewhere(pitch, pitches, setting, pedals) for pitch in dict.fromkeys(own)]
        fact.say("wayOut", _way_out(list(dict.fromkeys(own)), others))
    else:
        whole = sorted(set(pitches))
        fact.say("wayOut", _way_out(whole, respelled(whole, pedals) or (None,)))
    yield from fact.quads


def _elsewhere(
    pitch: Pitch, among: Iterable[Pitch], setting: Setting, pedals: Sequence[Pedal]
) -> Pitch | None:
    """The pitch on another string whose pedal stands right already, or that nothing else needs."""
    busy = {other.spelling[:2] for other in among if other != pitch}
    for other in spellings(pitch, pedals):
        letter, alteration, _ = other.spelling
        if other.name == pitch.name or setting.get(letter, alteration) != alteration:
            continue
        if all(alteration == each for name, each in busy if name == letter):
            return other
    return None


def _way_out(old: Sequence[Pitch], new: Sequence[Pitch | None]) -> str:
    """The notes that change, in words: ``write Cb4 as B3``."""
    if None in new:
        return "no other spelling helps"
    pairs = zip(old, new, strict=True)
    changed = (f"{one} as {other}" for one, other in pairs if other and one.name != other.name)
    return f"write {', '.join(changed)}"


# ---------------------------------------------------------------------- time and hands


def _rushes(
    around: Circumstances,
    planned: Plan,
    groups: Sequence[Sequence[Placed]],
    settings: Sequence[Setting],
    prepared: Fraction,
) -> Iterator[Quad]:
    needed = around.first_reported("PedalTime", "shortestSeconds", groups[0][0].in_force)
    if needed is None:
        return
    onsets = [items[0].event.onset for items in groups]
    onsets.insert(0, onsets[0] - prepared)
    gaps = list(_seconds(around, onsets))
    pedals = around.instrument.pedals
    clashing = {(clash.attack, clash.letter) for clash in planned.clashes}
    moves = [m for m in planned.moves if (m.latest, m.pedal.letter) not in clashing]
    for rush in rushes(moves, gaps, needed):
        items = groups[rush.attack]
        slow = around.clock.span(onsets[rush.attack], onsets[rush.attack + 1]).slow_tempo
        letters = {m.pedal.letter for m in rush.moves if m.latest == rush.attack}
        struck = [each for each in _struck(items) if each[0].pitch.spelling[0] in letters]
        old = list(dict.fromkeys(note.pitch for note, _ in struck))
        among = [note.pitch for note, _ in _struck(items)]
        now = settings[max(rush.attack - 1, 0)]
        others = [_elsewhere(pitch, among, now, pedals) for pitch in old]
        instead = "" if None in others else f" (or {_way_out(old, others)})"
        fact = Fact(struck[0][1], f"rush-{rush.moves[0].pedal.letter.lower()}", "PedalRush")
        fact.say("secondsForEach", rush.each)
        fact.say("timeSaid", in_words(rush.each, slow))
        fact.say("atPrintedTempo", slow is None)
        fact.say("pedalsSaid", _moves_in_words(rush, pedals) + instead)
        fact.under(around.scope(items[0].in_force))
        yield from fact.quads


def _seconds(around: Circumstances, onsets: Sequence[Fraction]) -> Iterator[Fraction]:
    """The time from each place to the next at the slow end of the tempo.

    Where it is unknown, under a fermata and after the end of a movement there is enough time.
    """
    open_time = open_times(around.part)
    for start, end in pairwise(onsets):
        span = around.clock.span(start, end).most
        waits = any(start < place <= end for place in open_time)
        yield _TIME_ENOUGH if span is None or waits else span


def _moves_in_words(rush: Rush, pedals: Sequence[Pedal]) -> str:
    order = [pedal.letter for pedal in pedals]
    moves = sorted(rush.moves, key=lambda move: (move.latest, order.index(move.pedal.letter)))
    positions = ", ".join(position_in_words(move.pedal.letter, move.after) for move in moves)
    return f"{positions} with the {moves[0].pedal.foot}"


def hand_quads(around: Circumstances, placed: Iterable[Placed]) -> Iterator[Quad]:
    """Yield the triples of chords of open strings that two hands cannot take, or just can.

    ``placed`` are the events of all staves. The lower notes are the left hand's and the upper
    ones the right's, in the best distribution. Broken chords are ignored, since the hands follow
    each other up the strings, and so are chords that several players can share.
    """
    for items in _attacks(sorted(placed, key=lambda item: item.event.onset)):
        limits = around.limits("PluckingHand", items[0].in_force)
        fingers = max(map(int, values_of(limits, "mostNotesInHand")), default=None)
        reach = min(map(int, values_of(limits, "mostStringsSpanned")), default=None)
        if fingers is None or around.has_several_players(items[0].in_force):
            continue
        marks = frozenset[str]().union(*(item.event.marks for item in items))
        if ARPEGGIATE in marks:
            continue
        strings = sorted({_string(note.pitch) for note, _ in _struck(items)})
        span = _widest_hand(strings, fingers)
        if span is not None and (reach is None or span < reach):
            continue
        fact = Fact(items[0].event, "handful", "Handful")
        fact.say("pluckedTogether", len(strings))
        fact.say("isStruckAtOnce", NON_ARPEGGIATE in marks)
        if span is None:
            fact.say("handsSaid", f"{len(strings)} strings plucked together by two hands")
        else:
            fact.say("spansStrings", span)
            fact.say("handsSaid", f"one hand has to span {span} strings")
        fact.under(around.scope(items[0].in_force))
        yield from fact.quads


def _string(pitch: Pitch) -> int:
    """The place of a string among those of all letters, from the lowest up."""
    return step_of(pitch)


def _widest_hand(strings: Sequence[int], fingers: int) -> int | None:
    """How many strings the wider hand spans at best; ``None`` where fingers are too few.

    >>> _widest_hand([0, 4, 9, 20], 4), _widest_hand(range(9), 4)
    (10, None)
    """
    count = len(strings)
    spans = [
        max(_span(strings[:cut]), _span(strings[cut:]))
        for cut in range(count + 1)
        if max(cut, count - cut) <= fingers
    ]
    return min(spans, default=None)


def _span(strings: Sequence[int]) -> int:
    return strings[-1] - strings[0] + 1 if strings else 0
