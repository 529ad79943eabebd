"""From a score to its rows in every table."""

from collections.abc import Callable, Iterable, Mapping
from itertools import chain

from orchq.derive.clock import tempo_map
from orchq.derive.staves import staves_of
from orchq.knowledge import Knowledge
from orchq.score import Part, Score
from orchq.survey.bows import slur_rows, tremolo_rows
from orchq.survey.composers import composer_key, named_by_folder
from orchq.survey.hand import harmonic_rows, stop_rows
from orchq.survey.passage_rows import divisi_rows, passage_rows
from orchq.survey.pitch_rows import pitch_rows
from orchq.survey.rows import TABLES, Row, TempoKind, Work
from orchq.survey.surveyed import SurveyedStaff, kind_of
from orchq.survey.times import change_rows, leap_rows, run_rows, stop_run_rows
from orchq.survey.word_rows import word_rows

Measured = Mapping[str, tuple[Row, ...]]
"""Rows by the name of their table."""

_OF_WORKS: Mapping[str, Callable[[Iterable[SurveyedStaff]], Iterable[Row]]] = {
    "pitches": pitch_rows,
    "words": word_rows,
}
_OF_STAVES: Mapping[str, Callable[[SurveyedStaff], Iterable[Row]]] = {
    "passages": passage_rows,
    "runs": run_rows,
    "changes": change_rows,
    "slurs": slur_rows,
    "stops": stop_rows,
    "harmonics": harmonic_rows,
    "divisi": divisi_rows,
    "tremolos": tremolo_rows,
    "leaps": leap_rows,
    "double_stop_runs": stop_run_rows,
}


def measured(
    score: Score, knowledge: Knowledge, *, work: str, collection: str, folder: str = ""
) -> Measured:
    """Measure the string parts of a score.

    ``work`` and ``collection`` name its rows; ``folder`` is the one that
    may be named after its composer.
    """
    parts = [part for part in score.parts if part.instrument in knowledge.instruments]
    row = Work(
        work=work,
        composer=composer_key(score.heading.composer, folder),
        composer_name=score.heading.composer or named_by_folder(folder),
        title=score.heading.work or score.title,
        movement=score.heading.movement,
        collection=collection,
        notes=sum(part.note_count for part in parts),
        parts=len(parts),
        tempo=_best_tempo(score, parts, knowledge),
    )
    found: dict[str, tuple[Row, ...]] = {"works": (row,)}
    judged = chain.from_iterable(staves_of(score, knowledge).values())
    music = [SurveyedStaff(work, staff) for staff in judged]
    found.update((table, tuple(rows(music))) for table, rows in _OF_WORKS.items())
    for table, rows_of in _OF_STAVES.items():
        found[table] = tuple(chain.from_iterable(map(rows_of, music)))
    return {table: found[table] for table in TABLES}


def _best_tempo(score: Score, parts: Iterable[Part], knowledge: Knowledge) -> TempoKind:
    """The best that is known of the tempo anywhere in these parts."""
    clock = tempo_map(score, knowledge)
    kinds = {
        kind_of(clock.tempo(event.onset))
        for part in parts
        for event in part.events
        if not event.cue
    }
    ranked: tuple[TempoKind, ...] = ("marked", "assumed", "none")
    return next((kind for kind in ranked if kind in kinds), "none")
