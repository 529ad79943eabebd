"""Runs queries and shapes of extensions in a process of its own, which is ended in time.

A query of a stranger may take for ever, or break the engine: neither reaches the caller.
"""

import json
import os
import subprocess
import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pyoxigraph import (
    BlankNode,
    Literal,
    NamedNode,
    Quad,
    QueryResultsFormat,
    QuerySolutions,
    RdfFormat,
    parse_query_results,
    serialize,
)

from orchq.errors import OrchqError
from orchq.knowledge.store import PROLOGUE
from orchq.rules.reference import Pairs

SECONDS = 60.0
"""How long the queries of one request may take."""

SECONDS_OF_REFERENCE = 600.0
"""How long pySHACL may take, which is slow."""

_PACKAGES = str(Path(__file__).parents[2])
_SECONDS_OF_READING = 20.0

Term = NamedNode | BlankNode | Literal
Row = dict[str, Term]


@dataclass(frozen=True, slots=True)
class Query:
    """A SELECT with variables bound to terms; ``name`` is how people are told of it."""

    name: str
    text: str
    bound: Mapping[str, Term] = field(default_factory=dict)


def variables(queries: Sequence[Query]) -> list[tuple[str, ...] | str]:
    """Read queries without running them: what each projects, or what is wrong with it."""
    told: list[tuple[str, ...] | str] = []
    while len(told) < len(queries):
        rest = queries[len(told) :]
        try:
            found = _asked("read", rest, (), _SECONDS_OF_READING)
        except _StoppedError as stopped:
            told += map(_projected, stopped.answers)
            # A query that breaks the reader leaves time for the rest; one without end does not.
            told += [stopped.reason] * (len(queries) - len(told) if stopped.late else 1)
        else:
            told += map(_projected, found)
    return told


def _projected(answer: dict[str, Any]) -> tuple[str, ...] | str:
    return str(answer["error"]) if "error" in answer else tuple(answer["variables"])


def select(queries: Sequence[Query], quads: Iterable[Quad]) -> list[list[Row]]:
    """Run queries over triples.

    Raises ``OrchqError`` naming the query that does not end, gives too much or cannot be run.
    """
    try:
        found = _asked("select", queries, quads, SECONDS)
    except _StoppedError as stopped:
        found = [*stopped.answers, {"error": stopped.reason}]
    rows = []
    for query, answer in zip(queries, found, strict=False):
        if "error" in answer:
            raise OrchqError(f"{query.name}: the query {answer['error']}")
        rows.append(_rows(answer["solutions"]))
    return rows


def _rows(solutions: str) -> list[Row]:
    found = parse_query_results(solutions.encode(), QueryResultsFormat.JSON)
    assert isinstance(found, QuerySolutions)
    names = [variable.value for variable in found.variables]
    return [
        {
            name: value
            for name in names
            if isinstance(value := row[name], NamedNode | BlankNode | Literal)
        }
        for row in found
    ]


def validate(shapes: str, quads: Iterable[Quad], name: str) -> Pairs:
    """Run shapes, given in Turtle, with pySHACL; ``name`` is how people are told of them.

    Raises ``OrchqError`` when that does not end or cannot be done.
    """
    asked = {"do": "validate", "triples": _written(quads), "shapes": shapes}
    try:
        (answer,) = _child(asked, 1, SECONDS_OF_REFERENCE)
    except _StoppedError as stopped:
        raise OrchqError(f"{name}: pySHACL {stopped.reason}") from None
    return {(focus, shape) for focus, shape in answer["pairs"]}


class _StoppedError(Exception):
    """The process was ended late, or broke; ``answers`` are those that it gave before."""

    def __init__(self, answers: list[dict[str, Any]], late: float | None) -> None:
        self.reason = (
            f"has not ended after {late:g} seconds and was stopped"
            if late
            else "is nested too deeply or needs too much memory"
        )
        super().__init__(self.reason)
        self.answers = answers
        self.late = late


def _asked(
    do: str, queries: Sequence[Query], quads: Iterable[Quad], seconds: float
) -> list[dict[str, Any]]:
    asked = {
        "do": do,
        "triples": _written(quads),
        "queries": [
            {
                "text": PROLOGUE + query.text,
                "bound": {name: str(term) for name, term in query.bound.items()},
            }
            for query in queries
        ],
    }
    return _child(asked, len(queries), seconds)


def _child(asked: dict[str, Any], wanted: int, seconds: float) -> list[dict[str, Any]]:
    """Let the process answer so many times."""
    path = os.pathsep.join(filter(None, (_PACKAGES, os.environ.get("PYTHONPATH"))))
    late = None
    try:
        done = subprocess.run(
            [sys.executable, "-P", "-m", "orchq.rules.sandboxed"],
            input=json.dumps(asked | {"seconds": seconds}).encode(),
            capture_output=True,
            timeout=seconds,
            check=False,
            env=os.environ | {"PYTHONPATH": path},
        )
        written: bytes | None = done.stdout
    except subprocess.TimeoutExpired as error:
        written = error.stdout
        late = seconds
    answers = [json.loads(line) for line in (written or b"").splitlines()]
    if len(answers) < wanted:
        raise _StoppedError(answers, late)
    return answers


def _written(quads: Iterable[Quad]) -> str:
    data = serialize((quad.triple for quad in quads), format=RdfFormat.N_TRIPLES)
    assert data is not None
    return data.decode()
