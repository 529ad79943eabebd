"""Harmonics: where the string is touched, which pitch sounds, and whether it is playable.

A natural harmonic touches a node of the open string, an artificial one a node of the string
shortened by a stopping finger; both are worked out from nodes, none is looked up.
"""

from collections.abc import Sequence
from enum import IntEnum
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from orchq.derive.hand import Finger, Frame, HandModel, Node, node_at, nodes, stop_mm
from orchq.derive.harmonic_limits import HarmonicLimits
from orchq.notation import Pitch

IN_TUNE_CENTS = 15
"""Cents by which a replacement may deviate from equal temperament: those of a pure third."""

Kind = Literal["natural", "artificial"]
HarmonicCode = Literal[
    "beyond-fingerboard",
    "out-of-reach",
    "beyond-reach",
    "refused",
    "disputed",
    "stretched",
    "high-partial",
    "weak-partial",
    "speaks-well",
]
ResolutionOutcome = Literal["resolved", "ambiguous", "contradiction", "no-node", "undetermined"]


class HarmonicGrade(IntEnum):
    """How well a harmonic speaks, from good to impossible."""

    GOOD = 0
    UNCERTAIN = 1
    UNRELIABLE = 2
    IMPRACTICAL = 3
    IMPOSSIBLE = 4

    @property
    def label(self) -> str:
        """The verdict in print."""
        return self.name.lower()


class Harmonic(Struct, frozen=True):
    """One harmonic on one string.

    ``string`` counts from 1, the highest; ``base`` is the note the string is shortened to, the
    open string when natural; ``touched`` is the note whose place is touched and ``sounding``
    the sounding pitch, each with its deviation from equal temperament in cents. ``reach_mm`` is
    the distance from stopping to touching finger, ``fingers`` the two that reach it, and
    ``granted_mm`` how far they reach: at rest, or at most where the harmonic lies beyond that.
    """

    kind: Kind
    string: int
    base: Pitch
    node: Node
    touched: Pitch
    touched_cents: int
    sounding: Pitch
    sounding_cents: int
    reach_mm: float = 0.0
    granted_mm: float = 0.0
    fingers: tuple[Finger, Finger] | None = None
    verdict: HarmonicGrade = HarmonicGrade.GOOD
    code: HarmonicCode = "speaks-well"
    limits: tuple[str, ...] = ()

    @property
    def partial(self) -> int:
        """The partial that sounds; 1 would be the base itself."""
        return self.node.n


class HarmonicNotation(Struct, frozen=True):
    """The printed notes of a harmonic, as sounding MIDI numbers; ``None`` if not printed.

    ``base`` is a stopped or open note under the touch, ``touched`` the diamond, ``sounding``
    the note with a small circle or in brackets; ``string`` counts from 1, the highest.
    """

    base: int | None = None
    touched: int | None = None
    sounding: int | None = None
    string: int | None = None
    kind: Kind | None = None


class Resolution(Struct, frozen=True):
    """The meaning of a notation.

    ``ambiguous``: the readings sound different pitches; ``contradiction``: what is printed as
    sounding does not come from what is stopped and touched; ``no-node``: nothing sounds there;
    ``undetermined``: too little is printed.
    """

    outcome: ResolutionOutcome
    readings: tuple[Harmonic, ...]


def natural_harmonics(
    strings: Sequence[int], highest_partial: int, *, whole_string: bool = False
) -> tuple[Harmonic, ...]:
    """Return the natural harmonics of open strings, given as MIDI numbers, highest first.

    They come string by string, by partial and from the nut; see ``nodes``. No limit is applied.
    """
    return tuple(
        _harmonic("natural", number, opened, node)
        for number, opened in enumerate(strings, start=1)
        for node in nodes(highest_partial, whole_string=whole_string)
    )


def artificial(
    stopped: int, touch: int, model: HandModel, limits: HarmonicLimits
) -> tuple[Harmonic, ...]:
    """Return the harmonic of a stopped note touched this many semitones higher, per string.

    ``stopped`` is a MIDI number. On a string whose open note it is, the harmonic is natural.
    The easiest comes first; empty when no string holds the note or no node is meant. A place
    high up on a lower string counts only where no other string has the note.
    """
    node = _meant(touch, limits)
    if node is None:
        return ()
    found = []
    strings = list(enumerate(model.strings, start=1))
    if limits.highest_on_lower is not None:
        usual = [
            (number, opened)
            for number, opened in strings
            if stopped - opened <= limits.highest_on_lower or opened == max(model.strings)
        ]
        strings = usual if any(opened <= stopped for _, opened in usual) else strings
    for number, opened in strings:
        height = stopped - opened
        if height == 0:
            plain = _harmonic("natural", number, opened, node)
            found.append(_judge_natural(plain, limits))
        elif 0 < height <= model.highest_stop:
            plain = _harmonic("artificial", number, stopped, node)
            found.append(_judge_artificial(plain, opened, model, limits))
    return tuple(sorted(found, key=_preference))


