"""Runs shapes over extensions: alone, among the core as set queries, and those of the ontology."""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any, cast

from msgspec import Struct
from pyoxigraph import Literal, NamedNode, Quad, RdfFormat, Store, serialize

from orchq.errors import OrchqError
from orchq.knowledge.data_files import data_directory, turtle_files
from orchq.knowledge.store import load_files, select
from orchq.sandbox.reference_engine import preparing_graph
from orchq.severity import Severity
from orchq.terms import SH

_SLOT = re.compile(r"\{[?$](\w+)\}")


class Broken(Struct, frozen=True):
    """A node that breaks a shape; ``path`` and ``value`` are empty where there is none."""

    shape: str
    severity: Severity
    node: str
    path: str
    value: str
    message: str


def broken_together(store: Store, named: Callable[[str], str]) -> Iterator[Broken]:
    """Run the set queries over core and extension in a store."""
    shapes = load_files([data_directory("shapes") / "extension" / "together.ttl"])
    for shape in shapes.quads_for_pattern(None, NamedNode(SH + "sparql"), None):
        node = cast(NamedNode, shape.object)
        query, message = (
            next(shapes.quads_for_pattern(node, NamedNode(SH + name), None))
            for name in ("select", "message")
        )
        for row in select(store, cast(Literal, query.object).value):
            texts = {name: node.value for name, node in row.items()}

            def slot(found: re.Match[str], texts: dict[str, str] = texts) -> str:
                return named(texts.get(found[1], "?"))

            yield Broken(
                _name(str(cast(NamedNode, shape.subject).value)),
                "violation",
                texts.get("holder", ""),
                texts["this"] if texts["this"] != texts.get("holder") else "",
                texts.get("value", ""),
                _SLOT.sub(slot, cast(Literal, message.object).value),
            )


def broken_alone(extension: Sequence[Quad]) -> list[Broken]:
    """Run the shapes that see the triples of an extension alone."""
    return _validate(
        _graph(extension), (data_directory("shapes") / "extension" / "alone.ttl",), None
    )


def broken_shapes(core: Sequence[Quad], extension: Sequence[Quad]) -> list[Broken]:
    """Run the shapes over the ontology on what an extension mentions, with the core around it."""
    nodes = {quad.object for quad in extension} | {quad.subject for quad in extension}
    whole = _core_graph(tuple(core))
    added = _graph(extension) - whole
    files = tuple(turtle_files(data_directory("shapes") / "ontology"))
    try:
        for triple in added:
            whole.add(triple)
        return _validate(whole, files, sorted(n.value for n in nodes if isinstance(n, NamedNode)))
    finally:
        for triple in added:
            whole.remove(triple)


@lru_cache(maxsize=1)
def _core_graph(core: tuple[Quad, ...]) -> Any:
    return _graph(core)


def _graph(quads: Iterable[Quad]) -> Any:
    data = serialize((quad.triple for quad in quads), format=RdfFormat.N_TRIPLES)
    return preparing_graph((data or b"").decode())


@lru_cache(maxsize=2)
def _shapes(files: tuple[Path, ...]) -> Any:
    from rdflib import Graph  # noqa: PLC0415 - heavy

    shapes = Graph().parse(data_directory("shapes") / "prefixes.ttl")
    for file in files:
        shapes.parse(file)
    return shapes


def _validate(graph: Any, files: tuple[Path, ...], nodes: list[str] | None) -> list[Broken]:
    import pyshacl  # noqa: PLC0415 - heavy
    from rdflib import RDF, Graph  # noqa: PLC0415 - heavy
    from rdflib import SH as SHACL  # noqa: PLC0415 - heavy

    _, report, text = pyshacl.validate(
        graph,
        shacl_graph=_shapes(files),
        advanced=False,
        inference="none",
        inplace=True,
        focus_nodes=nodes,
    )
    if not isinstance(report, Graph):
        raise OrchqError(f"the shapes could not be run: {text}")
    found = []
    for result in report.subjects(RDF.type, SHACL.ValidationResult):
        if (None, SHACL.result, result) not in report:
            continue

        def one(name: Any, result: Any = result) -> str:
            return str(report.value(result, name) or "")

        found.append(
            Broken(
                _name(one(SHACL.sourceShape)),
                "warning" if one(SHACL.resultSeverity) == str(SHACL.Warning) else "violation",
                one(SHACL.focusNode),
                one(SHACL.resultPath),
                one(SHACL.value),
                one(SHACL.resultMessage),
            )
        )
    return found


def _name(shape: str) -> str:
    return shape.rpartition("/")[2]
