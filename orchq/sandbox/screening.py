"""Screening of untrusted queries before any engine sees them.

Only what every SPARQL parser takes for strings, comments and IRIs is skipped, so that nothing can
hide where parsers differ: ambiguous text is refused. This is the first of two defenses; a query
that passes runs in a process that can open nothing.
"""

import re
from collections.abc import Container, Iterator

from msgspec import Struct

from orchq.terms import PREFIXES

LONGEST = 10_000
"""Longest query of an extension, in characters."""

DEEPEST = 32
"""Deepest nesting of brackets: deeper ones can crash engines."""

_PASSED_OVER = re.compile(
    r'"""(?:"{0,2}(?:[^"\\]|\\.))*"""'
    r"|'''(?:'{0,2}(?:[^'\\]|\\.))*'''"
    r'|"(?:[^"\\\n\r]|\\.)*"'
    r"|'(?:[^'\\\n\r]|\\.)*'"
    # An IRI: no comparison continues with two slashes, or hides a string, a comment or a bracket.
    r"|<[A-Za-z][\w+.-]*://[^\x00-\x20<>\"'{}()!|^`\\]*>"
    r"|<[^\x00-\x20<>\"'{}()!#|^`\\]*>"
    r"|(?P<odd><[^\x00-\x20<>\"{}|^`\\]*>)"
    r"|#[^\n]*",
    re.DOTALL,
)
_PREFIX_LINE = re.compile(r"^\s*PREFIX\s+([\w-]*):", re.IGNORECASE | re.MULTILINE)
_PREFIXED = re.compile(r"(?<![\w:?$-])([\w-]*):")
_ESCAPED = re.compile(r"\\[uU][0-9A-Fa-f]")
_REACHES_OUT = re.compile(r"SERVICE|(?<![\w?$:-])FROM(?![\w-])", re.IGNORECASE)
_REPEATED = re.compile(r"([!^+-]\s*){9}")


class QueryFault(Struct, frozen=True):
    """A fault of a query; ``line`` counts from 1 in it."""

    kind: str
    line: int
    text: str


def plain(query: str) -> str:
    """The query with line endings that all parsers recognize."""
    return query.replace("\r\n", "\n")


def bare(query: str) -> str:
    """Return the query with strings, comments and IRIs blanked out; positions stay the same.

    >>> bare("?a <urn:b> 'c' . # d")
    '?a             .    '
    """
    return _PASSED_OVER.sub(lambda found: re.sub(r"[^\n]", " ", found[0]), query)


def _disguised(query: str) -> Iterator[tuple[int, str]]:
    """Yield ambiguous places with a message on each."""
    if found := _ESCAPED.search(query):
        yield found.start(), r"writes a character as a \u escape; write the character itself"
    if (place := query.find("\r")) >= 0:
        yield place, "holds a carriage return without a line feed"
    for found in _PASSED_OVER.finditer(query):
        if found["odd"]:
            message = "is ambiguous at '<': put spaces around a comparison, or escape an IRI with %"
            yield found.start(), message
            break
    if (place := bare(query).find("\\")) >= 0:
        yield place, "has an escape outside a string; write the name in full, between < and >"


def query_faults(query: str, prefixes: Container[str] = PREFIXES) -> Iterator[QueryFault]:
    """Yield the reasons to refuse a query; ``prefixes`` are known besides those it declares."""
    if len(query) > LONGEST:
        yield QueryFault("query-too-large", 1, f"is longer than {LONGEST} characters")
        return
    for place, message in _disguised(query):
        yield QueryFault("query-disguised", _line(query, place), message)
    text = bare(query)
    if found := _REACHES_OUT.search(text):
        word = found[0].upper()
        message = f"uses the keyword {word}: a query may read only the graph"
        yield QueryFault("query-reaches-out", _line(text, found.start()), message)
    depth = 0
    for place, sign in enumerate(text):
        depth += (sign in "([{") - (sign in ")]}")
        if depth > DEEPEST:
            message = f"nests brackets more than {DEEPEST} deep"
            yield QueryFault("query-too-large", _line(text, place), message)
            break
    if found := _REPEATED.search(text):
        yield QueryFault(
            "query-too-large", _line(text, found.start()), "repeats operators too often"
        )
    declared = set(_PREFIX_LINE.findall(text))
    reported: set[str] = set()
    for match in _PREFIXED.finditer(text):
        name = match[1]
        if name != "_" and name not in prefixes and name not in declared | reported:
            reported.add(name)
            message = f"uses the undeclared prefix {name}:"
            yield QueryFault("prefix-undeclared", _line(text, match.start()), message)


def _line(text: str, place: int) -> int:
    return text.count("\n", 0, place) + 1
