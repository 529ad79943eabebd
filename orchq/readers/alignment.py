"""Aligns the barlines of all parts.

In many files a measure of one part lacks a rest or has one too many. The barline is common to all
parts, so each measure lasts as long as in the part where it is longest, and later events move.
Nothing moves within a measure, so that no two events come to overlap.
"""

from bisect import bisect_right
from collections.abc import Sequence
from itertools import accumulate

from msgspec import Struct
from msgspec.structs import replace

from orchq.exact import Fraction
from orchq.score import Event, Hairpin, Mark, Measure


class TimedPart(Struct, frozen=True):
    """Contents of a part that have a time of their own."""

    measures: Sequence[Measure]
    events: Sequence[Event]
    marks: Sequence[Mark]
    hairpins: Sequence[Hairpin]


def common_lengths(parts: Sequence[Sequence[Measure]]) -> list[Fraction]:
    """The length of each measure in the part where it lasts longest."""
    longest: list[Fraction] = []
    for measures in parts:
        for measure in measures:
            if measure.index == len(longest):
                longest.append(measure.length)
            elif measure.length > longest[measure.index]:
                longest[measure.index] = measure.length
    return longest


def short_measures(measures: Sequence[Measure], lengths: Sequence[Fraction]) -> list[Measure]:
    """The measures of a part that last less than in another."""
    return [measure for measure in measures if measure.length < lengths[measure.index]]


def aligned(part: TimedPart, lengths: Sequence[Fraction]) -> TimedPart:
    """The part with measures of these lengths; the part itself when it has them already."""
    if not short_measures(part.measures, lengths):
        return part
    starts = list(accumulate(lengths, initial=Fraction(0)))
    before = [measure.onset for measure in part.measures]
    delays = [start - measure.onset for start, measure in zip(starts, part.measures, strict=False)]

    def moved(time: Fraction) -> Fraction:
        return time + delays[max(bisect_right(before, time) - 1, 0)]

    def ending(time: Fraction) -> Fraction:
        """The measure of an end; one on a barline belongs to the measure before it."""
        place = max(bisect_right(before, time) - 1, 0)
        return time + delays[place - 1 if place and before[place] == time else place]

    return TimedPart(
        [
            replace(measure, onset=starts[measure.index], length=lengths[measure.index])
            for measure in part.measures
        ],
        [
            replace(event, onset=event.onset + delay)
            if (delay := delays[event.measure_index])
            else event
            for event in part.events
        ],
        [
            replace(mark, onset=mark.onset + delay)
            if (delay := delays[mark.measure_index])
            else mark
            for mark in part.marks
        ],
        [
            replace(hairpin, onset=moved(hairpin.onset), end=ending(hairpin.end))
            for hairpin in part.hairpins
        ],
    )
