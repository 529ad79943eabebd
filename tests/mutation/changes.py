"""Single changes to source: a comparison, a connective or a number, each at one place."""

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

_COMPARISONS = {
    "<": "<=", "<=": "<", ">": ">=", ">=": ">", "==": "!=", "!=": "==",
    "in": "not in", "not in": "in", "is": "is not", "is not": "is",
}  # fmt: skip
_CONNECTIVES = {"and": "or", "or": "and"}
_SIGNS = {
    ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "==", ast.NotEq: "!=",
    ast.In: "in", ast.NotIn: "not in", ast.Is: "is", ast.IsNot: "is not",
    ast.And: "and", ast.Or: "or",
}  # fmt: skip
_QUERY = re.compile(r'sh:select """(.*?)"""', re.DOTALL)
_IN_QUERY = re.compile(
    r"(?<=[\s)\w])(?P<sign><=|>=|!=|<|>|=|&&|\|\|)(?=\s)|(?<![\w.:-])(?P<number>\d+(?:\.\d+)?)(?![\w.:])"
)
_QUERY_SIGNS = {
    "<": "<=", "<=": "<", ">": ">=", ">=": ">", "=": "!=", "!=": "=", "&&": "||", "||": "&&",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Change:
    """What stands at a place of a file, and what is written instead."""

    file: Path
    start: int
    old: str
    new: str

    @property
    def line(self) -> int:
        """The line, counted from 1."""
        return self.file.read_text(encoding="utf-8").count("\n", 0, self.start) + 1

    def applied(self) -> str:
        """The text of the file with the change."""
        text = self.file.read_text(encoding="utf-8")
        assert text.startswith(self.old, self.start)
        return text[: self.start] + self.new + text[self.start + len(self.old) :]


def changes_in(file: Path) -> Iterator[Change]:
    """Every single change to a file of Python, or to the queries of a rule in Turtle."""
    text = file.read_text(encoding="utf-8")
    yield from _in_python(file, text) if file.suffix == ".py" else _in_queries(file, text)


def _in_queries(file: Path, text: str) -> Iterator[Change]:
    for query in _QUERY.finditer(text):
        for found in _IN_QUERY.finditer(text, *query.span(1)):
            old = found.group()
            new = _QUERY_SIGNS.get(old) or _another(old)
            yield Change(file, found.start(), old, new)


def _in_python(file: Path, text: str) -> Iterator[Change]:
    starts = [0]
    for line in text.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))

    def offset(line: int, column: int) -> int:
        start = starts[line - 1]
        return start + len(text[start:].encode()[:column].decode())

    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            for sign, left, right in zip(node.ops, sides, sides[1:], strict=False):
                old = _SIGNS[type(sign)]
                yield from _between(file, text, offset, left, right, old, _COMPARISONS[old])
        elif isinstance(node, ast.BoolOp):
            old = _SIGNS[type(node.op)]
            for left, right in zip(node.values, node.values[1:], strict=False):
                yield from _between(file, text, offset, left, right, old, _CONNECTIVES[old])
        elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
            start = offset(node.lineno, node.col_offset)
            old = text[start : offset(node.end_lineno or 0, node.end_col_offset or 0)]
            yield Change(file, start, old, _another(old))


def _between(file, text, offset, left, right, old, new) -> Iterator[Change]:
    """The sign between two operands, where brackets, comments and line ends may stand too."""
    first = offset(left.end_lineno, left.end_col_offset)
    last = offset(right.lineno, right.col_offset)
    gap = re.sub(r"#[^\n]*", lambda note: " " * len(note.group()), text[first:last])
    place = re.search(rf"(?<![\w<>=!]){old.replace(' ', chr(92) + 's+')}(?![\w<>=])", gap)
    if place is not None:
        yield Change(file, first + place.start(), place.group(), new)


def _another(number: str) -> str:
    if re.fullmatch(r"\d+", number):
        return str(int(number) + 1)
    return f"({number} * 1.5 + 1)"
