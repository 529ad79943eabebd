"""What the left hand is given: stops and harmonics."""

from bisect import bisect_right
from collections.abc import Iterator
from itertools import pairwise

from orchq.survey.rows import HarmonicRow, StopRow
from orchq.survey.surveyed import SurveyedStaff


def stop_rows(staff: SurveyedStaff) -> Iterator[StopRow]:
    """Yield the stops of a staff, each with the hand's grade."""
    onsets = [item.event.onset for item in staff.placed]
    for stop in staff.judged.stops.graded(staff.part, staff.placed, staff.judged.around.level_of):
        sonority = stop.sonority
        onset = sonority.event.onset
        place = bisect_right(onsets, onset)
        following = onsets[place] if place < len(onsets) else sonority.event.end
        dynamic, rank = staff.dynamic(sonority.in_force)
        seconds, tempo = staff.most(onset, following)
        midis = [note.pitch.midi for note in stop.notes]
        yield StopRow(
            *staff.at_mark(sonority.event, sonority.in_force),
            pitches=" ".join(note.pitch.name for note in stop.notes),
            intervals=" ".join(str(high - low) for low, high in pairwise(midis)),
            struck=not sonority.broken,
            bowed=stop.bowed,
            shared=sonority.may_divide,
            dynamic=dynamic,
            rank=rank,
            grade=stop.as_written.grade.label,
            seconds=seconds,
            tempo=tempo,
        )


def harmonic_rows(staff: SurveyedStaff) -> Iterator[HarmonicRow]:
    """Yield the harmonics of a staff whose meaning is clear."""
    for item, readings in staff.harmonics:
        for harmonic in (each.harmonic for each in readings if each.harmonic is not None):
            yield HarmonicRow(
                *staff.at(item),
                kind=harmonic.kind,
                string=harmonic.string,
                node=harmonic.partial,
                sounding=harmonic.sounding.name,
                touched=harmonic.touched.name,
            )
