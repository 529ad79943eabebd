"""The ontology and its shapes, parsed once for all tests of them."""

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
from rdflib import RDF, RDFS, SH, Graph, Namespace, URIRef
from rdflib.plugins.sparql import prepareQuery

from orchq.knowledge.data_files import core_files

ROOT = Path(__file__).parents[2]
OQ = Namespace("https://w3id.org/orchq/")
TARGETS = (SH.targetClass, SH.targetSubjectsOf, SH.targetObjectsOf, SH.targetNode)

Validate = Callable[..., list[tuple[str, str]]]


@pytest.fixture(scope="session")
def modules() -> dict[str, Graph]:
    """The modules of the core by name: path below ``ontology/``, as in ``instruments/viola``."""
    return {
        file.relative_to(ROOT / "ontology").with_suffix("").as_posix(): Graph().parse(file)
        for file in core_files()
    }


@pytest.fixture(scope="session")
def ontology(modules: dict[str, Graph]) -> Graph:
    whole = Graph()
    for module in modules.values():
        whole += module
    return whole


@pytest.fixture(scope="session")
def shapes() -> Graph:
    graph = Graph().parse(ROOT / "shapes" / "prefixes.ttl")
    for file in sorted((ROOT / "shapes" / "ontology").glob("*.ttl")):
        graph.parse(file)
    return graph


@pytest.fixture(scope="session")
def class_tree(ontology: Graph) -> Graph:
    """Which class lies under which, without the classes themselves."""
    tree = Graph()
    for triple in ontology.triples((None, RDFS.subClassOf, None)):
        tree.add(triple)
    return tree


@pytest.fixture(scope="session")
def top_shapes(shapes: Graph) -> frozenset[str]:
    """Local names of the shapes that have targets of their own."""
    return frozenset(_local(shape) for target in TARGETS for shape in shapes.subjects(target))


@pytest.fixture(scope="session")
def validate(shapes: Graph) -> Validate:
    """A function from a graph to the (shape, focus node) pairs that fail in it.

    With ``only`` it runs one shape, given by its local name.
    """
    import pyshacl  # noqa: PLC0415 - heavy, and only some tests validate

    def alone(name: str) -> Graph:
        """All shapes, since one may lead to others, but no other of them has a target."""
        kept = Graph()
        for shape, predicate, value in shapes:
            if predicate not in TARGETS or _local(shape) == name:
                kept.add((shape, predicate, value))
        return kept

    def run(data: Graph, only: str | None = None) -> list[tuple[str, str]]:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(Graph, "query", _with_prepared_queries(Graph.query))
            conforms, report, text = pyshacl.validate(
                data,
                shacl_graph=shapes if only is None else alone(only),
                advanced=False,
                inference="none",
                inplace=True,
            )
        assert isinstance(report, Graph), text
        failures = [
            (_local(shape), str(report.value(result, SH.focusNode)))
            for result, shape in report.subject_objects(SH.sourceShape)
            if (None, SH.result, result) in report
        ]
        assert conforms is not bool(failures), text
        return failures

    return run


def _local(shape: Any) -> str:
    return str(shape).rpartition("/")[2]


_prepared = lru_cache(maxsize=None)(prepareQuery)


def _with_prepared_queries(query: Callable[..., Any]) -> Callable[..., Any]:
    """Parse each query text once: pySHACL hands over the same text for every focus node."""

    def run(self: Graph, text: Any, *rest: Any, **named: Any) -> Any:
        return query(self, _prepared(text) if isinstance(text, str) else text, *rest, **named)

    return run


@pytest.fixture(scope="session")
def value(ontology: Graph) -> Callable[[str, str], str]:
    """A function from the local names of a subject and a property to the one value."""

    def one(subject: str, name: str) -> str:
        values = list(ontology.objects(OQ[subject], OQ[name]))
        assert len(values) == 1, f"{subject} has {len(values)} values of {name}"
        return str(values[0]).removeprefix(str(OQ))

    return one


@pytest.fixture(scope="session")
def members(ontology: Graph) -> Callable[[str], set[URIRef]]:
    """A function from the local name of a class to its individuals, subclasses included."""

    def of(name: str) -> set[URIRef]:
        below = set(ontology.transitive_subjects(RDFS.subClassOf, OQ[name]))
        return {node for kind in below for node in ontology.subjects(RDF.type, kind)}  # type: ignore[misc]

    return of
