"""Signs and words that go, or that are put in: the notes stay as they are."""

from collections.abc import Iterator, Sequence
from functools import partial

from msgspec.structs import replace

from orchq.advice.case import Candidate, Case, remedy
from orchq.advice.edits import (
    change_signs,
    change_states,
    change_word,
    print_word,
    take_spans,
)
from orchq.derive.states import ARCO, DIVISI
from orchq.score import Event, State
from orchq.terms import oq

NON_VIBRATO = oq("non-vibrato").value
LOCO = oq("loco").value


@remedy("take-sign-away")
def take_sign_away(case: Case) -> Iterator[Candidate]:
    """One sign at the event, or a slur or hairpin that begins there, is left out."""
    event = case.event
    directives = case.knowledge.directives
    # a sign to pluck says how, and what a plucked note cannot do goes before it
    plucked = {s for s in event.marks if "PluckedTechnique" in directives[s].kinds}
    for sign in sorted(event.marks - plucked or event.marks):
        do = f"leave out the sign for {case.label(sign)}: nothing else needs to change"
        yield from case.offer(do, change_signs([event.iri], off=[sign]), kind=sign)
    for slur in case.part.slurs:
        if slur.first == event.iri:
            do = "leave out the slur that begins here: nothing else needs to change"
            yield from case.offer(do, take_spans([slur.iri]), kind="slur")
    for pin in case.part.hairpins:
        if event.onset <= pin.onset and pin.end <= event.end:
            do = "leave out the hairpin under the single note: nothing else needs to change"
            # Loudness was open from the hairpin on, up to the next dynamic.
            events = case.onwards(lambda item: item.in_force.dynamic is None)
            yield from case.offer(do, take_spans([pin.iri]), over=events, kind="hairpin")


@remedy("take-word-away")
def take_word_away(case: Case) -> Iterator[Candidate]:
    """One word in force is left out, over all that it governs."""
    in_force = case.in_force
    for word in sorted(in_force.techniques - case.event.marks - {ARCO}):
        yield from without_word(case, word)
    if in_force.string_call is not None:
        call = in_force.string_call
        events = case.stretch(lambda item: item.in_force.string_call == call)
        string = case.label(call).removeprefix("on ")
        do = f"leave out the call for {string}{case.until(events)}: the player chooses"
        yield from _without(case, do, call, events)
    if in_force.parts is not None:
        events = case.stretch(lambda item: item.in_force.parts == in_force.parts)
        alone = case.players == 1
        why = "no one is there to divide with" if alone else "the section plays in unison"
        do = f"leave out {case.label(DIVISI)}{case.until(events)}: {why}"
        yield from _without(case, do, DIVISI, events)


def without_word(case: Case, word: str) -> Iterator[Candidate]:
    """One word left out, over all that it governs."""
    events = case.stretch(lambda item: word in item.in_force.techniques)
    do = f"leave out {case.label(word)}{case.until(events)}: the other marks stay"
    yield from _without(case, do, word, events)


def _without(case: Case, do: str, word: str, events: Sequence[Event]) -> Iterator[Candidate]:
    mark = case.word(word)
    if mark is None and case.event.state is None:
        return

    def forget(state: State) -> State:
        return replace(
            state,
            techniques=state.techniques - {word},
            string_call=None if state.string_call == word else state.string_call,
            divisi_parts=None if word == DIVISI else state.divisi_parts,
        )

    edits = [change_states([event.iri for event in events], forget)]
    if mark is not None:
        edits.append(change_word(mark.iri, word))
    yield from case.offer(do, *edits, over=events, kind=word)


@remedy("end-string-call")
def end_string_call(case: Case) -> Iterator[Candidate]:
    """Loco at the first note that the string called for before does not have."""
    string = case.placed[case.place].leaves
    if string is not None:
        do = f"print loco here: up to this note the {string.name} string was called for"
        yield from case.offer(do, print_word(case.event, LOCO, first=True))


