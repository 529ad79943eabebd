"""Questions about the left hand: notes at once, and harmonics."""

from typing import Literal

from msgspec import Struct

from orchq.derive.hand import Grade, Playing, solver_for
from orchq.derive.harmonics import IN_TUNE_CENTS, Harmonic, HarmonicGrade, artificial
from orchq.errors import OrchqError
from orchq.evidence import Evidence
from orchq.knowledge import Instrument
from orchq.notation import Pitch
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking, physics
from orchq.questions.judging import Hands, reason
from orchq.questions.pitch_names import parse_pitch, parse_pitches
from orchq.terms import OQ

KINDS: tuple[Literal["natural", "artificial"], ...] = ("natural", "artificial")
ARCO = OQ + "arco"
_CAUTION = "Hands differ: where a stretch is wide, ask the player, and for students the teacher."


class GripNote(Struct, frozen=True):
    """One note of a fingering: string by number and name, height in semitones and mm."""

    pitch: str
    string: int
    name: str
    finger: str | None
    semitones: int
    mm: float

    def __str__(self) -> str:
        return f"{self.pitch} {self.name}{self.finger or ('' if self.semitones else '0')}"


class Grip(Struct, frozen=True):
    """One manner of taking notes: ``fingering`` from the lowest note, empty when there is none."""

    grade: str
    fingering: tuple[GripNote, ...]
    reason: str

    def __str__(self) -> str:
        fingers = ", ".join(map(str, self.fingering))
        return "; ".join(filter(None, (self.grade, self.reason, fingers)))


class StopAnswer(Struct, frozen=True):
    """What one player can do with notes at once."""

    pitches: tuple[str, ...]
    struck: Grip
    broken: Grip
    plucked: Grip
    sustains: bool
    wants_forte: bool
    evidence: tuple[Evidence, ...]


class HarmonicAnswer(Struct, frozen=True):
    """One harmonic on one string; ``reach`` in mm and ``fingers`` are of artificial ones."""

    kind: str
    string: str
    number: int
    base: str
    touched: str
    touched_cents: int
    sounding: str
    sounding_cents: int
    partial: int
    node: str
    reach: float | None
    fingers: str | None
    speech: str
    because: str
    evidence: tuple[Evidence, ...]


def stops(
    self: Asking,
    *,
    on: str,
    pitches: str,
    level: str | None = None,
    trust: str | None = None,
) -> Answers[StopAnswer]:
    """Return whether one player can take notes at once: struck, broken or plucked, and how.

    Hands differ; the player's word, and for students the teacher's, stands above the answer.
    Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> [answer] = orchq.load().ask.stops(on="violin", pitches="G3 D4 B4 G5")
    >>> answer.struck.grade, str(answer.struck.fingering[2])
    ('easy', 'B4 A1')
    """
    instrument, notes = self.names.instrument(on), parse_pitches(pitches)
    stand = self.standpoint(level, trust)
    model = Hands(self, stand).model(instrument)
    stop = solver_for(model).solve(pitch.midi for pitch in notes)
    ordered = sorted(notes)
    manners = (stop.struck, stop.broken, stop.plucked)
    rests_on = [limit for manner in manners for reason in manner.reasons for limit in reason.limits]
    held = {
        limit.iri: limit
        for kind in ("StopCount", "HandFrame", "FingerboardEnd", "SecureHeight")
        for technique in (None, ARCO)
        for limit in self.in_force(kind, instrument, technique, stand)
    }
    if len(notes) > 1:
        rests_on += sorted(iri for iri, limit in held.items() if limit.kind == "StopCount")
    grounds = [
        physics(instrument.standard.iri, reason.text)
        for manner in manners
        for reason in manner.reasons
        if reason.physical
    ]
    answer = StopAnswer(
        tuple(pitch.name for pitch in ordered),
        _grip(stop.struck, instrument, ordered),
        _grip(stop.broken, instrument, ordered),
        _grip(stop.plucked, instrument, ordered),
        stop.sustains and stop.struck.grade is not Grade.IMPOSSIBLE,
        stop.wants_forte and stop.struck.grade is not Grade.IMPOSSIBLE,
        tuple(
            dict.fromkeys(
                (
                    *grounds,
                    *self.evidence(iri for iri in rests_on if iri in held),
                    *self.evidence_for(instrument.standard.iri),
                )
            )
        ),
    )
    hard = any(manner.grade >= Grade.HARD for manner in manners)
    parameters = {
        "on": instrument.label,
        "pitches": " ".join(answer.pitches),
        **stand.shown,
    }
    return self.answer("stops", parameters, [answer], [_CAUTION] if hard else [])


