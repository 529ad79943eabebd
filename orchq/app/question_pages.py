"""Questions as forms, made from their heads, and their answers as tables with pictures."""

import shlex
from collections.abc import Iterator, Mapping, Sequence
from importlib.util import find_spec
from typing import Any
from urllib.parse import urlencode

from msgspec import Struct

from orchq.app.kept_graphs import kept_graph
from orchq.app.own_pages import own_page
from orchq.errors import OrchqError
from orchq.knowledge import Instrument
from orchq.knowledge.data_files import shipped_extensions
from orchq.notation import Pitch
from orchq.questions import Answer, Answers, Graph, Question, load_graph
from orchq.questions.head import Parameter
from orchq.report import plots
from orchq.report.answer_report import VALUE_FORMS, known_values
from orchq.report.board_plots import lies_on_board
from orchq.report.engraved.system_drawing import Glyphs
from orchq.report.sheet.sheet_tables import SheetTables
from orchq.report.sheet.staff import StaffDrawing
from orchq.report.wording import attribution, one_line

Job = Mapping[str, Any]
Message = Mapping[str, Any]

_MOST_STAVES = 40
"""Answers of one table that are drawn on a staff."""

_PREFERRED = ("pitches", "notes", "sounding", "sounds")
"""Columns of notes that are drawn rather than others."""

_CHOSEN = frozenset({"level", "source", "dynamic", "language", "instrument", "instrument-kind"})
"""Kinds of parameters whose values are few, and chosen from a list."""

_FEW = {"harmonic-kind": ("natural", "artificial")}


class FormField(Struct, frozen=True):
    """A parameter in a form: ``options`` are its values by what each is called."""

    parameter: Parameter
    value: str
    options: Sequence[tuple[str, str]]
    others: Sequence[tuple[str, str]]
    hint: str

    @property
    def chosen(self) -> bool:
        """Whether the value is one of the options, and not typed."""
        return self.parameter.kind in _CHOSEN or self.parameter.kind in _FEW


def questions(job: Job) -> Iterator[Message]:
    """The page that lists all questions."""
    every = load_graph().ask.catalogue()
    listed = [(each, [_example(each, example) for example in each.examples]) for each in every]
    yield {"page": own_page("questions", title="Questions", root=job["root"], listed=listed)}


def question(job: Job) -> Iterator[Message]:
    """The page of one question: its form, and what is answered when it was sent."""
    graph, given = _graph(job["given"])
    asked = graph.ask.asked(job["name"])
    answers: Answers[Answer] | None = None
    refused = ""
    if given or not any(each.required for each in asked.parameters):
        try:
            answers = _answered(graph, asked, given)
        except OrchqError as error:
            refused = str(error)
    glyphs = Glyphs()
    evidence, cites = answers.authorities() if answers is not None else ((), ())
    drawn = bool(answers) and answers is not None and _drawn(answers)
    page = own_page(
        "question",
        title=asked.asks,
        root=job["root"],
        question=asked,
        fields=[_field(graph, each, given.get(each.name, "")) for each in asked.parameters],
        examples=[_example(asked, each) for each in asked.examples],
        refused=refused,
        answers=answers,
        rows=list(zip(answers.rows(), cites, strict=True)) if answers is not None else [],
        staves=_staves(graph, answers, glyphs) if answers is not None else [],
        staff_head=f"{_noted(answers).replace('_', ' ')} on the staff" if answers else "",
        authorities=[attribution(each, "") for each in evidence],
        drawing=f"{asked.name}/drawing.svg?{urlencode(job['given'])}" if drawn else "",
        glyphs=glyphs.definitions(),
    )
    yield {"page": page, "status": 400 if refused else 200}


def drawing(job: Job) -> Iterator[Message]:
    """The answers to a question as a drawing in SVG."""
    graph, given = _graph(job["given"])
    answers = _answered(graph, graph.ask.asked(job["name"]), given)
    yield {"svg": plots.plot_svg(answers, graph)}


