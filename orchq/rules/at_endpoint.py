"""Runs the rules on a SPARQL 1.1 server that holds what ``export`` with ``derived`` writes.

Only the address that is given is opened: no redirection is followed and no proxy is used.
"""

import urllib.error
import urllib.request
from collections.abc import Iterable, Iterator, Mapping, Sequence
from http.client import HTTPException
from typing import IO
from urllib.parse import urlsplit

from msgspec import Struct
from msgspec.structs import asdict
from pyoxigraph import QueryResultsFormat, QuerySolutions, parse_query_results

from orchq.errors import OrchqError
from orchq.knowledge.store import PROLOGUE
from orchq.rules.catalogue import Shape
from orchq.rules.engine import COLUMNS, ResultRow, row_of, select_over
from orchq.severity import Severity

_LARGEST = 500_000_000
"""Bytes of the longest answer that is read."""
_FIRST = (
    "SELECT ?node ?event ?onset WHERE { { ?node oq:atEvent ?event } UNION"
    " { ?node oq:firstEvent ?event } UNION"
    " { ?node a oq:Part ; oq:hasEvent ?event . ?event a oq:CheckedEvent ; oq:onset ?onset } }"
)
_PLACES = (
    "SELECT ?event ?part ?measure ?beat WHERE { ?event a oq:CheckedEvent ; oq:ofPart ?of ;"
    " oq:measureNumber ?measure ; oq:beat ?beat . ?of oq:partName ?part }"
)


class FoundAtEndpoint(Struct, frozen=True):
    """One finding: the event by its IRI, its part, printed measure and beat in quarter notes."""

    event: str
    rule: str
    severity: Severity
    part: str
    measure: str
    beat: float

    def as_object(self) -> dict[str, str | float]:
        """The finding as values of JSON."""
        return asdict(self)


class Endpoint:
    """A server that answers queries of the SPARQL 1.1 Protocol."""

    def __init__(self, address: str, seconds: float = 60.0) -> None:
        """Raises ``OrchqError`` for what is no address of HTTP."""
        parts = urlsplit(address)
        if parts.scheme not in ("http", "https") or not parts.hostname:
            raise OrchqError(f"{address}: not an address that begins with http:// or https://")
        self._address = address
        self._seconds = seconds
        self._opener = urllib.request.OpenerDirector()
        for handler in (
            urllib.request.HTTPHandler(),
            urllib.request.HTTPSHandler(),
            urllib.request.HTTPDefaultErrorHandler(),
            urllib.request.HTTPErrorProcessor(),
        ):
            self._opener.add_handler(handler)

    def select(self, query: str) -> QuerySolutions:
        """Return the solutions of a SELECT with the project's prefixes.

        Raises ``OrchqError`` when the server does not answer, or not in JSON of SPARQL 1.1.
        """
        request = urllib.request.Request(  # noqa: S310 - its scheme was looked at
            self._address,
            data=(PROLOGUE + query).encode(),
            headers={
                "Content-Type": "application/sparql-query",
                "Accept": "application/sparql-results+json",
            },
        )
        try:
            with self._opener.open(request, timeout=self._seconds) as answer:
                data = _bounded(answer)
        except urllib.error.HTTPError as error:
            said = error.read(500).decode("utf-8", "replace").strip()
            raise OrchqError(f"{self._address}: answers {error.code}: {said}") from error
        except (OSError, HTTPException) as error:
            raise OrchqError(f"{self._address}: does not answer: {error}") from error
        try:
            found = parse_query_results(data, format=QueryResultsFormat.JSON)
        except (SyntaxError, ValueError) as error:
            raise OrchqError(f"{self._address}: no results of SPARQL: {error}") from error
        if not isinstance(found, QuerySolutions):
            raise OrchqError(f"{self._address}: no results of a SELECT")
        return found


def found_at(endpoint: Endpoint, shapes: Sequence[Shape]) -> list[FoundAtEndpoint]:
    """Run the rules on a server and return what they find in the scores there.

    Raises ``OrchqError`` as ``Endpoint`` does.
    """
    first = _first_events(endpoint)
    rows = [(first.get(row.focus, row.focus), row.shape) for row in _rows(endpoint, shapes)]
    if not rows:
        return []
    places = _places(endpoint)
    found = {
        FoundAtEndpoint(event, shape.rule_slug, shape.severity, *places[event])
        for event, shape in rows
        if event in places
    }
    return sorted(found, key=lambda each: (each.part, each.event, each.rule, each.severity))


def _rows(endpoint: Endpoint, shapes: Iterable[Shape]) -> Iterator[ResultRow]:
    for shape in shapes:
        target = f"$this a/rdfs:subClassOf* <{shape.target}> ."
        for solution in endpoint.select(select_over(shape, target)):
            yield row_of(shape, *(solution[name] for name in COLUMNS))


def _first_events(endpoint: Endpoint) -> Mapping[str, str]:
    """The event where to report what is found at another node: the earliest of a part."""
    earliest: dict[str, tuple[float, str]] = {}
    for solution in endpoint.select(_FIRST):
        node, event, onset = (solution[name] for name in ("node", "event", "onset"))
        place = (float(getattr(onset, "value", 0)), getattr(event, "value", ""))
        name = getattr(node, "value", "")
        earliest[name] = min(earliest.get(name, place), place)
    return {node: event for node, (_, event) in earliest.items()}


def _places(endpoint: Endpoint) -> Mapping[str, tuple[str, str, float]]:
    found = {}
    for solution in endpoint.select(_PLACES):
        event, part, measure, beat = (
            getattr(solution[name], "value", "") for name in ("event", "part", "measure", "beat")
        )
        found[event] = (part, measure, float(beat))
    return found


def _bounded(answer: IO[bytes]) -> bytes:
    data = answer.read(_LARGEST + 1)
    if len(data) > _LARGEST:
        raise OSError(f"an answer of more than {_LARGEST} bytes")
    return data
