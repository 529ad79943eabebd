"""The question how pedals are set for a passage."""

from collections.abc import Sequence
from fractions import Fraction

from msgspec import Struct

from orchq.derive.pedals import (
    Plan,
    PluckedAttack,
    Sounding,
    plan,
    position_in_words,
    respelled,
    setting_text,
    settings_sounding,
)
from orchq.errors import OrchqError
from orchq.evidence import Evidence
from orchq.knowledge import Instrument
from orchq.notation import Pitch, parse_letters
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking
from orchq.questions.pitch_names import parse_passage


class PedalsAnswer(Struct, frozen=True):
    """Notes plucked together: what moves before them, and how all pedals stand then.

    ``problem`` is what no setting has as it is spelled; ``instead`` are the notes as they can
    be spelled, both empty where nothing is amiss.
    """

    pitches: tuple[str, ...]
    changes: tuple[str, ...]
    setting: str
    problem: str
    instead: tuple[str, ...]
    evidence: tuple[Evidence, ...]


def pedals(
    self: Asking, *, on: str, pitches: str, start: str | None = None, glissando: bool = False
) -> Answers[PedalsAnswer]:
    """Return how pedals are set for notes, and which move from each chord to the next.

    ``pitches`` are divided by bars where one follows another; ``start`` is a setting such as
    ``Db C# B E F G A``. With ``glissando`` each chord is swept over all strings. Raises
    ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> ask = orchq.load(["harp"]).ask
    >>> for answer in ask.pedals(on="harp", pitches="C4 E4 G4 | C#4 E4 G#4"):
    ...     print(answer.setting, answer.changes)
    D C B | E F G A ()
    D C# B | E F G# A ('C sharp (left foot)', 'G sharp (right foot)')
    """
    instrument, chords = self.names.instrument(on), parse_passage(pitches)
    before = _setting(start, instrument)
    wanted = [_swept(chord, instrument) if glissando else chord for chord in chords]
    planned = plan(
        [_attack(n, c, instrument) for n, c in enumerate(wanted)], instrument.pedals, before
    )
    evidence = tuple(
        item for pedal in instrument.pedals[:1] for item in self.evidence_for(pedal.iri)
    )
    settings = planned.settings(len(chords))
    answers = [
        PedalsAnswer(
            tuple(pitch.name for pitch in chord),
            _changes(planned, place),
            setting_text(setting, instrument.pedals),
            *_amiss(planned, place, chord, sounding, instrument, glissando=glissando),
            evidence,
        )
        for place, (chord, sounding, setting) in enumerate(
            zip(chords, wanted, settings, strict=True)
        )
    ]
    used = {pitch.spelling[0] for chord in wanted for pitch in chord} | before.keys()
    free = [pedal.letter for pedal in instrument.pedals if pedal.letter not in used]
    remarks = [f"Nothing here needs the pedals {', '.join(free)}."] if free else []
    if not instrument.pedals:
        answers, remarks = [], [f"The {instrument.label} has no pedals."]
    parameters = {
        "on": instrument.label,
        "pitches": " | ".join(" ".join(pitch.name for pitch in chord) for chord in chords),
        "start": start,
        "glissando": glissando,
    }
    return self.answer("pedals", parameters, answers, remarks)


def _setting(text: str | None, instrument: Instrument) -> dict[str, int]:
    if text is not None and not isinstance(text, str):
        raise OrchqError(f"a setting is written in one text, not as {text!r}")
    try:
        return parse_letters(text or "")
    except ValueError as error:
        order = " ".join(pedal.letter for pedal in instrument.pedals)
        raise OrchqError(f"{error}; the pedals are {order}") from error


def _swept(chord: Sequence[Pitch], instrument: Instrument) -> tuple[Pitch, ...]:
    """What all strings sound in a glissando over a chord; the chord itself where none has it."""
    found = settings_sounding(chord, instrument.pedals)
    return tuple(Pitch.spelled(*each, 4) for each in found[0].items()) if found else tuple(chord)


def _attack(place: int, chord: Sequence[Pitch], instrument: Instrument) -> PluckedAttack:
    """A chord that lasts until the next."""
    positions = {pedal.letter: pedal.alterations for pedal in instrument.pedals}
    spelled = [pitch.spelling for pitch in chord]
    return PluckedAttack(
        Fraction(place),
        tuple(
            Sounding(letter, alteration, Fraction(place + 1))
            for letter, alteration, _ in spelled
            if alteration in positions.get(letter, ())
        ),
    )


def _changes(planned: Plan, place: int) -> tuple[str, ...]:
    return tuple(
        f"{position_in_words(move.pedal.letter, move.after)} ({move.pedal.foot})"
        for move in planned.moves
        if move.gap == place
    )


def _amiss(
    planned: Plan,
    place: int,
    chord: Sequence[Pitch],
    sounding: Sequence[Pitch],
    instrument: Instrument,
    *,
    glissando: bool,
) -> tuple[str, tuple[str, ...]]:
    if glissando:
        swept = {pitch.midi % 12 for pitch in sounding} == {pitch.midi % 12 for pitch in chord}
        whole = swept and len(sounding) == len(instrument.pedals)
        return ("" if whole else "no setting leaves these notes alone on all strings"), ()
    positions = {pedal.letter: pedal.alterations for pedal in instrument.pedals}
    beyond = [p.name for p in chord if p.spelling[1] not in positions.get(p.spelling[0], ())]
    clashes = [
        " and ".join(position_in_words(clash.letter, each) for each in clash.struck)
        for clash in planned.clashes
        if clash.attack == place
    ]
    problems = [f"no pedal gives {', '.join(beyond)}"] if beyond else []
    problems += [f"{clash} need one pedal in two positions" for clash in clashes]
    if not problems:
        return "", ()
    other = respelled(chord, instrument.pedals)
    return "; ".join(problems), tuple(pitch.name for pitch in other or ())
