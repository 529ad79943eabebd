"""How fast notes, stops, leaps and changes follow what was before."""

from collections.abc import Iterator
from fractions import Fraction

from orchq.derive.changes import STRING_CALL, Changes
from orchq.derive.leaps import leaps, travel
from orchq.derive.rates import Rates
from orchq.survey.rows import ChangeRow, LeapRow, RunRow, StopRunRow
from orchq.survey.surveyed import SurveyedStaff, rounded
from orchq.terms import local_name, slug_of

_KINDS = {
    "PluckBowChange": "pluck-bow",
    "MuteChange": "mute",
    "TuningChange": "tuning",
    STRING_CALL: "string-call",
}
_RETAKE = "bow-return"


def run_rows(staff: SurveyedStaff) -> Iterator[RunRow]:
    """Yield the even runs of a staff."""
    rates = Rates(staff.judged.around)
    for run in (run for line in staff.lines for run in rates.runs(line)):
        assert run.stroke is not None
        seconds, tempo = staff.most(run.first.onset, run.last.onset)
        dynamic, rank = staff.dynamic(run.first.in_force)
        yield RunRow(
            *staff.at(run.first.item),
            stroke=slug_of(run.stroke),
            dynamic=dynamic,
            rank=rank,
            notes=run.count,
            notes_per_second=_rate(run.count - 1, seconds),
            seconds=seconds,
            tempo=tempo,
        )


def stop_run_rows(staff: SurveyedStaff) -> Iterator[StopRunRow]:
    """Yield the runs of double stops of a staff."""
    rates = Rates(staff.judged.around)
    for run in (run for line in staff.lines for run in rates.stop_runs(line)):
        seconds, tempo = staff.most(run.first.onset, run.last.onset)
        yield StopRunRow(
            *staff.at(run.first.item),
            stops=run.count,
            stops_per_second=_rate(run.count - 1, seconds),
            seconds=seconds,
            tempo=tempo,
        )


def leap_rows(staff: SurveyedStaff) -> Iterator[LeapRow]:
    """Yield the leaps of a staff for which the hand has to travel."""
    for before, now in (pair for line in staff.lines for pair in leaps(line, staff.knowledge)):
        hand = staff.judged.hand_of(now.in_force)
        pitches = (each.event.notes[0].pitch.midi for each in (before, now))
        distance = travel(hand, *pitches) if hand else None
        if not distance:
            continue
        seconds, tempo = staff.most(before.onset, now.onset)
        speed = _rate(distance, seconds)
        yield LeapRow(*staff.at(now.item), travel_speed=speed, seconds=seconds, tempo=tempo)


def change_rows(staff: SurveyedStaff) -> Iterator[ChangeRow]:
    """Yield the changes of the way of playing on a staff, and the bows that are taken anew."""
    for change in Changes(staff.judged.around).found(staff.placed):
        onset = change.item.event.onset
        seconds, tempo = staff.most(change.start, onset)
        yield ChangeRow(
            *staff.at(change.item),
            kind=_KINDS[change.kind],
            before=slug_of(change.before),
            into=slug_of(change.into),
            seconds=seconds,
            beats=rounded(onset - change.start),
            tempo=tempo,
        )
    for before, now, sign in (
        found for line in staff.lines for found in staff.judged.bowing.returns(line)
    ):
        seconds, tempo = staff.most(before.onset, now.onset)
        yield ChangeRow(
            *staff.at(now.item),
            kind=_RETAKE,
            before=local_name(sign),
            into=local_name(sign),
            seconds=seconds,
            beats=rounded(now.onset - before.onset),
            tempo=tempo,
        )


def _rate(count: int | Fraction, seconds: float | None) -> float | None:
    return rounded(count / seconds) if seconds else None