def natural_ways(
    pitch: int, strings: Sequence[int], limits: HarmonicLimits
) -> tuple[Harmonic, ...]:
    """Return every natural harmonic that sounds a pitch, the best first; no hand is needed.

    Pitch and open strings are MIDI numbers.
    """
    every = natural_harmonics(strings, limits.highest_partial, whole_string=True)
    found = (_judge_natural(each, limits) for each in every if each.sounding.midi == pitch)
    return tuple(sorted(found, key=_preference))


def ways_to_sound(pitch: int, model: HandModel, limits: HarmonicLimits) -> tuple[Harmonic, ...]:
    """Return every harmonic that sounds a pitch, given as a MIDI number, the best first.

    A natural harmonic comes before an artificial one of the same verdict.
    """
    found = [*natural_ways(pitch, model.strings, limits)]
    for node in nodes(limits.highest_partial):
        base = pitch - round(node.sound)
        touch = round(node.touch)
        if _meant(touch, limits) == node:
            over_stops = artificial(base, touch, model, limits)
            found += [each for each in over_stops if each.kind == "artificial"]
    return tuple(sorted(found, key=_preference))


def better_way(harmonic: Harmonic, model: HandModel, limits: HarmonicLimits) -> Harmonic | None:
    """Return a natural harmonic that sounds the same pitch and speaks better, if there is one.

    A natural harmonic is fuller than an artificial one of the same verdict (Berlioz, djvu/29).
    One that is out of tune by more than a pure third is no replacement.
    """
    for way in ways_to_sound(harmonic.sounding.midi, model, limits):
        if way.kind != "natural" or abs(way.sounding_cents) > IN_TUNE_CENTS:
            continue
        if harmonic.kind == "artificial" and way.verdict <= harmonic.verdict:
            return way
        if way.verdict < harmonic.verdict:
            return way
    return None


def resolve(notation: HarmonicNotation, model: HandModel, limits: HarmonicLimits) -> Resolution:
    """Return the harmonics that a notation can mean, the best first.

    Every reading agrees with all that is printed; when none does, those are given that agree
    with what is stopped and touched, and the outcome is a contradiction.
    """
    wanted = [way for way in _readings(notation, model, limits) if _agrees(way, notation)]
    sounding = [way for way in wanted if notation.sounding in (None, way.sounding.midi)]
    outcome: ResolutionOutcome = "resolved"
    if not wanted:
        outcome = "no-node" if notation.touched is not None else "undetermined"
    elif not sounding:
        outcome = "contradiction"
    elif len({way.sounding.midi for way in sounding}) > 1:
        outcome = "ambiguous"
    return Resolution(outcome, tuple(sorted(sounding or wanted, key=_preference)))


def _readings(
    notation: HarmonicNotation, model: HandModel, limits: HarmonicLimits
) -> list[Harmonic]:
    base, touched, sounding = notation.base, notation.touched, notation.sounding
    if base is not None and touched is not None:
        return list(artificial(base, touched - base, model, limits))
    if touched is not None:
        natural = [
            each
            for opened in model.strings
            for each in artificial(opened, touched - opened, model, limits)
            if each.kind == "natural"
        ]
        fits = any(each.sounding.midi == sounding for each in natural)
        if sounding is None or (fits and notation.kind != "artificial"):
            return natural
    if sounding is not None:
        return list(ways_to_sound(sounding, model, limits))
    return []


def _agrees(way: Harmonic, notation: HarmonicNotation) -> bool:
    """Whether a harmonic agrees with everything printed but what sounds."""
    return (
        notation.kind in (None, way.kind)
        and notation.string in (None, way.string)
        and notation.base in (None, way.base.midi)
        and notation.touched in (None, way.touched.midi)
    )


def _meant(touch: int, limits: HarmonicLimits) -> Node | None:
    """The node meant by a touch: among granted partials, or else among the next octave's."""
    granted = max(limits.highest_partial, limits.artificial_partial)
    return node_at(touch, granted) or node_at(touch, 2 * granted)


