"""Hand models from the numbers of the graph."""

from collections.abc import Sequence
from decimal import Decimal
from typing import cast, get_args

from msgspec.structs import fields

from orchq.derive.hand.grades import EffortWeights
from orchq.derive.hand.hand_frames import FINGERS, Frame, HandModel, Level
from orchq.errors import OrchqError
from orchq.knowledge import Instrument, Knowledge, Limit
from orchq.terms import OQ, local_name

ARCO = OQ + "arco"


def hand_model(
    knowledge: Knowledge,
    instrument: Instrument,
    tuning: Sequence[int] | None = None,
    level: str = "orchestral",
    trust: str | None = None,
) -> HandModel:
    """Build the hand model of an instrument from the limits in force.

    ``tuning`` gives the open strings as MIDI numbers, highest first; without it the standard
    tuning is used. ``level`` is the name or the IRI of a level; ``trust`` the IRI of the only
    source to follow on how many notes sound together. The string length is the middle of
    those in use. For the highest stop see ``highest_stop``. Where authorities differ, the most
    generous number counts.

    Raises ``OrchqError`` when no hand stops the strings, when the graph lacks a number, and when
    the level is unknown.
    """
    if instrument.open_only:
        raise OrchqError(f"the strings of the {instrument.label} are not stopped")
    slug = local_name(level)
    if slug not in get_args(Level):
        raise OrchqError(f"{slug!r} is not a level; choose one of {', '.join(get_args(Level))}")

    def held(kind: str, technique: str | None = None) -> tuple[Limit, ...]:
        return knowledge.in_force(
            kind, instrument, technique=technique, level=OQ + slug, trust=trust
        )

    frames = held("HandFrame")
    lengths = held("StringLength")
    top, boards = highest_stop(knowledge, instrument, slug)
    secure = held("SecureHeight")
    steps = held("FingerStep")
    for name, found in (
        ("hand frame", frames),
        ("string length", lengths),
        ("end of the fingerboard", top),
        ("secure height", secure),
        ("finger step", steps),
    ):
        if not found:
            raise OrchqError(f"the graph has no {name} for {instrument.label} ({slug})")
    counts = held("StopCount")
    bowed = (*counts, *held("StopCount", ARCO))
    shortest = min(_number(limit, "shortestMillimetres") for limit in lengths)
    longest = max(_number(limit, "longestMillimetres") for limit in lengths)
    strings = tuple(tuning or (string.pitch.midi for string in instrument.standard.strings))
    return HandModel(
        strings=strings,
        length_mm=(shortest + longest) / 2,
        highest_stop=top or 0,
        frames=tuple(_frame(limit) for limit in sorted(frames, key=lambda each: each.iri)),
        secure_semitone=_most(secure, "highestSemitone") or 0,
        step_semitones=_most(steps, "semitonesPerFinger") or 1,
        level=cast(Level, slug),
        frets=instrument.frets is not None,
        one_string_bow=instrument.bows_one_string,
        most_notes=_most(counts, "mostNotes"),
        most_stopped=_most(counts, "mostStopped"),
        most_sustained=_most(bowed, "mostSustained"),
        forte_from=_most(bowed, "forteFromNotes"),
        weights=hand_weights(knowledge),
        limits=tuple(
            (field, limit.iri)
            for field, name, limits in (
                ("length_mm", "longestMillimetres", lengths),
                ("highest_stop", "highestSemitone", boards),
                ("secure_semitone", "highestSemitone", secure),
                ("step_semitones", "semitonesPerFinger", steps),
                ("most_notes", "mostNotes", counts),
                ("most_stopped", "mostStopped", counts),
                ("most_sustained", "mostSustained", bowed),
                ("forte_from", "forteFromNotes", bowed),
            )
            for limit in limits
            if name in limit.values
        ),
    )


def hand_weights(knowledge: Knowledge) -> EffortWeights:
    """Return the weights of the grades; raises ``OrchqError`` when the graph lacks one."""
    names = (field.name for field in fields(EffortWeights))
    return EffortWeights(
        **{name: float(knowledge.judged(f"hand-{name.replace('_', '-')}")) for name in names}
    )


def highest_stop(
    knowledge: Knowledge, instrument: Instrument, level: str = "orchestral"
) -> tuple[int | None, tuple[Limit, ...]]:
    """Return the highest stop in semitones above an open string, and the limits for it.

    Where no end of the fingerboard is stated it is the last fret, frets being a semitone apart;
    without frets it is unknown. ``level`` is as in ``hand_model``.
    """
    boards = knowledge.in_force("FingerboardEnd", instrument, level=OQ + local_name(level))
    return _most(boards, "highestSemitone") or instrument.frets, boards


def _frame(limit: Limit) -> Frame:
    low, _, high = str(limit.values.get("spansFingers", "")).partition("-")
    if low not in FINGERS or high not in FINGERS:
        raise OrchqError(f"{local_name(limit.iri)} does not name two fingers, such as 1-4 or T-3")
    start = limit.values.get("fromSemitone", 0)
    try:
        return Frame(
            low=low,
            high=high,
            relaxed_mm=_number(limit, "relaxedMillimetres"),
            stretched_mm=_number(limit, "stretchedMillimetres"),
            widest_mm=_number(limit, "widestMillimetres"),
            from_semitone=int(start),
            limit=limit.iri,
        )
    except ValueError as error:
        raise OrchqError(f"{local_name(limit.iri)}: {error}") from error


def _number(limit: Limit, name: str) -> float:
    value = limit.values.get(name)
    if not isinstance(value, int | Decimal):
        raise OrchqError(f"{local_name(limit.iri)} lacks a number for oq:{name}")
    return float(value)


def _most(limits: Sequence[Limit], name: str) -> int | None:
    return max((int(_number(each, name)) for each in limits if name in each.values), default=None)
