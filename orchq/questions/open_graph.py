"""The whole graph for queries of any kind: facts, weighings, rules, places; in rdflib too."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from typing import TYPE_CHECKING, Any, overload

from pyoxigraph import (
    BlankNode,
    Literal,
    NamedNode,
    Quad,
    QueryBoolean,
    QuerySolutions,
    QueryTriples,
    RdfFormat,
    Store,
    serialize,
)

from orchq.errors import OrchqError
from orchq.knowledge import Knowledge
from orchq.knowledge.data_files import place_files, rule_files
from orchq.knowledge.inferred import inferred_types
from orchq.knowledge.store import read_triples
from orchq.lazily import lazily
from orchq.questions.asking import Asking
from orchq.terms import PREFIXES

if TYPE_CHECKING:
    from orchq.derive import scopes
    from orchq.sandbox import results
else:
    (scopes,) = lazily("orchq.derive", "scopes")
    (results,) = lazily("orchq.sandbox", "results")

Value = str | int | float | bool | None

_NUMBERS: Mapping[str, Callable[[str], Value]] = {
    "integer": int,
    "decimal": float,
    "double": float,
    "boolean": lambda text: text == "true",
}
_SHOWN = 100  # rows in a notebook


def weighed_quads(knowledge: Knowledge, trust: str | None = None) -> list[Quad]:
    """Return all triples of the graph, what follows from them, and its limits weighed.

    ``trust`` is the name of the one source or basis to follow where limits are weighed.
    """
    quads = _weighed(knowledge, trust)
    return [*quads, *inferred_types(quads)]


def open_quads(knowledge: Knowledge, trust: str | None = None) -> list[Quad]:
    """Return the graph as ``weighed_quads`` does, with its rules and the places in scores."""
    files = (*rule_files(), *place_files())
    beside = [quad for file in files for quad in read_triples(file)]
    own = [quad for each in knowledge.extensions for quads in each.rules.values() for quad in quads]
    quads = [*_weighed(knowledge, trust), *beside, *own]
    return [*quads, *inferred_types(quads)]


def _weighed(knowledge: Knowledge, trust: str | None) -> list[Quad]:
    authority = Asking(knowledge).standpoint(trust=trust).trust
    return [*knowledge.quads, *scopes.knowledge_scopes(knowledge, authority)]


@dataclass(frozen=True, slots=True, repr=False)
class Solutions(Sequence[Mapping[str, Value]]):
    """The solutions of a SELECT, each a mapping of variables; a table in a notebook.

    IRIs are text, abbreviated where a prefix is known; numbers and truth are Python's. A variable
    without value is ``None``.
    """

    variables: tuple[str, ...]
    rows: tuple[tuple[Value, ...], ...]

    def __len__(self) -> int:
        return len(self.rows)

    @overload
    def __getitem__(self, index: int) -> Mapping[str, Value]: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[Mapping[str, Value]]: ...
    def __getitem__(
        self, index: int | slice
    ) -> Mapping[str, Value] | Sequence[Mapping[str, Value]]:
        if isinstance(index, slice):
            return [dict(zip(self.variables, row, strict=True)) for row in self.rows[index]]
        return dict(zip(self.variables, self.rows[index], strict=True))

    def __iter__(self) -> Iterator[Mapping[str, Value]]:
        return (dict(zip(self.variables, row, strict=True)) for row in self.rows)

    def __repr__(self) -> str:
        return f"<{len(self.rows)} solutions of {', '.join(self.variables)}>"

    def _repr_html_(self) -> str:
        head = "".join(f"<th>{escape(name)}</th>" for name in self.variables)
        rows = "".join(
            f"<tr>{''.join(f'<td>{_shown(value)}</td>' for value in row)}</tr>"
            for row in self.rows[:_SHOWN]
        )
        more = len(self.rows) - _SHOWN
        foot = f"<p>and {more} more</p>" if more > 0 else ""
        return f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>{foot}"


class OpenGraph(Knowledge):
    """A graph that answers queries of any kind."""

    def sparql(self, query: str, *, trust: str | None = None) -> Any:
        """Run a SELECT, ASK, CONSTRUCT or DESCRIBE query over facts, weighings, rules and places.

        Returns ``Solutions``, a truth value or an ``rdflib.Graph``. The project's prefixes are
        known; ``trust`` names the one source to follow. Nothing is changed or fetched: SERVICE and
        FROM are refused. Raises ``OrchqError`` for a query that cannot be run.

        >>> import orchq
        >>> orchq.load().sparql("SELECT ?n { oq:viola skos:prefLabel ?n }")[0]["n"]
        'viola'
        """
        text = results.read_only(query)
        try:
            found = _store(self, trust).query(text)
            if isinstance(found, QuerySolutions):
                names = tuple(variable.value for variable in found.variables)
                rows = tuple(tuple(_value(row[name]) for name in names) for row in found)
                return Solutions(names, rows)
            if isinstance(found, QueryBoolean):
                return bool(found)
            assert isinstance(found, QueryTriples)
            return _in_rdflib(Quad(*triple) for triple in found)
        except (SyntaxError, ValueError, OSError) as error:
            raise OrchqError(f"the query cannot be run: {error}") from error

    def to_rdflib(self, *, trust: str | None = None) -> Any:
        """Return facts, weighings, rules and places as an ``rdflib.Graph``, to go on with."""
        return _in_rdflib(open_quads(self, trust))


@lru_cache(maxsize=2)
def _store(knowledge: Knowledge, trust: str | None) -> Store:
    store = Store()
    store.bulk_extend(open_quads(knowledge, trust))
    return store


def _in_rdflib(quads: Iterator[Quad] | Sequence[Quad]) -> Any:
    import rdflib  # noqa: PLC0415 - heavy

    data = serialize((quad.triple for quad in quads), format=RdfFormat.N_TRIPLES)
    graph = rdflib.Graph().parse(data=data, format="nt")
    for prefix, iri in PREFIXES.items():
        graph.bind(prefix, iri)
    return graph


def _value(term: Any) -> Value:
    if isinstance(term, NamedNode):
        for prefix, base in PREFIXES.items():
            local = term.value.removeprefix(base)
            if term.value.startswith(base) and "/" not in local:
                return f"{prefix}:{local}"
        return term.value
    if isinstance(term, BlankNode):
        return str(term)
    if isinstance(term, Literal):
        kind = term.datatype.value.rpartition("#")[2]
        try:
            return _NUMBERS[kind](term.value) if kind in _NUMBERS else term.value
        except ValueError:
            return term.value
    return None if term is None else str(term)


def _shown(value: Value) -> str:
    return "" if value is None else escape(str(value))