def _graph(given: Mapping[str, str]) -> tuple[Graph, Mapping[str, str]]:
    """The graph with the shipped extensions that the fields name, and the fields left."""
    shipped = shipped_extensions()
    named = [text for text in given.values() if text in shipped]
    if (brought := given.get("with")) in shipped:
        named.append(str(brought))
    fields = {name: text for name, text in given.items() if name != "with"}
    return kept_graph(None, sorted(set(named))), fields


def _answered(graph: Graph, asked: Question, given: Mapping[str, str]) -> Answers[Answer]:
    flags = {each.name for each in asked.parameters if each.kind == "flag"}
    return graph.ask.question(
        asked.name, {name: True if name in flags else text for name, text in given.items()}
    )


def _field(graph: Graph, parameter: Parameter, value: str) -> FormField:
    known = [
        (each, each) for each in _FEW.get(parameter.kind) or known_values(graph, parameter.kind)
    ]
    others: list[tuple[str, str]] = []
    if parameter.kind == "source":
        known = [(each.slug, one_line(each.label, 90)) for each in graph.sources.values()]
        known.sort(key=lambda pair: pair[1].casefold())
    if parameter.kind == "instrument":
        inside = {each.slug for each in graph.instruments.values()}
        others = [(n, n.replace("-", " ")) for n in shipped_extensions() if n not in inside]
    hint = VALUE_FORMS.get(parameter.kind, "")
    return FormField(parameter, value, known, others, hint)


def _example(asked: Question, example: Any) -> tuple[str, str]:
    """An example in words, with the address that asks it."""
    flags = {each.name for each in asked.parameters if each.kind == "flag"}
    words = shlex.split(example.arguments)
    fields: dict[str, str] = {}
    while words:
        name = words.pop(0).removeprefix("--")
        fields[name] = "yes" if name in flags else words.pop(0)
    return example.words, f"{asked.name}?{urlencode(fields)}"


def _drawn(answers: Answers[Answer]) -> bool:
    """Whether answers can be drawn with what is installed."""
    if answers.question in plots.PLOTTED:
        return find_spec("matplotlib") is not None
    return answers.question in plots.ENGRAVED or lies_on_board(answers)


def _staves(graph: Graph, answers: Answers[Answer], glyphs: Glyphs) -> list[str]:
    """Each answer on a staff of its instrument, as far as it holds notes; empty for none."""
    if len(answers) > _MOST_STAVES:
        return []
    noted = _noted(answers)
    staves: dict[str, StaffDrawing] = {}
    drawings = []
    for answer in answers:
        on = getattr(answer, "instrument", None) or answers.parameters.get("on")
        notes = _notes(answer, noted) if noted else []
        if not notes or not isinstance(on, str):
            drawings.append("")
            continue
        if on not in staves:
            instrument: Instrument = graph.ask.names.instrument(on)
            clefs = SheetTables(graph, instrument, None, None).clefs()
            staves[on] = StaffDrawing(instrument, clefs, glyphs)
        drawings.append(staves[on].drawing(notes))
    return drawings if any(drawings) else []


def _noted(answers: Answers[Answer]) -> str:
    """The name of the column whose notes are drawn, empty where none holds notes alone."""
    names = [column.name for column in answers.asked.columns]
    preferred = [name for name in _PREFERRED if name in names]
    holding = (name for name in (*preferred, *names) if any(_notes(each, name) for each in answers))
    return next(holding, "")


def _notes(answer: Answer, column: str) -> list[Pitch]:
    """The notes in a column of an answer, if it holds nothing else."""
    value = getattr(answer, column)
    texts = value if isinstance(value, tuple) else (value,)
    try:
        pitches = [Pitch.parse(text) for text in texts if isinstance(text, str)]
    except (ValueError, OrchqError):
        return []
    return pitches if len(pitches) == len(texts) else []
