"""What a question returns: typed answers with the question, as rows, JSON values or HTML."""

from base64 import b64encode
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from html import escape
from typing import Any, Generic, Protocol, TypeVar, overload

from msgspec import Struct

from orchq.displays import shown
from orchq.errors import OrchqError
from orchq.evidence import Evidence
from orchq.questions.head import Column, Question


class Answer(Protocol):
    """One answer: a frozen structure with its evidence."""

    @property
    def evidence(self) -> tuple[Evidence, ...]:
        """The limits and statements that the answer rests on."""


A_co = TypeVar("A_co", bound=Answer, covariant=True)

NOTHING = "-"
"""Shown where nothing is stated."""

CENTS, ONLY_JSON = "cents", "json"
"""Units of columns that a table shows behind another, or not at all."""

MOST_IN_CELL = 8
"""Items of a list that a table shows; JSON has them all."""


@dataclass(frozen=True, slots=True, repr=False)
class Answers(Sequence[A_co], Generic[A_co]):
    """The answers to one question, in order.

    ``parameters`` are the values as they were understood; ``remarks`` add what the answers
    themselves cannot show, such as why there are none.
    """

    asked: Question
    parameters: Mapping[str, Any]
    answers: tuple[A_co, ...]
    remarks: tuple[str, ...] = ()

    @property
    def question(self) -> str:
        """The name of the question."""
        return self.asked.name

    def keeping(self, answers: Iterable[A_co]) -> "Answers[A_co]":
        """The same question with these answers."""
        return replace(self, answers=tuple(answers))

    def __len__(self) -> int:
        return len(self.answers)

    @overload
    def __getitem__(self, index: int) -> A_co: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[A_co, ...]: ...
    def __getitem__(self, index: int | slice) -> A_co | tuple[A_co, ...]:
        return self.answers[index]

    def __iter__(self) -> Iterator[A_co]:
        return iter(self.answers)

    def __repr__(self) -> str:
        asked = ", ".join(f"{name}={value!r}" for name, value in self.parameters.items())
        return f"<{len(self.answers)} answers to {self.question}({asked})>"

    def to_dict(self) -> dict[str, Any]:
        """The question, its parameters and the answers as values that JSON can hold."""
        document: dict[str, Any] = {
            "question": self.question,
            "parameters": dict(self.parameters),
            "answers": [plain(answer) for answer in self.answers],
        }
        return document | ({"remarks": list(self.remarks)} if self.remarks else {})

    def heads(self) -> tuple[str, ...]:
        """The columns of a table of the answers, with their units."""
        return tuple(map(_head, self._shown()))

    def rows(self) -> Iterator[tuple[str, ...]]:
        """The answers as rows of text, one cell for each column of a table.

        Cents by which a note is off stand behind the note.
        """
        cents = {column.name for column in self.asked.columns if column.unit == CENTS}
        for answer in self.answers:
            row = []
            for column in self._shown():
                text = cell(getattr(answer, column.name))
                off = f"{column.name}_{CENTS}"
                if off in cents and (value := getattr(answer, off)):
                    text += f" {value:+d}"
                row.append(text)
            yield tuple(row)

    def _shown(self) -> tuple[Column, ...]:
        return tuple(each for each in self.asked.columns if each.unit not in (CENTS, ONLY_JSON))

    def authorities(self) -> tuple[tuple[Evidence, ...], tuple[tuple[int, ...], ...]]:
        """All evidence once, and for each answer the numbers in it, counted from 1."""
        numbers: dict[Evidence, int] = {}
        for answer in self.answers:
            for evidence in answer.evidence:
                numbers.setdefault(evidence, len(numbers) + 1)
        return tuple(numbers), tuple(
            tuple(dict.fromkeys(numbers[evidence] for evidence in answer.evidence))
            for answer in self.answers
        )

    def to_dataframe(self) -> Any:
        """The answers as a pandas DataFrame, one row each and evidence as a list of sources.

        Raises ``OrchqError`` when pandas is not installed.
        """
        try:
            import pandas as pd  # noqa: PLC0415 - heavy, and nobody's dependency
        except ImportError as error:
            raise OrchqError("a DataFrame needs pandas: pip install pandas") from error
        names = [*(column.name for column in self.asked.columns), "evidence"]
        rows = [plain(answer) for answer in self.answers]
        return pd.DataFrame(rows, columns=names)

    def _repr_svg_(self) -> str | None:
        """The answers drawn, for notebooks; ``None`` where they are not."""
        return shown("answers_svg", self)

    def _repr_html_(self) -> str:
        """A table for notebooks, with numbered notes on the sources."""
        evidence, numbers = self.authorities()
        heads = "".join(f"<th>{escape(head)}</th>" for head in (*self.heads(), "who says so"))
        body = "".join(
            "<tr>"
            + "".join(f"<td>{escape(text)}</td>" for text in row)
            + f"<td>{escape(' '.join(f'[{number}]' for number in notes))}</td></tr>"
            for row, notes in zip(self.rows(), numbers, strict=True)
        )
        notes = "".join(f"<li>{escape(_attribution(each))}</li>" for each in evidence)
        remarks = "".join(f"<p>{escape(remark)}</p>" for remark in self.remarks)
        drawn = self._repr_svg_()
        if drawn is not None:
            data = b64encode(drawn.encode()).decode()
            remarks += (
                f'<p><img alt="The answers drawn" src="data:image/svg+xml;base64,{data}"></p>'
            )
        return (
            f"<table><caption>{escape(self.asked.asks)}</caption>"
            f"<thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>"
            f"{remarks}<ol>{notes}</ol>"
        )


def _head(column: Column) -> str:
    name = column.name.replace("_", " ")
    return f"{name} ({column.unit})" if column.unit else name


def _attribution(evidence: Evidence) -> str:
    source = ", ".join(filter(None, (evidence.source, evidence.locator)))
    who = f"{source} ({evidence.basis})" if source else evidence.basis
    return f"{who}: {evidence.statement}" if evidence.statement else who


def plain(value: Any) -> Any:
    """A value as JSON can hold it: structures as objects, tuples as lists."""
    if isinstance(value, Struct):
        return {name: plain(getattr(value, name)) for name in value.__struct_fields__}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    return value


def cell(value: object) -> str:
    """A value as text in a table.

    >>> cell(None), cell(True), cell(2.50), cell(("E5", "A4"))
    ('-', 'yes', '2.5', 'E5, A4')
    """
    if value is None or value in ("", ()):
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.2f}".rstrip("0").rstrip(".")
    if isinstance(value, tuple | list):
        shown = ", ".join(cell(item) for item in value[:MOST_IN_CELL])
        more = len(value) - MOST_IN_CELL
        return f"{shown} and {more} more" if more > 0 else shown
    return str(value)