def _harmonic(kind: Kind, number: int, base: int, node: Node) -> Harmonic:
    touched, touched_cents = _tempered(base + node.touch)
    sounding, sounding_cents = _tempered(base + node.sound)
    return Harmonic(
        kind, number, Pitch.from_midi(base), node, touched, touched_cents, sounding, sounding_cents
    )


def _tempered(height: float) -> tuple[Pitch, int]:
    """The nearest tempered pitch and the deviation of the height from it in cents."""
    nearest = round(height)
    return Pitch.from_midi(nearest), round((height - nearest) * 100)


def _judge_natural(harmonic: Harmonic, limits: HarmonicLimits) -> Harmonic:
    if harmonic.partial <= limits.sure_partial:
        return harmonic
    field, verdict = "sure_partial", HarmonicGrade.UNCERTAIN
    if harmonic.partial > limits.highest_partial:
        field, verdict = "highest_partial", HarmonicGrade.UNRELIABLE
    return replace(harmonic, verdict=verdict, code="high-partial", limits=limits.resting_on(field))


def _judge_artificial(
    harmonic: Harmonic, opened: int, model: HandModel, limits: HarmonicLimits
) -> Harmonic:
    """Measure the reach and find the gravest objection."""
    low = harmonic.base.midi - opened
    high = low + harmonic.node.touch
    reach = stop_mm(model.length_mm, high) - stop_mm(model.length_mm, low)
    frame = _frame(model, low, reach)
    measured = replace(harmonic, reach_mm=reach)
    if high > model.highest_stop:
        board = model.resting_on("highest_stop")
        return replace(
            measured, verdict=HarmonicGrade.IMPOSSIBLE, code="beyond-fingerboard", limits=board
        )
    if frame is None:
        able = (each.widest_mm for each in model.frames if each.from_semitone <= low)
        widest = max(able, default=0.0)
        return replace(
            measured, granted_mm=widest, verdict=HarmonicGrade.IMPOSSIBLE, code="out-of-reach"
        )
    fingers: tuple[Finger, Finger] = (frame.low, frame.high)
    verdict, code, evidence = _objection(measured, frame, model, limits)
    granted = frame.reach_mm(model.level) if code == "beyond-reach" else frame.relaxed_mm
    return replace(
        measured,
        granted_mm=granted,
        fingers=fingers,
        verdict=verdict,
        code=code,
        limits=evidence,
    )


def _objection(
    harmonic: Harmonic, frame: Frame, model: HandModel, limits: HarmonicLimits
) -> tuple[HarmonicGrade, HarmonicCode, tuple[str, ...]]:
    span = (frame.limit,) if frame.limit else ()
    if limits.artificial == "refused":
        return HarmonicGrade.IMPRACTICAL, "refused", limits.resting_on("artificial")
    if harmonic.reach_mm > frame.reach_mm(model.level):
        return HarmonicGrade.IMPRACTICAL, "beyond-reach", span
    if harmonic.partial > limits.artificial_partial:
        return HarmonicGrade.UNRELIABLE, "weak-partial", limits.resting_on("artificial_partial")
    if limits.artificial == "disputed":
        return HarmonicGrade.UNCERTAIN, "disputed", limits.resting_on("artificial")
    if harmonic.reach_mm > frame.relaxed_mm:
        return HarmonicGrade.UNCERTAIN, "stretched", span
    return HarmonicGrade.GOOD, "speaks-well", ()


def _frame(model: HandModel, low: int, reach_mm: float) -> Frame | None:
    """The frame that holds this reach with least strain, the lower finger at this height."""
    able = [
        frame
        for frame in model.frames
        if frame.from_semitone <= low and reach_mm <= frame.widest_mm
    ]
    return min(able, key=lambda frame: _strain(frame, model, reach_mm), default=None)


def _strain(frame: Frame, model: HandModel, reach_mm: float) -> tuple[bool, float, float]:
    """Whether the reach is beyond the player's; how far it stretches; how well it fits."""
    stretched = max(0.0, reach_mm / frame.relaxed_mm - 1)
    return reach_mm > frame.reach_mm(model.level), stretched, abs(reach_mm - frame.relaxed_mm)


def _preference(harmonic: Harmonic) -> tuple[int, bool, int, float, int]:
    """Order: what speaks best, natural ones, low partials, small reaches, high strings."""
    stopped = harmonic.kind == "artificial"
    partial = 0 if stopped else harmonic.partial
    return harmonic.verdict, stopped, partial, harmonic.node.touch, harmonic.string
