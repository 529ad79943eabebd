"""The pitch touched or stopped: natural and artificial harmonics, and the plain note."""

from collections.abc import Iterator

from msgspec.structs import replace

from orchq.advice.case import Candidate, Case, remedy
from orchq.advice.edits import Edit, change_notes, change_signs, set_notes
from orchq.derive.hand import HandModel
from orchq.derive.harmonic_facts import ARTIFICIAL, NATURAL, Harmonics
from orchq.derive.harmonic_limits import HarmonicLimits, judged_limits
from orchq.derive.harmonic_words import how
from orchq.derive.harmonics import (
    IN_TUNE_CENTS,
    Harmonic,
    HarmonicGrade,
    HarmonicNotation,
    Kind,
    resolve,
    ways_to_sound,
)
from orchq.derive.noteheads import is_harmonic, shows_harmonic
from orchq.derive.states import OPEN_STRING
from orchq.notation import Pitch
from orchq.score import Note

_SIGNS = (NATURAL, ARTIFICIAL, OPEN_STRING)


@remedy("natural-harmonic")
def natural_harmonic(case: Case) -> Iterator[Candidate]:
    """A node of an open string that sounds the pitch."""
    return _as_harmonic(case, "natural")


@remedy("artificial-harmonic")
def artificial_harmonic(case: Case) -> Iterator[Candidate]:
    """A node of a stopped string that sounds the pitch."""
    return _as_harmonic(case, "artificial")


@remedy("stopped-note")
def stopped_note(case: Case) -> Iterator[Candidate]:
    """The pitch stopped in the ordinary way, instead of touched."""
    if case.tied or not is_harmonic(case.placed[case.place], case.knowledge):
        return
    for pitch in _wanted(case):
        plain = Note(case.event.notes[0].iri, pitch)
        do = f"write {pitch} as an ordinary stopped note: it need not be touched"
        yield from case.offer(do, *_rewritten(case, (plain,)))


@remedy("print-what-sounds")
def print_what_sounds(case: Case) -> Iterator[Candidate]:
    """The pitch that the touched place gives, printed as what sounds."""
    hand = _hand(case)
    notes = {note.role: note for note in case.event.notes}
    if hand is None or "touching" not in notes or "sounding" not in notes:
        return
    touched, sounding = notes["touching"], notes["sounding"]
    base = notes["base"].pitch.midi if "base" in notes else None
    meant = resolve(HarmonicNotation(base=base, touched=touched.pitch.midi), *hand)
    for pitch in dict.fromkeys(reading.sounding for reading in meant.readings):
        right = replace(sounding, pitch=pitch)

        def correct(notes: tuple[Note, ...], right: Note = right) -> tuple[Note, ...]:
            return tuple(right if note.iri == right.iri else note for note in notes)

        do = (
            f"print {pitch} as the sounding pitch instead of {sounding.pitch}: "
            f"touching {touched.pitch} gives it"
        )
        yield from case.offer(do, change_notes(case.event.iri, correct))


def _as_harmonic(case: Case, kind: Kind) -> Iterator[Candidate]:
    """Return only harmonics that speak well and in tune, on notes that leave time to place them."""
    hand = _hand(case)
    if hand is None or case.tied or _is_quick(case):
        return
    for pitch in _wanted(case):
        for way in ways_to_sound(pitch.midi, *hand):
            sure = way.verdict is HarmonicGrade.GOOD and abs(way.sounding_cents) <= IN_TUNE_CENTS
            if way.kind != kind or not sure:
                continue
            article = "a natural" if kind == "natural" else "an artificial"
            do = f"take {pitch} as {article} harmonic: {how(way, case.instrument)}"
            yield from case.offer(do, *_rewritten(case, _printed(case, way), way))


def _is_quick(case: Case) -> bool:
    """Whether the note is shorter than a harmonic among others needs."""
    item = case.placed[case.place]
    if OPEN_STRING in item.event.marks or is_harmonic(item, case.knowledge):
        return False  # it was meant to be one, or may have been
    span = case.staff.around.clock.span(case.event.onset, case.event.end)
    return span.most is not None and span.most < case.knowledge.judged("seconds-to-place-harmonic")


def _hand(case: Case) -> tuple[HandModel, HarmonicLimits] | None:
    solver = case.solver
    if solver is None:
        return None
    limits = judged_limits(case.knowledge, case.instrument, case.level, case.staff.around.trust)
    return None if limits is None else (solver.model, limits)


def _wanted(case: Case) -> list[Pitch]:
    """The pitch that is meant to sound, where the event makes one clear."""
    notes = case.event.notes
    sounding = [note.pitch for note in notes if note.role == "sounding"]
    if sounding:
        return sounding[:1]
    hand, item = _hand(case), case.placed[case.place]
    if hand is not None and is_harmonic(item, case.knowledge):
        model, limits = hand
        meant = (
            each.harmonic
            for each in Harmonics(limits, case.knowledge, case.instrument).interpreted(item, model)
        )
        pitches = [harmonic.sounding for harmonic in meant if harmonic is not None]
        if pitches or any(shows_harmonic(note) for note in notes):
            return pitches[:1]
    return [note.pitch for note in notes] if len(notes) == 1 else []


def _printed(case: Case, way: Harmonic) -> tuple[Note, ...]:
    """The notation: where to touch, over what is stopped, or with what sounds."""
    iri = case.event.iri
    touched = Note(f"{iri}.touched", way.touched, role="touching", notehead="diamond")
    if way.kind == "artificial":
        return Note(f"{iri}.base", way.base, role="base"), touched
    return touched, Note(f"{iri}.sounding", way.sounding, role="sounding")


def _rewritten(
    case: Case, notes: tuple[Note, ...], way: Harmonic | None = None
) -> tuple[Edit, Edit]:
    sign = [] if way is None else [NATURAL if way.kind == "natural" else ARTIFICIAL]
    iri = case.event.iri
    return set_notes(iri, notes), change_signs([iri], off=_SIGNS, on=sign)