@remedy("print-arco")
@remedy("take-up-bow")
def take_up_bow(case: Case) -> Iterator[Candidate]:
    """Arco from the event on, or for this note alone; the shorter one first if no bow sign asks."""
    item = case.placed[case.place]
    plucked = [
        iri
        for iri in sorted(item.in_force.techniques)
        if "PluckedTechnique" in case.knowledge.directives[iri].kinds
    ]
    if item.arco_missing and item.plucked_passage is not None:
        # judged as bowed, but the pizzicato is what stands in print
        plucked.append(item.plucked_passage.technique)
    if not plucked:
        return
    pizzicato = plucked[0]
    ways = [bow_from_here(case, pizzicato), _bow_one_note(case, pizzicato)]
    wanted = item.bow_signs or any(slur.first == case.event.iri for slur in case.part.slurs)
    for way in ways if wanted else reversed(ways):
        yield from way


def bow_from_here(case: Case, pizzicato: str) -> Iterator[Candidate]:
    """Arco from the event on, as far as a plucking technique (an IRI) was in force."""
    passage = case.placed[case.place].plucked_passage
    events = case.onwards(
        lambda item: (
            item.plucked_passage is passage
            and (item.arco_missing or pizzicato in item.in_force.techniques)
        )
    )
    do = f"print arco here{case.until(events)}: the bow is needed from this note on"
    yield from case.offer(do, *case.instead(pizzicato, ARCO, events[:1]), over=events)


def _bow_one_note(case: Case, pizzicato: str) -> Iterator[Candidate]:
    do = f"print arco for this note and {case.label(pizzicato)} after it: bowed, it can sound so"
    yield from _bow_these(case, do, pizzicato, [case.event])


def bow_run(case: Case, pizzicato: str) -> Iterator[Candidate]:
    """Arco for the even notes from here on, then the plucking technique (an IRI) again."""
    events = case.onwards(
        lambda item: (
            pizzicato in item.in_force.techniques and item.event.duration == case.event.duration
        )
    )
    do = (
        f"print arco for this run{case.until(events)} and {case.label(pizzicato)} after it: "
        "bowed, it is playable at this speed"
    )
    yield from _bow_these(case, do, pizzicato, events)


def _bow_these(case: Case, do: str, pizzicato: str, events: Sequence[Event]) -> Iterator[Candidate]:
    after = case.after(events[-1])
    if after is None or pizzicato not in after.in_force.techniques:
        return
    edits = case.instead(pizzicato, ARCO, events)
    back = print_word(after.event, pizzicato, first=True)
    yield from case.offer(do, *edits, back, over=(*events, after.event))


@remedy("leave-vibrato-off")
def leave_vibrato_off(case: Case) -> Iterator[Candidate]:
    """Non vibrato on this note, then as before."""
    for iri in sorted(case.in_force.techniques - {NON_VIBRATO}):
        if "VibratoStage" not in case.knowledge.directives[iri].kinds:
            continue
        edits = list(case.instead(iri, NON_VIBRATO, [case.event]))
        after = case.after(case.event)
        again = ""
        if after is not None and iri in after.in_force.techniques:
            edits.append(print_word(after.event, iri, first=True))
            again = f", and {case.label(iri)} again after it"
        do = f"mark the note {case.label(NON_VIBRATO)}{again}: no finger can rock on it"
        yield from case.offer(do, *edits, over=(case.event, after.event if after else case.event))


@remedy("fewer-parts")
def fewer_parts(case: Case) -> Iterator[Candidate]:
    """As many parts as there are players, or else fewer."""
    parts, players = case.in_force.parts, case.players
    mark = case.word(DIVISI)
    if parts is None or mark is None:
        return
    events = case.stretch(lambda item: item.in_force.parts == parts)
    why = f"there are {players} players" if players else "a section has no more players"
    for number in range(min(parts - 1, players or parts - 1), 1, -1):
        do = f"divide into {number} parts instead of {parts}{case.until(events)}: {why}"
        yield from case.offer(
            do,
            change_word(mark.iri, DIVISI, DIVISI, number=number),
            change_states(
                [event.iri for event in events],
                partial(replace, divisi_parts=number),
            ),
            over=events,
        )
