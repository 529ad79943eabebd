"""The teacher's sheet assembled: what it is, where scores ask for it, exercises and the quiz."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from msgspec import Struct

from orchq.errors import OrchqError
from orchq.knowledge import Instrument, Technique
from orchq.notation import beat_name, measure_name
from orchq.questions import Graph
from orchq.questions.answers import NOTHING, cell
from orchq.report.engraved.system_drawing import Glyphs
from orchq.report.lesson.quiz import quiz
from orchq.report.lesson.register_places import measures_in_register, register_named
from orchq.report.printed_examples import example_inline
from orchq.report.sheet.sheet_tables import Citations
from orchq.report.tables import Table, TableRow
from orchq.report.web import check_installed, document
from orchq.report.wording import attribution, one_line
from orchq.score import Score
from orchq.survey import measured
from orchq.survey.rows import PassageRow

_DEFINITION = """
SELECT $thing ?text WHERE { $thing skos:definition ?text FILTER (LANG(?text) = "en") }"""
_HERE = Path(__file__).parent
_MOST_PLACES = 12
_MOST_ITEMS = 10
_HEADS = ("where", "at", "printed", "notes")


class LessonPlan(Struct, frozen=True):
    """What a lesson is about: a technique or a register, and an instrument, each by its name."""

    technique: str | None = None
    register: str | None = None
    on: str | None = None
    seed: int = 1


def lesson_page(graph: Graph, plan: LessonPlan, scores: Mapping[str, Score] | None = None) -> str:
    """Return one HTML document for a lesson; ``scores`` are those to find places in, by name.

    Without scores the places are those of the index. The quiz is the same for the same seed.
    Raises ``OrchqError`` for an unknown name, where neither or both of technique and register are
    named, and when verovio or Jinja2 is not installed.
    """
    check_installed()
    if (plan.technique is None) == (plan.register is None):
        raise OrchqError("a lesson is about a --technique or about a --register")
    on = None if plan.on is None else graph.ask.names.instrument(plan.on)
    technique, register = None, None
    if plan.technique is not None:
        technique = graph.ask.names.technique(plan.technique)
        instrument = on or _first_with(graph, technique)
        title, said = technique.label, _definition(graph, technique.iri)
    else:
        instrument, register = register_named(graph, plan.register or "", on)
        title, said = register.label, _definition(graph, register.iri)
    citations = Citations()
    glyphs = Glyphs()
    found: Iterable[TableRow] = ()
    if technique is None:
        found = _in_register(graph, instrument, register.iri, scores) if register else ()
    elif scores is None:
        found = _in_index(graph, technique, on, citations)
    else:
        found = _in_scores(graph, technique, on, scores)
    missing = "No place was found: give the sheet scores that ask for it."
    rows = tuple(found)[:_MOST_PLACES]
    places = Table("Places in scores", _HEADS, rows, "" if rows else missing, "places")
    printed = () if technique is None else tuple(graph.ask.notation(technique=technique.iri))
    practice = graph.ask.exercises(technique=None if technique is None else technique.iri)
    items = quiz(graph, instrument, technique, seed=plan.seed, most=_MOST_ITEMS)
    return document(
        _HERE / "lesson.html.jinja",
        title=title,
        definition=said,
        instrument=instrument.label,
        words=() if technique is None else _words(graph, technique),
        examples=[
            (each.title, example_inline(each, glyphs))
            for answer in printed for each in answer.examples
        ],
        wrong=[each for answer in printed for each in answer.wrong],
        places=places,
        given=scores is not None,
        exercises=practice.answers,
        caution=practice.remarks[0],
        items=[(each, citations.cite(each.evidence)) for each in items],
        seed=plan.seed,
        citations=[attribution(each, "") for each in citations.numbers],
        glyphs=glyphs.definitions(),
    )  # fmt: skip


def _first_with(graph: Graph, technique: Technique) -> Instrument:
    able = [each for each in graph.instruments.values() if technique.is_on(each)]
    if not able:
        raise OrchqError(f"no instrument of the graph has {technique.label}")
    return max(able, key=lambda each: each.standard.strings[0].pitch.midi)


def _definition(graph: Graph, iri: str) -> str:
    return next((row["text"] for row in graph.ask.select(_DEFINITION, thing=iri)), "")


def _words(graph: Graph, technique: Technique) -> list[tuple[str, str]]:
    """What prints it, in each language."""
    answers = graph.ask.terms(for_=technique.iri)
    return [
        (each.language, ", ".join((*each.forms[:4], *each.abbreviations[:2]))) for each in answers
    ]


# ------------------------------------------------------------------- places in scores


def _in_index(
    graph: Graph, technique: Technique, on: Instrument | None, citations: Citations
) -> Iterator[TableRow]:
    asked = graph.ask.examples(
        technique=technique.iri, on=None if on is None else on.iri, limit=_MOST_PLACES
    )
    for each in asked:
        work = ", ".join(filter(None, (each.composer, each.work, each.movement)))
        yield TableRow(
            (
                one_line(f"{work}: {each.place}"),
                each.at or NOTHING,
                one_line(each.printed) or NOTHING,
                cell(each.notes),
            ),
            citations.cite(each.evidence),
        )


def _in_scores(
    graph: Graph, technique: Technique, on: Instrument | None, scores: Mapping[str, Score]
) -> Iterator[TableRow]:
    """Passages under the technique, the longest first in each score, scores in turn."""
    by_score = []
    for name, score in scores.items():
        table = measured(score, graph, work=name, collection="")["passages"]
        passages = [row for row in table if isinstance(row, PassageRow)]
        wanted = [
            row for row in passages
            if row.technique == technique.slug and (on is None or row.instrument == on.slug)
        ]  # fmt: skip
        by_score.append(
            sorted(wanted, key=lambda row: (-row.notes, row.part_index, row.measure_index))
        )
    for turn in range(max(map(len, by_score), default=0)):
        for rows in by_score:
            if turn < len(rows):
                yield _passage_row(rows[turn])


def _passage_row(row: PassageRow) -> TableRow:
    measure = measure_name(row.measure, row.measure_index)
    place = f"{row.work}: {row.part}, {measure}, beat {beat_name(row.beat)}"
    cells = one_line(place), row.dynamic or NOTHING, one_line(row.text) or NOTHING, str(row.notes)
    return TableRow(cells)


def _in_register(
    graph: Graph, instrument: Instrument, register: str, scores: Mapping[str, Score] | None
) -> Sequence[TableRow]:
    return [
        TableRow((one_line(f"{name}: {place}"), NOTHING, NOTHING, str(notes)))
        for name, score in (scores or {}).items()
        for place, notes in measures_in_register(graph, score, instrument, register)
    ]
