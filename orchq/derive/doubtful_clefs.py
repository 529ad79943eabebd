"""Treble clefs that may be meant an octave lower, as in older scores."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import groupby

from msgspec.structs import replace

from orchq.derive.placed import Placed
from orchq.knowledge import Knowledge


def settled_clefs(placed: Sequence[Placed], knowledge: Knowledge) -> Iterator[Placed]:
    """Yield the events of a staff, their octave in doubt only where there is reason for it.

    The music around a passage in the treble clef shows how it is meant: it is in doubt where at
    pitch it lies more than an octave from what stands before it and after it in other clefs, so
    that an octave lower brings it nearer. Without neighbors it is read at pitch.
    """
    least = knowledge.judged("octave-in-doubt")
    runs = [list(run) for _, run in groupby(placed, key=lambda item: item.doubtful_clef)]
    for number, run in enumerate(runs):
        before = runs[number - 1][-1] if number > 0 else None
        after = runs[number + 1][0] if number + 1 < len(runs) else None
        if run[0].doubtful_clef is None or _lies_far(run, before, after, least):
            yield from run
        else:
            yield from (replace(item, doubtful_clef=None) for item in run)


def _lies_far(
    run: Sequence[Placed], before: Placed | None, after: Placed | None, least: Decimal
) -> bool:
    """Whether a passage lies farther than ``least`` semitones above each neighbour that it has."""
    leaps = [_height(run[0]) - _height(before)] if before is not None else []
    leaps += [_height(run[-1]) - _height(after)] if after is not None else []
    return bool(leaps) and all(leap > least for leap in leaps)


def _height(item: Placed) -> int:
    return min(note.pitch.midi for note in item.event.notes)
