"""Why a shape is as hard or as easy as it is, as codes and in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from orchq.derive.hand.effort import Posture
from orchq.derive.hand.fingering import Fit, Layout, Stopped, neighbours
from orchq.derive.hand.geometry import span_mm
from orchq.derive.hand.grades import Grade
from orchq.derive.hand.model import HandModel

ReasonCode = Literal[
    "too-many-notes",
    "below-lowest-string",
    "above-fingerboard",
    "one-string-for-two",
    "strings-apart",
    "out-of-reach",
    "stop-count",
    "beyond-reach",
    "crossed-fingers",
    "cramped-fingers",
    "hand-must-move",
    "stretched",
    "high-on-string",
    "reaches-over",
    "barred",
    "exposed-interval",
    "many-stopped",
    "all-open",
    "unison-with-open-string",
    "part-open",
    "lies-well",
]

PHYSICAL: frozenset[ReasonCode] = frozenset(
    {"too-many-notes", "below-lowest-string", "one-string-for-two"}
)
"""Codes that follow from the strings alone, whoever the player is."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason: a code, its words, and the IRIs of the limits it rests on."""

    code: ReasonCode
    text: str
    limits: tuple[str, ...] = ()

    @property
    def physical(self) -> bool:
        """Whether the strings alone decide it."""
        return self.code in PHYSICAL


def failure(
    model: HandModel,
    pitches: tuple[int, ...],
    layouts: Sequence[Layout],
    *,
    bowed: bool,
) -> Reason:
    """Say why no fingering exists; ``layouts`` are those with a string for every note."""
    if len(pitches) > len(model.strings):
        return Reason("too-many-notes", f"{len(pitches)} notes on {len(model.strings)} strings")
    if pitches[0] < min(model.strings):
        return Reason("below-lowest-string", "the lowest note lies below the lowest string")
    if layouts:
        side_by_side = [layout for layout in layouts if neighbours(layout)]
        if bowed and not side_by_side:
            # On neighbouring strings one of them would lie beyond the fingerboard.
            text = "the notes need strings that do not lie side by side"
            return Reason("strings-apart", text, model.resting_on("highest_stop"))
        closest = _closest(model, side_by_side if bowed else layouts)
        frames = tuple(frame.limit for frame in model.frames if frame.limit)
        text = f"no fingers reach: the stops lie at least {closest:.0f} mm apart along the strings"
        return Reason("out-of-reach", text, frames)
    # A note fits on every string that is no higher: with the notes in order, the one counted
    # n-th must find at least n such strings.
    for count, pitch in enumerate(pitches, start=1):
        if sum(string <= pitch for string in model.strings) < count:
            return Reason("one-string-for-two", "two of the notes lie on the same string only")
    return Reason(
        "above-fingerboard", "a note lies beyond the fingerboard", model.resting_on("highest_stop")
    )


def _closest(model: HandModel, layouts: Sequence[Layout]) -> float:
    """The least distance from the lowest to the highest stop that any layout asks for."""
    spans = []
    for layout in layouts:
        stops = [height for _, height in layout if height]
        spans.append(span_mm(model.length_mm, min(stops), max(stops)))
    return min(spans)


def troubles(
    model: HandModel,
    notes: int,
    stopped: Stopped,
    posture: Posture | None,
    fit: Fit | None,
    grade: Grade,
) -> tuple[Reason, ...]:
    """Say what makes a playable shape harder, gravest first; no posture when it is broken."""
    found: list[Reason] = []
    count = (
        ("most_notes", model.most_notes, notes),
        ("most_stopped", model.most_stopped, len(stopped)),
    )
    for field, most, given in count:
        if most is not None and given > most:
            what = "notes" if field == "most_notes" else "stopped notes"
            text = f"{given} {what} where at most {most} are allowed"
            found.append(Reason("stop-count", text, model.resting_on(field)))
    if fit is None:
        found.append(Reason("hand-must-move", "the hand has to move between the notes"))
    elif fit.frame is not None:
        frame = fit.frame
        low = "the thumb" if frame.low == "T" else f"finger {frame.low}"
        size = f"{low} and finger {frame.high} stand {fit.stretch_mm:.0f} mm apart"
        limits = (frame.limit,) if frame.limit else ()
        if fit.stretch >= model.weights.beyond_reach:
            found.append(Reason("beyond-reach", f"{size}, more than this player reaches", limits))
        else:
            found.append(Reason("stretched", f"{size}, a stretched hand", limits))
    high = stopped[-1][0] if stopped else 0
    if len(stopped) > 1 and high > model.secure_semitone and posture is not None:
        text = f"two fingers stand {high} semitones above the open string, hard to find unprepared"
        found.append(Reason("high-on-string", text, model.resting_on("secure_semitone")))
    if posture is not None and fit is not None:
        found += _hand_shape(posture, fit, grade)
    return tuple(found)


def _hand_shape(posture: Posture, fit: Fit, grade: Grade) -> list[Reason]:
    found: list[Reason] = []
    if posture.crossed:
        found.append(Reason("crossed-fingers", "two stops fall to one finger: fingers must cross"))
    if fit.cramped:
        found.append(Reason("cramped-fingers", "two fingers stand side by side at one height"))
    if posture.reach_over:
        text = "a finger on a lower string lies higher and must arch over its neighbour"
        found.append(Reason("reaches-over", text))
    if posture.stopped > 2 and grade >= Grade.USABLE:
        found.append(Reason("many-stopped", f"{posture.stopped} notes are stopped at once"))
    if fit.barred:
        across = "two strings" if fit.barred == 1 else "several strings"
        found.append(Reason("barred", f"one finger lies across {across}"))
    if posture.exposed and grade == Grade.USABLE and not found:
        found.append(Reason("exposed-interval", "a stopped fourth or fifth shows every fault"))
    return found


def merits(model: HandModel, layout: Layout) -> tuple[Reason, ...]:
    """Say what makes a shape easier or better in sound, if anything does."""
    opened = [string for string, height in layout if height == 0]
    if len(opened) == len(layout):
        return (Reason("all-open", "open strings only"),)
    sounds = [model.strings[string] + height for string, height in layout]
    if any(sounds.count(model.strings[string]) > 1 for string in opened):
        return (Reason("unison-with-open-string", "a stopped note doubles an open string"),)
    if opened:
        return (Reason("part-open", "an open string leaves fingers free"),)
    return ()
