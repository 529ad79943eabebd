"""Reasons for the grade of a shape, as codes and in words."""

from collections.abc import Iterator, Sequence
from typing import Literal

from msgspec import Struct

from orchq.derive.hand.effort import LayoutDemand
from orchq.derive.hand.finger_fits import Fit, Layout, Stopped, neighbours
from orchq.derive.hand.geometry import span_mm
from orchq.derive.hand.grades import Grade
from orchq.derive.hand.hand_frames import Frame, HandModel

ReasonCode = Literal[
    "too-many-notes",
    "below-lowest-string",
    "above-fingerboard",
    "one-string-for-two",
    "one-string-bow",
    "strings-apart",
    "out-of-reach",
    "stop-count",
    "beyond-reach",
    "crossed-fingers",
    "cramped-fingers",
    "hand-must-move",
    "set-anew",
    "stretched",
    "high-on-string",
    "over-barre",
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
    {"too-many-notes", "below-lowest-string", "one-string-for-two", "one-string-bow"}
)
"""Codes that follow from the strings alone, whoever the player is."""


class Reason(Struct, frozen=True):
    """One reason: a code, its words, and the IRIs of the limits it rests on."""

    code: ReasonCode
    text: str
    limits: tuple[str, ...] = ()

    @property
    def physical(self) -> bool:
        """Whether the strings alone decide it."""
        return self.code in PHYSICAL


_Weighed = tuple[float, Reason]
"""A reason with what it adds to the effort."""


def failure(
    model: HandModel,
    pitches: tuple[int, ...],
    layouts: Sequence[Layout],
    *,
    bowed: bool,
) -> Reason:
    """Return why no fingering exists; ``layouts`` are those with a string for every note."""
    if len(pitches) > len(model.strings):
        return Reason("too-many-notes", f"{len(pitches)} notes on {len(model.strings)} strings")
    if pitches[0] < min(model.strings):
        return Reason("below-lowest-string", "the lowest note lies below the lowest string")
    if bowed and model.one_string_bow and len(pitches) > 1:
        return Reason("one-string-bow", "the bow sounds one string at a time")
    if layouts:
        side_by_side = [layout for layout in layouts if neighbours(layout)]
        if bowed and not side_by_side:
            # On neighbouring strings one of them would lie beyond the fingerboard.
            text = "the notes need strings that are not adjacent"
            return Reason("strings-apart", text, model.resting_on("highest_stop"))
        closest = _closest(model, side_by_side if bowed else layouts)
        frames = tuple(frame.limit for frame in model.frames if frame.limit)
        widest = max(frame.widest_mm for frame in model.frames)
        if closest <= widest:
            text = "no fingering exists: the stops get in each other's way"
        else:
            apart = f"the stops lie at least {closest:.0f} mm apart"
            text = f"{apart}, the widest hand reaches {widest:.0f} mm"
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
    posture: LayoutDemand | None,
    fit: Fit | None,
    grade: Grade,
) -> tuple[Reason, ...]:
    """Return what makes a playable shape harder, gravest first; no posture when it is broken.

    What adds most to the effort is the gravest; a shape that is hard has a reason.
    """
    found = [*_counts(model, notes, stopped)]
    if fit is None:
        reason = Reason("hand-must-move", "the hand has to move between the notes")
        found.append((model.weights.shift, reason))
    elif fit.frame is not None:
        found.append((fit.stretch, _stretch(model, fit, fit.frame)))
    if posture is not None and fit is not None:
        found += _hand_shape(model, posture, fit, grade)
    found += _height(model, stopped, found, grade, together=posture is not None)
    if posture is not None and posture.exposed and grade == Grade.USABLE and not found:
        found.append(
            (
                0.0,
                Reason(
                    "exposed-interval",
                    "a stopped fourth or fifth exposes every fault of intonation",
                ),
            )
        )
    found.sort(key=lambda pair: -pair[0])
    return tuple(reason for _, reason in found)


