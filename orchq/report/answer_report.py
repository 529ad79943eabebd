"""Answers to questions for people and programs: tables, help, JSON."""

import json
from collections.abc import Callable, Iterable, Sequence
from typing import Unpack

from rich.table import Column
from rich.text import Text

from orchq.questions import Answer, Answers, Graph, Question
from orchq.questions.answers import NOTHING
from orchq.questions.sound_words import colour_words
from orchq.report.text_page import PLAIN_WIDTH, Look, Page
from orchq.report.wording import attribution, one_line

_STYLES = {
    "allowed": "green",
    "disputed": "yellow",
    "not allowed": "red",
    "impossible": "red",
    "impractical": "red",
}
_LONGEST_CELL = 600
_MOST_LINES = 3
"""Lines of the page that a row of a table may fill; longer ones are listed head by head."""


def answers_text(
    answers: Answers[Answer],
    **look: Unpack[Look],
) -> str:
    """Return the answers as a table, with numbered sources below.

    Disagreeing opinions stand side by side under their numbers.
    """
    page = Page(**look)
    page.line(one_line(answers.asked.asks), "bold")
    if answers.parameters:
        page.line(as_asked(answers), "dim", indent=2)
    page.line()
    evidence, numbers = answers.authorities()
    heads = (*answers.heads(), "who")
    rows = [
        (*map(_shown, row), " ".join(map(str, notes)) or NOTHING)
        for row, notes in zip(answers.rows(), numbers, strict=True)
    ]
    wordy = any(sum(map(len, row)) > _MOST_LINES * page.width for row in rows)
    if len(rows) > 1 and not wordy and _narrow(heads, rows, 1) <= page.width:
        _table(heads, rows, page)
        page.line()
    elif rows:
        _entries(heads, rows, page)
    for remark in answers.remarks:
        page.line(one_line(remark, _LONGEST_CELL))
    if answers.remarks:
        page.line()
    if not answers and not answers.remarks:
        page.line("No answer: the graph has nothing on this.")
    if evidence:
        page.line("who says so", "bold")
        for number, item in enumerate(evidence, start=1):
            page.line(f"{number:>3}  {attribution(item, '')}", hang=5)
    return page.text()


def as_asked(answers: Answers[Answer]) -> str:
    """The parameters as they were understood, on one line."""
    words = (
        name if value is True else f"{name} {value}" for name, value in answers.parameters.items()
    )
    return one_line(", ".join(words), 300)


def _narrow(heads: Sequence[str], rows: Sequence[Sequence[str]], gap: int) -> int:
    """The width in columns that a table needs to break no word."""
    return sum(_longest_word(each) + gap for each in zip(heads, *rows, strict=True))


def _longest_word(texts: Iterable[str]) -> int:
    return max((len(word) for text in texts for word in text.split()), default=0)


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]], page: Page) -> None:
    """The rows under their heads, without columns in which nothing is stated."""
    stated = [place for place in range(len(heads)) if any(row[place] != NOTHING for row in rows)]
    gap = 2 if _narrow(heads, rows, 2) <= page.width else 1
    columns = [[heads[place], *(row[place] for row in rows)] for place in stated]
    widths = _widths(columns, page.width - gap * (len(stated) - 1))
    page.table(
        [
            Column(Text(head), justify="right" if all(map(_is_number, cells)) else "left", width=w)
            for (head, *cells), w in zip(columns, widths, strict=True)
        ],
        ([Text(row[place], style=_STYLES.get(row[place], "")) for place in stated] for row in rows),
        gap,
    )


def _widths(columns: Sequence[Sequence[str]], room: int) -> list[int]:
    """How wide columns are together within the room: the widest give way, and no word is broken."""
    least = [_longest_word(column) for column in columns]
    widths = [max(map(len, column)) for column in columns]
    while sum(widths) > room and widths != least:
        yielding = [place for place, wide in enumerate(widths) if wide > least[place]]
        widths[max(yielding, key=widths.__getitem__)] -= 1
    return widths


def _entries(heads: Sequence[str], rows: Sequence[Sequence[str]], page: Page) -> None:
    """The rows one below the other: for one answer, and for a table that is too wide."""
    room = max(map(len, heads), default=0) + 2
    for row in rows:
        for head, text in zip(heads, row, strict=True):
            if text != NOTHING:
                page.line(f"{head:<{room}}{text}", indent=2, hang=room)
        page.line()


