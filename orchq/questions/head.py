"""A question as its file states it: words, parameters, columns, examples, query."""

import re
from collections.abc import Iterable
from functools import cache
from itertools import takewhile
from keyword import iskeyword
from pathlib import Path
from typing import Literal, cast, get_args

from msgspec import Struct

from orchq.errors import OrchqError

DIRECTORY = Path(__file__).parent / "queries"
"""Where the questions lie, one ``.rq`` file each; the file's name is the question's."""

Kind = Literal[
    "instrument",
    "instrument-kind",
    "instruments",
    "technique",
    "techniques",
    "directive",
    "directives",
    "thing",
    "dynamic",
    "pitch",
    "pitches",
    "passage",
    "setting",
    "colour",
    "colours",
    "role",
    "file",
    "text",
    "language",
    "level",
    "source",
    "harmonic-kind",
    "harmonic",
    "change",
    "composer",
    "count",
    "tempo",
    "seconds",
    "flag",
]
"""What the value of a parameter names."""

_SECTIONS = ("parameters", "columns", "examples", "computed by")
_PARAMETER = re.compile(r"([a-z][a-z-]*)\s+([a-z-]+)(\??)\s+(\S.*)")
_COLUMN = re.compile(r"([a-z_]+)\s+(?:\[([^\]]+)\]\s+)?(\S.*)")
_EXAMPLE = re.compile(r"(\S.*?)\s*\|\s*(.*)")


class Parameter(Struct, frozen=True):
    """A parameter of a question; ``name`` is as on the command line."""

    name: str
    kind: Kind
    required: bool
    meaning: str

    @property
    def keyword(self) -> str:
        """The name in Python, where some words are taken."""
        word = self.name.replace("-", "_")
        return f"{word}_" if iskeyword(word) else word


class Column(Struct, frozen=True):
    """A field of the answers, with its unit if it is a measure."""

    name: str
    unit: str
    meaning: str


class Example(Struct, frozen=True):
    """A question as a person asks it, and the arguments that ask it here."""

    words: str
    arguments: str


class Question(Struct, frozen=True):
    """The contents of a question's file; ``query`` selects the facts that ``computed_by`` works on.

    A file may be a head alone: ``query`` is empty where the answer follows from strings, hands and
    limits in force, which need no query. ``origin`` is the file of an extension that brings the
    question, empty for one of the core; its query alone answers it.
    """

    name: str
    asks: str
    parameters: tuple[Parameter, ...]
    columns: tuple[Column, ...]
    examples: tuple[Example, ...]
    computed_by: str
    query: str
    origin: str = ""

    @property
    def method(self) -> str:
        """The name of the Python function that answers it."""
        return self.name.replace("-", "_")


class HeadError(OrchqError):
    """The head of a question is wrong, on a line of its file counted from 1."""

    def __init__(self, text: str, line: int) -> None:
        super().__init__(text)
        self.line = line


HeadLine = tuple[int, str]
"""A line of a head with its number."""


def read_question(name: str, text: str, origin: str = "") -> Question:
    """Read the text of a ``.rq`` file.

    The head is a comment: the question in words, then the sections ``parameters`` (name, kind,
    meaning; ``?`` after the kind where it may be left out), ``columns`` (name, unit in brackets,
    meaning), ``examples`` (words | arguments) and ``computed by``, each indented by two.
    Raises ``HeadError`` naming the question and the line at fault.
    """
    lines = text.splitlines()
    head = head_of(text)
    sections: dict[str, list[HeadLine]] = {"": [], **{title: [] for title in _SECTIONS}}
    title = ""
    for number, line in enumerate(head, start=1):
        if not line:
            continue
        if line in sections:
            title = line
        elif line.startswith("    ") and sections[title]:
            before, words = sections[title][-1]
            sections[title][-1] = before, f"{words} {line.strip()}"
        else:
            sections[title].append((number, line.strip()))
    if not sections[""] or not sections["examples"]:
        raise HeadError(f"the question {name} lacks its words or an example", 1)
    return Question(
        name=name,
        asks=_joined(sections[""]),
        parameters=tuple(_parameter(name, line) for line in sections["parameters"]),
        columns=tuple(
            Column(field, unit or "", meaning)
            for field, unit, meaning in (
                _match(name, _COLUMN, line).groups() for line in sections["columns"]
            )
        ),
        examples=tuple(
            Example(*_match(name, _EXAMPLE, line).groups()) for line in sections["examples"]
        ),
        computed_by=_joined(sections["computed by"]),
        query="\n".join(lines[len(head) :]).strip(),
        origin=origin,
    )


def head_of(text: str) -> list[str]:
    """The lines of the comment with which a question's file begins."""
    lines = takewhile(lambda line: line.startswith("#"), text.splitlines())
    return [line[1:].removeprefix(" ") for line in lines]


def _joined(lines: Iterable[HeadLine]) -> str:
    return " ".join(line for _, line in lines)


def _parameter(question: str, line: HeadLine) -> Parameter:
    name, kind, optional, meaning = _match(question, _PARAMETER, line).groups()
    if kind not in get_args(Kind):
        message = f"the question {question} has a parameter of the unknown kind {kind!r}"
        raise HeadError(message, line[0])
    return Parameter(name, cast(Kind, kind), not optional and kind != "flag", meaning)


def _match(question: str, form: re.Pattern[str], line: HeadLine) -> re.Match[str]:
    match = form.fullmatch(line[1])
    if match is None:
        message = f"the question {question} has a line that cannot be read: {line[1]!r}"
        raise HeadError(message, line[0])
    return match


def question_names() -> tuple[str, ...]:
    """The names of all questions, in order."""
    return tuple(sorted(path.stem for path in DIRECTORY.glob("*.rq")))


@cache
def question(name: str) -> Question:
    """Read a question of this package by name."""
    return read_question(name, (DIRECTORY / f"{name}.rq").read_text(encoding="utf-8"))


def catalogue() -> tuple[Question, ...]:
    """All questions, by name.

    >>> "techniques" in {each.name for each in catalogue()}
    True
    """
    return tuple(question(name) for name in question_names())
