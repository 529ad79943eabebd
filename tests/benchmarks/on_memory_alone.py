"""Count the statements that rest on memory alone, by kind.

A statement with the basis memory stands alone where nothing that was read, measured or derived
speaks about the same thing: for a printed word another word of the same language for the same
directive, for a register one that shares a string, for a limit one of its class about the same
technique, change or compass on the same instrument or family, for a tempo word a note about it.

    python tests/benchmarks/on_memory_alone.py
"""

from collections import Counter
from collections.abc import Hashable, Iterator

from rdflib import RDF, RDFS, Graph, Namespace, URIRef

from orchq.knowledge.data_files import core_files

OQ = Namespace("https://w3id.org/orchq/")
GROUNDED = {OQ[basis] for basis in ("published", "attested", "derived", "physics")}
_SUBJECTS = (
    *("onInstrument", "inFamily", "limitsTechnique", "limitsDynamic", "changesFrom", "changesTo"),
    *("forRole", "ensemble", "inRegister", "withTuning"),
)
_FORMS = ("hasForm", "hasPlural", "hasAbbreviation")


class Statements:
    """The statements of a graph with what each speaks about."""

    def __init__(self, graph: Graph) -> None:
        self.graph = graph
        self.limits = set(graph.transitive_subjects(RDFS.subClassOf, OQ.Limit))

    def topics(self, iri: URIRef) -> Iterator[Hashable]:
        """What a statement speaks about; two share a topic where they speak about the same."""
        graph = self.graph
        kinds = set(graph.objects(iri, RDF.type))
        if OQ.Term in kinds:
            for name in _FORMS:
                for form in graph.objects(iri, OQ[name]):
                    yield graph.value(iri, OQ.names), form.language
        elif OQ.Register in kinds:
            yield from graph.objects(iri, OQ.coversString)
        elif OQ.TempoWord in kinds:
            yield iri
        elif kinds & self.limits:
            about = tuple(frozenset(graph.objects(iri, OQ[name])) for name in _SUBJECTS)
            if any(about):
                yield frozenset(kinds & self.limits), about

    def counted(self) -> tuple[Counter[str], Counter[str]]:
        """How many statements rest on memory, and how many of these on nothing else, by kind."""
        graph = self.graph
        beside: set[Hashable] = set()
        for basis in GROUNDED:
            for iri in graph.subjects(OQ.hasBasis, basis):
                beside.update(self.topics(iri))
                if (iri, RDF.type, OQ.PracticeNote) in graph:
                    beside.update(graph.objects(iri, OQ.about))
        every, alone = Counter[str](), Counter[str]()
        for iri in graph.subjects(OQ.hasBasis, OQ.memory):
            kind = min(graph.objects(iri, RDF.type)).removeprefix(OQ)
            every[kind] += 1
            alone[kind] += beside.isdisjoint(self.topics(iri))
        return every, alone


if __name__ == "__main__":
    core = Graph()
    for file in core_files():
        core.parse(file)
    every, alone = Statements(core).counted()
    for kind, count in every.most_common():
        print(f"{kind:24}{count:5}{alone[kind]:6}")
    print(f"{'all':24}{every.total():5}{alone.total():6}")