def _shown(text: str) -> str:
    return one_line(text, _LONGEST_CELL)


def _is_number(text: str) -> bool:
    return text == NOTHING or text.lstrip("-").replace(".", "", 1).isdecimal()


def known_values(graph: Graph, kind: str) -> Sequence[str]:
    """The values that a parameter of this kind accepts, where they can be listed."""
    if kind == "composer":
        return tuple(graph.ask.composers.values())
    return colour_words(graph.ask) if kind == "colour" else graph.ask.names.known(kind)


def answers_json(answers: Answers[Answer]) -> str:
    """Return the answers as one JSON object, in ASCII."""
    return json.dumps(answers.to_dict(), indent=2) + "\n"


def question_list(
    questions: Iterable[Question],
    **look: Unpack[Look],
) -> str:
    """Return every question with an example."""
    page = Page(**look)
    count = 0
    for question in questions:
        count += 1
        page.line(f"{question.name}: {question.asks}", "bold", hang=4)
        page.line(command(question, question.examples[0].arguments), indent=4, hang=4)
        if question.origin:
            page.line(f"from {one_line(question.origin)}", "dim", indent=4)
    page.line()
    page.line(f"{count} questions; orchq ask QUESTION --help shows its parameters.")
    return page.text()


def question_lines(questions: Iterable[Question], *, width: int = PLAIN_WIDTH) -> str:
    """Return the synopsis of each question, one per line."""
    page = Page(width=width)
    for question in questions:
        page.line(f"{question.name} {_synopsis(question)}", indent=2, hang=6)
    return page.text()


def question_page(
    question: Question,
    known: Callable[[str], Sequence[str]],
    **look: Unpack[Look],
) -> str:
    """Return what a question takes and answers; ``known`` lists the names of a kind."""
    page = Page(**look)
    page.line(question.asks, "bold")
    if question.origin:
        page.line(f"from {one_line(question.origin)}", "dim")
    page.line()
    page.line(f"orchq ask {question.name} {_synopsis(question)}", hang=4)
    page.line()
    for parameter in question.parameters:
        page.entry(f"--{parameter.name}", parameter.meaning)
        names = ", ".join(known(parameter.kind)) or VALUE_FORMS.get(parameter.kind, "")
        if names:
            page.entry("", one_line(names, 2000), "dim")
    if question.parameters:
        page.line()
    page.line("answers", "bold")
    for column in question.columns:
        unit = f" ({column.unit})" if column.unit else ""
        page.line(f"{column.name}{unit}: {column.meaning}", indent=2, hang=4)
    page.line()
    page.line("examples", "bold")
    for example in question.examples:
        page.line(example.words, indent=2, hang=2)
        page.line(command(question, example.arguments), indent=4, hang=4)
    return page.text()


VALUE_FORMS = {
    "pitch": "A4, a', Bb4, F#5, B flat 4, or a MIDI number",
    "pitches": "G3 D4 B4 G5, separated by spaces, commas or hyphens",
    "colours": "words for a sound, divided by commas; orchq ask colours --help lists them",
    "count": "a whole number",
    "file": "a score: MusicXML, or another format that orchq check reads",
    "role": "melody, accompaniment, filling or bass line",
    "tempo": "quarter notes a minute",
    "thing": "any term that a score prints, in any language of the graph, or a name",
    "directive": "any term that a score prints, in any language of the graph",
    "directives": "terms that a score prints, or names, divided by commas",
    "harmonic-kind": "natural, artificial",
    "harmonic": "a pitch such as E6, or natural, or artificial",
    "change": 'two ways of playing as printed: "pizz. arco", or "senza sord. to con sord."',
    "seconds": "a number, as 1 or 1.5s",
}
"""How the values of a kind of parameter are written."""


def command(question: Question, arguments: str) -> str:
    """The command line that asks a question with these arguments."""
    return f"orchq ask {question.name} {arguments}".rstrip()


def _synopsis(question: Question) -> str:
    words = []
    for parameter in question.parameters:
        name = f"--{parameter.name}"
        word = name if parameter.kind == "flag" else f"{name} {parameter.kind.upper()}"
        words.append(word if parameter.required else f"[{word}]")
    return " ".join(words)