def _grip(playing: Playing, instrument: Instrument, notes: list[Pitch]) -> Grip:
    spelled = {pitch.midi: pitch.name for pitch in notes}
    strings = instrument.standard.strings
    fingering = tuple(
        GripNote(
            spelled[place.pitch],
            place.string,
            strings[place.string - 1].name,
            place.finger,
            place.semitones,
            round(place.mm, 1),
        )
        for place in playing.fingering
    )
    return Grip(playing.grade.label, fingering, playing.reason)


def harmonics(
    self: Asking,
    *,
    on: str,
    pitch: str | int,
    kind: str | None = None,
    all: bool = False,  # noqa: A002 - the word users know
    level: str | None = None,
    trust: str | None = None,
) -> Answers[HarmonicAnswer]:
    """Return every harmonic that sounds a pitch, the best first.

    ``kind`` is ``natural`` or ``artificial``; with ``all`` those are shown that no hand reaches.
    Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> for answer in orchq.load().ask.harmonics(on="violin", pitch="E6", kind="natural"):
    ...     print(answer.string, answer.touched, answer.partial, answer.speech)
    E E6 2 good
    A E5 3 good
    A E6 3 good
    """
    instrument, sounding = self.names.instrument(on), parse_pitch(pitch)
    wanted = None if kind is None else self.names.one_of("kind of harmonic", kind, KINDS)
    stand = self.standpoint(level, trust)
    hands = Hands(self, stand)
    ways = hands.harmonics(instrument, sounding, wanted)
    shown = [each for each in ways if all or each.verdict is not HarmonicGrade.IMPOSSIBLE]
    answers = [_harmonic(each, instrument, hands) for each in shown]
    remarks = []
    what = f"{wanted} harmonic" if wanted else "harmonic"
    if not ways:
        remarks = [
            f"No {what} of the {instrument.label} has {sounding} within the partials granted."
        ]
    elif len(shown) < len(ways):
        hidden = len(ways) - len(shown)
        remarks = [f"Left out because no hand reaches them: {hidden}; --all shows them."]
    parameters = {
        "on": instrument.label,
        "pitch": sounding.name,
        "kind": wanted,
        "all": all,
        **stand.shown,
    }
    return self.answer("harmonics", parameters, answers, remarks)


def replace_harmonic(
    self: Asking,
    *,
    on: str,
    stopped: str | int,
    touched: str | int,
    level: str | None = None,
    trust: str | None = None,
) -> Answers[HarmonicAnswer]:
    """Return which natural harmonics can replace an artificial one: the same pitch, in tune.

    Raises ``OrchqError`` for an unknown name, and when nothing sounds so.

    >>> import orchq
    >>> found = orchq.load().ask.replace_harmonic(on="violin", stopped="B4", touched="E5")
    >>> found[0].string, found[0].touched, found[0].sounding
    ('E', 'B5', 'B6')
    """
    instrument = self.names.instrument(on)
    base, touch = parse_pitch(stopped), parse_pitch(touched)
    stand = self.standpoint(level, trust)
    hands = Hands(self, stand)
    model, limits = hands.model(instrument), hands.limits(instrument)
    meant = artificial(base.midi, touch.midi - base.midi, model, limits)
    if not meant:
        raise OrchqError(
            f"no string of the {instrument.label} sounds when {base} is stopped and {touch} touched"
        )
    sounding = meant[0].sounding
    answers = [
        _harmonic(each, instrument, hands)
        for each in hands.harmonics(instrument, sounding, "natural")
        if abs(each.sounding_cents) <= IN_TUNE_CENTS
    ]
    remarks = [f"{base} stopped and {touch} touched sounds {sounding}."]
    if not answers:
        remarks.append("No natural harmonic sounds that, in tune and within the partials granted.")
    parameters = {
        "on": instrument.label,
        "stopped": base.name,
        "touched": touch.name,
        **stand.shown,
    }
    return self.answer("replace-harmonic", parameters, answers, remarks)


def _harmonic(harmonic: Harmonic, instrument: Instrument, hands: Hands) -> HarmonicAnswer:
    stopped = harmonic.kind == "artificial"
    string = instrument.standard.strings[harmonic.string - 1]
    return HarmonicAnswer(
        harmonic.kind,
        string.name,
        string.number,
        harmonic.base.name,
        harmonic.touched.name,
        harmonic.touched_cents,
        harmonic.sounding.name,
        harmonic.sounding_cents,
        harmonic.partial,
        str(harmonic.node),
        round(harmonic.reach_mm, 1) if stopped else None,
        "-".join(harmonic.fingers) if harmonic.fingers else None,
        harmonic.verdict.label,
        reason(harmonic),
        hands.granted(harmonic, instrument),
    )
