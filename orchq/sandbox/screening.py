"""Queries that strangers wrote: looked through before any engine sees them.

Only what every reader of SPARQL takes for text, comments and IRIs is passed over, so that nothing
can hide in what one of them reads otherwise: what could be read in two ways is refused. This is the
first of two walls; behind it a query runs in a process that can open nothing.
"""

import re
from collections.abc import Container, Iterator
from dataclasses import dataclass

from orchq.terms import PREFIXES

LONGEST = 10_000
"""Characters of the longest query of an extension."""

DEEPEST = 32
"""Brackets within brackets: engines that read deeper ones can break."""

_PASSED_OVER = re.compile(
    r'"""(?:"{0,2}(?:[^"\\]|\\.))*"""'
    r"|'''(?:'{0,2}(?:[^'\\]|\\.))*'''"
    r'|"(?:[^"\\\n\r]|\\.)*"'
    r"|'(?:[^'\\\n\r]|\\.)*'"
    # An IRI: no comparison goes on with two slashes, or hides a text, a comment or a bracket.
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


@dataclass(frozen=True, slots=True)
class QueryFault:
    """What is wrong with a query; ``line`` counts from 1 in it."""

    kind: str
    line: int
    text: str


def plain(query: str) -> str:
    """The query with the line endings that all readers take for such."""
    return query.replace("\r\n", "\n")


def bare(query: str) -> str:
    """The query with blanks for its texts, comments and IRIs; nothing else moves.

    >>> bare("?a <urn:b> 'c' . # d")
    '?a             .    '
    """
    return _PASSED_OVER.sub(lambda found: re.sub(r"[^\n]", " ", found[0]), query)


def _disguised(query: str) -> Iterator[tuple[int, str]]:
    """Places where signs could be read in two ways, and what to do about each."""
    if found := _ESCAPED.search(query):
        yield found.start(), r"writes a sign as \u and its number; write the sign itself"
    if (place := query.find("\r")) >= 0:
        yield place, "holds a carriage return without a line feed"
    for found in _PASSED_OVER.finditer(query):
        if found["odd"]:
            said = "can be read in two ways at '<': set blanks about a comparison, or % in an IRI"
            yield found.start(), said
            break
    if (place := bare(query).find("\\")) >= 0:
        yield place, "escapes a sign outside a text; write the name in full, between < and >"


def query_faults(query: str, prefixes: Container[str] = PREFIXES) -> Iterator[QueryFault]:
    """Yield why a query is not to be run; ``prefixes`` are known besides those that it declares."""
    if len(query) > LONGEST:
        yield QueryFault("query-too-large", 1, f"is longer than {LONGEST} characters")
        return
    for place, said in _disguised(query):
        yield QueryFault("query-disguised", _line(query, place), said)
    text = bare(query)
    if found := _REACHES_OUT.search(text):
        word = found[0].upper()
        said = f"holds the word {word}: a query reads the graph and nothing else"
        yield QueryFault("query-reaches-out", _line(text, found.start()), said)
    depth = 0
    for place, sign in enumerate(text):
        depth += (sign in "([{") - (sign in ")]}")
        if depth > DEEPEST:
            said = f"nests more than {DEEPEST} brackets"
            yield QueryFault("query-too-large", _line(text, place), said)
            break
    if found := _REPEATED.search(text):
        yield QueryFault("query-too-large", _line(text, found.start()), "heaps up signs")
    declared = set(_PREFIX_LINE.findall(text))
    told: set[str] = set()
    for match in _PREFIXED.finditer(text):
        name = match[1]
        if name != "_" and name not in prefixes and name not in declared | told:
            told.add(name)
            said = f"uses the prefix {name}: that is nowhere declared"
            yield QueryFault("prefix-undeclared", _line(text, match.start()), said)


def _line(text: str, place: int) -> int:
    return text.count("\n", 0, place) + 1