def set_anew(model: HandModel, notes: int, stopped: Stopped) -> tuple[Reason, ...]:
    """Return what makes a chord in two pairs hard."""
    text = "the chord is broken in two pairs, with fingers set anew between them"
    counts = (reason for _, reason in _counts(model, notes, stopped))
    return (*counts, Reason("set-anew", text))


def _counts(model: HandModel, notes: int, stopped: Stopped) -> Iterator[_Weighed]:
    count = (
        ("most_notes", model.most_notes, notes),
        ("most_stopped", model.most_stopped, len(stopped)),
    )
    for field, most, given in count:
        if most is not None and given > most:
            what = "notes" if field == "most_notes" else "stopped notes"
            text = f"{given} {what} where at most {most} are allowed"
            reason = Reason("stop-count", text, model.resting_on(field))
            yield model.weights.beyond_count, reason


def _stretch(model: HandModel, fit: Fit, frame: Frame) -> Reason:
    low = "the thumb" if frame.low == "T" else f"finger {frame.low}"
    size = f"{low} and finger {frame.high} stand {fit.stretch_mm:.0f} mm apart"
    limits = (frame.limit,) if frame.limit else ()
    if fit.stretch >= model.weights.beyond_reach:
        reach = f"this player reaches {frame.reach_mm(model.level):.0f} mm"
        return Reason("beyond-reach", f"{size}, {reach}", limits)
    at_rest = f"more than the {frame.relaxed_mm:.0f} mm of a hand at rest"
    return Reason("stretched", f"{size}, {at_rest}", limits)


def _height(
    model: HandModel,
    stopped: Stopped,
    others: Sequence[_Weighed],
    grade: Grade,
    *,
    together: bool,
) -> Iterator[_Weighed]:
    """The height as a reason: above the secure one, or where no other reason weighs as much."""
    if not stopped:
        return
    top = stopped[-1][0]
    size = top / model.secure_semitone - model.weights.usable_from
    insecure = together and len(stopped) > 1 and top > model.secure_semitone
    if insecure or (grade >= Grade.HARD and size >= max((each for each, _ in others), default=0)):
        what = f"{top} semitones above the open string, hard to find unprepared"
        if together and len(stopped) > 1:
            limits = model.resting_on("secure_semitone") if insecure else ()
            yield size, Reason("high-on-string", f"fingers stand together up to {what}", limits)
        else:
            yield size, Reason("high-on-string", f"a finger stands {what}")


def _hand_shape(
    model: HandModel, posture: LayoutDemand, fit: Fit, grade: Grade
) -> Iterator[_Weighed]:
    weights = model.weights
    if posture.crossed:
        reason = Reason("crossed-fingers", "two stops fall to one finger: fingers must cross")
        yield weights.crossed, reason
    if fit.cramped:
        yield (
            weights.cramped,
            Reason("cramped-fingers", "two fingers stand side by side at one height"),
        )
    if fit.over_barre:
        text = "a finger must arch over another that lies flat across strings"
        yield weights.over_barre, Reason("over-barre", text)
    if posture.reach_over:
        text = "a finger on a lower string lies higher and must arch over its neighbour"
        yield posture.reach_over, Reason("reaches-over", text)
    if posture.stopped > 2 and grade >= Grade.USABLE:
        text = f"{posture.stopped} notes are stopped at once"
        yield weights.stopped_notes(posture.stopped), Reason("many-stopped", text)
    if fit.barred:
        across = "two strings" if fit.barred == 1 else "several strings"
        yield weights.barred, Reason("barred", f"one finger lies across {across}")


def merits(model: HandModel, layout: Layout) -> tuple[Reason, ...]:
    """Return what makes a shape easier or better in sound, if anything does."""
    opened = [string for string, height in layout if height == 0]
    if len(opened) == len(layout):
        return (Reason("all-open", "open strings only"),)
    sounds = [model.strings[string] + height for string, height in layout]
    if any(sounds.count(model.strings[string]) > 1 for string in opened):
        return (Reason("unison-with-open-string", "a stopped note doubles an open string"),)
    if opened:
        return (Reason("part-open", "an open string leaves fingers free"),)
    return ()
