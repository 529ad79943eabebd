"""User-supplied questions: their query alone answers them, in a process of its own."""

import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping
from keyword import iskeyword
from math import isfinite
from pathlib import Path
from typing import Any

from msgspec import defstruct
from pyoxigraph import BlankNode, Literal, NamedNode

from orchq.evidence import Evidence
from orchq.inputs import read_whole
from orchq.knowledge.extensions import LARGEST, Extension
from orchq.questions.answers import Answer, Answers
from orchq.questions.asking import Asking
from orchq.questions.bowing import tempo_of
from orchq.questions.head import (
    HeadError,
    Parameter,
    Question,
    head_of,
    question_names,
    read_question,
)
from orchq.questions.naming import Names
from orchq.questions.pitch_names import parse_pitch
from orchq.questions.players import MOST_PLAYERS
from orchq.questions.typed_numbers import whole_number
from orchq.sandbox.flaws import SLUG, Flaw, Tell, position, refuse
from orchq.sandbox.running import Query, Row, Term, select, variables
from orchq.sandbox.screening import plain, query_faults
from orchq.severity import Severity
from orchq.terms import XSD

LIMIT = "limit"
"""The variable whose values are the evidence."""

_TAKEN = frozenset({LIMIT, "evidence"})

_TERMS: Mapping[str, Callable[[Names, Any], Term]] = {
    "instrument": lambda names, given: NamedNode(names.instrument(given).iri),
    "technique": lambda names, given: NamedNode(names.technique(given).iri),
    "directive": lambda names, given: NamedNode(names.directive(given).iri),
    "thing": lambda names, given: NamedNode(names.printed(given).iri),
    "dynamic": lambda names, given: NamedNode(names.dynamic(given).iri),
    "level": lambda names, given: NamedNode(names.level(given)),
    "source": lambda names, given: NamedNode(names.source(given).iri),
    "language": lambda names, given: Literal(names.language(given)),
    "pitch": lambda _, given: Literal(parse_pitch(given).midi),
    "count": lambda _, given: Literal(whole_number("a count", given, MOST_PLAYERS)),
    "tempo": lambda _, given: Literal(tempo_of(given) or 0),
    "flag": lambda _, given: Literal(bool(given)),
}
"""What a parameter of each kind is bound to: a pitch to its MIDI number."""

_NUMBERS: Mapping[str, Callable[[str], object]] = {
    XSD + "integer": int,
    XSD + "decimal": float,
    XSD + "double": float,
    XSD + "float": float,
    XSD + "boolean": lambda text: text in ("true", "1"),
}


def own_questions(extensions: Iterable[Extension], report: Tell = refuse) -> Mapping[str, Question]:
    """Read the questions of extensions; flaws go to ``report``.

    By default that raises ``OrchqError``.
    """
    found: dict[str, Question] = {}
    core = question_names()
    for path, text in ((p, t) for each in extensions for p, t in each.questions.items()):
        question = _read(path, plain(text), report)
        if question is None:
            continue
        if question.name in core or question.name in found:
            where = found[question.name].origin if question.name in found else "the core"
            report(Flaw("slug-taken", path, 1, path.stem, f"is a question of {where} already"))
            continue
        found[question.name] = question
    read = variables([Query(each.origin, each.query) for each in found.values()])
    for question, names in zip(found.values(), read, strict=True):
        for flaw in _unlike(question, names):
            report(flaw)
    return found


def _read(path: Path, text: str, report: Tell) -> Question | None:
    """A question whose head is sound and whose query may be looked at by the engine."""
    name = path.stem
    flaws = []
    if not SLUG.fullmatch(name):
        message = (
            f"is not a valid slug: the file {path.name!r} should be named in lower-case words "
            "joined by hyphens"
        )
        flaws.append(Flaw("slug-malformed", path, 1, name, message))
    for number, line in enumerate(head_of(text), start=1):
        if any(unicodedata.category(sign).startswith("C") for sign in line.replace("\t", " ")):
            message = "has a character in its head that cannot be shown"
            flaws.append(Flaw("question-head", path, number, name, message))
    question: Question | None = None
    try:
        question = read_question(name, text, str(path))
    except HeadError as error:
        message = str(error).removeprefix(f"the question {name} ")
        flaws.append(Flaw("question-head", path, error.line, name, message))
    if question:
        flaws += (
            Flaw("question-head", path, 1, name, message) for message in _wrong_in_head(question)
        )
        begin = _begin(question, text)
        flaws += (
            Flaw(fault.kind, path, begin + fault.line, name, fault.text)
            for fault in query_faults(question.query)
        )
    for flaw in flaws:
        report(flaw)
    return None if flaws else question


def _begin(question: Question, text: str) -> int:
    """How many lines of the file stand before the query."""
    return text.count("\n", 0, max(text.rfind(question.query.rstrip()), 0))


def _wrong_in_head(question: Question) -> Iterator[str]:
    if question.computed_by:
        yield "has a section 'computed by'; the query alone answers a question of an extension"
    if not question.columns:
        yield "has no columns"
    names = [column.name for column in question.columns]
    for name in names:
        if name in _TAKEN or iskeyword(name) or names.count(name) > 1:
            yield f"cannot have the column {name}: the name is taken"
    words = [parameter.keyword for parameter in question.parameters]
    for parameter in question.parameters:
        if words.count(parameter.keyword) > 1:
            yield f"has the parameter {parameter.name} twice"
        if parameter.kind not in _TERMS:
            known = ", ".join(_TERMS)
            yield f"cannot bind a parameter of the kind {parameter.kind}; it can be {known}"


def _unlike(question: Question, names: tuple[str, ...] | str) -> Iterator[Flaw]:
    """Yield where head and query disagree; ``names`` are those that the query projects."""
    path = Path(question.origin)
    begin = _begin(question, plain(read_whole(path, LARGEST, "questions").decode("utf-8-sig")))
    if isinstance(names, str):
        line, message = position(names)
        yield Flaw("query-not-sparql", path, begin + line, question.name, message)
        return

    def flaw(kind: str, message: str, severity: Severity = "violation") -> Flaw:
        return Flaw(kind, path, begin + 1, question.name, message, severity)

    for column in question.columns:
        if column.name not in names:
            yield flaw(
                "column-not-selected", f"has a column ?{column.name} that it does not select"
            )
    for parameter in question.parameters:
        if _variable(parameter) not in names:
            message = f"takes {parameter.name}, and does not select ${_variable(parameter)}"
            yield flaw("parameter-not-selected", message)
    if LIMIT not in names:
        message = "selects no ?limit, so its answers show no sources"
        yield flaw("question-without-limit", message, "warning")


def _variable(parameter: Parameter) -> str:
    return parameter.name.replace("-", "_")


def answered(asking: Asking, asked: Question, given: Mapping[str, Any]) -> Answers[Answer]:
    """Answer a question with parameters by their keywords.

    Rows that differ in ``?limit`` alone are one answer, on the evidence of all. Raises
    ``OrchqError`` for an unknown name, and for a query that does not end.
    """
    bound: dict[str, Term] = {}
    shown: dict[str, Any] = {}
    for parameter in asked.parameters:
        value = given.get(parameter.keyword)
        if value is None or value is False:
            continue
        term = _TERMS[parameter.kind](asking.names, value)
        bound[_variable(parameter)] = term
        shown[parameter.name] = _value(asking, term) if isinstance(term, NamedNode) else value
    query = Query(f"{asked.origin}: {asked.name}", asked.query, bound)
    (rows,) = select([query], asking.knowledge.quads)
    columns = [column.name for column in asked.columns]
    kind: Any = defstruct(
        "OwnAnswer",
        [*((name, object) for name in columns), ("evidence", tuple[Evidence, ...])],
        frozen=True,
    )
    evidence: dict[tuple[object, ...], list[Evidence]] = {}
    for row in rows:
        values = tuple(_value(asking, row.get(name)) for name in columns)
        evidence.setdefault(values, []).extend(_evidence(asking, row))
    answers = [kind(*values, tuple(dict.fromkeys(each))) for values, each in evidence.items()]
    return Answers(asked, shown, tuple(answers))


def _value(asking: Asking, term: Term | None) -> object:
    """A term as people read it: things by their labels, numbers and truths as such."""
    if term is None or isinstance(term, BlankNode):
        return None
    if isinstance(term, NamedNode):
        return asking.knowledge.label(term.value)
    number = _NUMBERS.get(term.datatype.value, str)
    try:
        value = number(term.value)
    except ValueError:
        return term.value
    return value if not isinstance(value, float) or isfinite(value) else term.value


def _evidence(asking: Asking, row: Row) -> tuple[Evidence, ...]:
    limit = row.get(LIMIT)
    if not isinstance(limit, NamedNode):
        return ()
    if limit.value in asking.limits:
        return asking.evidence([limit.value])
    return asking.evidence_for(limit.value)
