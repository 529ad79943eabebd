"""The structure shapes: each constraint is broken once, and pySHACL must agree on what is found."""

import random
from collections.abc import Iterator
from functools import cache

import pyshacl
import pytest
import rdflib
from pyoxigraph import Quad, RdfFormat, Store, parse, serialize
from rdflib import RDF, RDFS, SH, Literal, URIRef
from rdflib.term import Node

from orchq.knowledge import load
from orchq.knowledge.data_files import data_directory
from orchq.knowledge.store import load_files
from orchq.project.score_input import _sentences
from orchq.rules.checking import structure_files
from orchq.rules.structure import StructureFault, structure_faults
from orchq.terms import OQ, XSD

EX = rdflib.Namespace("https://example.org/score#")
WELL_FORMED = """
@prefix ex: <https://example.org/score#> .
@prefix oq: <https://w3id.org/orchq/> .

ex:score a oq:Excerpt ; oq:hasPart ex:part .
ex:part a oq:Part ; oq:partName "Violins" ; oq:partId "P1" ; oq:partIndex 0 ;
    oq:forInstrument oq:violin ; oq:isSection true ; oq:playerCount 8 ;
    oq:hasTunedString ex:string ; oq:hasEvent ex:event , ex:later ; oq:hasMark ex:mark ;
    oq:hasSpan ex:slur , ex:hairpin .
ex:string a oq:String ; oq:stringNumber 1 ; oq:openPitch "E5" .
ex:event a oq:Event ; oq:measureIndex 0 ; oq:measureNumber "1" ; oq:beat 1 ; oq:onset 0 ;
    oq:duration 1.5 ; oq:voice "1" ; oq:staff 1 ; oq:tremoloStrokes 3 ;
    oq:isGrace false ; oq:isCue false ;
    oq:hasNote ex:note ; oq:marked oq:down-bow ; oq:inState ex:state .
ex:later a oq:Event ; oq:measureIndex 0 ; oq:onset 1.5 ; oq:duration 1 ;
    oq:hasNote ex:second-note .
ex:note a oq:Note ; oq:pitch "Bb4" ; oq:tiesForward true ; oq:tiedBack false ;
    oq:printedString 2 ; oq:printedFinger "1" ; oq:harmonicRole "touching" ;
    oq:notehead "diamond" .
ex:second-note a oq:Note ; oq:pitch "F##5" .
ex:state a oq:PlayingState ; oq:usesTechnique oq:spiccato ; oq:atDynamic oq:p ;
    oq:callsString oq:on-a-string ; oq:divisiParts 1 .
ex:mark a oq:Mark ; oq:measureIndex 0 ; oq:measureNumber "1" ; oq:beat 1 ; oq:onset 0 ;
    oq:voice "1" ; oq:staff 1 ; oq:asksFor oq:spiccato ; oq:printedText "spicc." ;
    oq:quartersPerMinute 96 ; oq:callsPlayers 2 ; oq:retunesString ex:string ;
    oq:keySignature -3 ; oq:setsPedals "Db C# B" .
ex:slur a oq:Slur ; oq:startsAt ex:event ; oq:endsAt ex:later .
ex:acceptance a oq:Acceptance ; oq:acceptedOn ex:event ; oq:reason "asked for" ;
    oq:acceptsRule <https://w3id.org/orchq/rule/chord-too-soft> .
<https://w3id.org/orchq/rule/chord-too-soft> a oq:Rule .
ex:hairpin a oq:Hairpin ; oq:grows true ; oq:onset 0 ; oq:endOnset 1.5 ; oq:staff 1 .
"""

SOUND = rdflib.Graph().parse(data=WELL_FORMED, format="turtle")
SHAPES = rdflib.Graph()
for _file in structure_files():
    SHAPES.parse(_file)


def _local(node: object) -> str:
    return str(node).rsplit("/", 1)[-1]


def cases() -> Iterator[tuple[str, URIRef, URIRef]]:
    """Every constraint: its name for the report, the target, the property shape."""
    for shape, target in sorted(SHAPES.subject_objects(SH.targetClass)):
        for prop in sorted(SHAPES.objects(shape, SH.property)):
            for component in sorted(SHAPES.predicates(prop)):
                if component not in (RDF.type, SH.path, SH.message):
                    yield f"{_local(prop)}:{component.fragment}", target, prop


CASES = {(name, target, prop) for name, target, prop in cases()}


def broken(target: URIRef, prop: URIRef, component: str) -> tuple[rdflib.Graph, URIRef]:
    """A well-formed excerpt that breaks one constraint, and the node that does."""
    graph = rdflib.Graph()
    for triple in SOUND:
        graph.add(triple)
    path = SHAPES.value(prop, SH.path)
    if not isinstance(path, URIRef):
        return unowned(graph, target, owners(path), component)
    node = next(n for n in sorted(graph.subjects(RDF.type, target)) if (n, path, None) in graph)
    limit = SHAPES.value(prop, SH[component])
    wrong = {
        "minCount": None,
        "datatype": Literal("neither", datatype=URIRef(XSD + "token")),
        "minInclusive": Literal(limit.toPython() - 1) if component == "minInclusive" else None,
        "class": EX.nothing,
        "nodeKind": Literal("H4") if limit == SH.IRI else EX.nothing,
        "pattern": Literal(" "),
        "in": Literal("fingered"),
    }
    if component == "maxCount":
        value = graph.value(node, path)
        other = EX.another if isinstance(value, URIRef) else Literal(f"{value}0")
        graph.add((node, path, other))
    else:
        graph.remove((node, path, None))
        if wrong[component] is not None:
            graph.add((node, path, wrong[component]))
    return graph, node


def owners(path: Node) -> list[Node]:
    """The properties that a path goes back along."""
    several = SHAPES.value(path, SH.alternativePath)
    return [
        SHAPES.value(way, SH.inversePath) for way in (SHAPES.items(several) if several else [path])
    ]


def unowned(
    graph: rdflib.Graph, target: URIRef, names: list[Node], component: str
) -> tuple[rdflib.Graph, URIRef]:
    """An excerpt in which nothing names a node, or two do."""
    node = min(graph.subjects(RDF.type, target))
    if component == "class":
        for name in names:
            graph.remove((None, name, node))
        graph.add((EX.nothing, names[0], node))
    elif component == "maxCount":
        graph.add((EX.another, names[0], node))
    else:
        for name in names:
            graph.remove((None, name, node))
    return graph, node


@cache
def ontology() -> tuple[Quad, ...]:
    """Types, subclasses and paths: all of the ontology that a structure shape asks about."""
    paths = (*SHAPES.objects(None, SH.path), *SHAPES.objects(None, SH.inversePath))
    wanted = {str(node) for node in (RDF.type, RDFS.subClassOf, *paths)}
    return tuple(quad for quad in load().quads if quad.predicate.value in wanted)


def faults_of(graph: rdflib.Graph) -> list[StructureFault]:
    data = graph.serialize(format="nt", encoding="utf-8")
    store = Store()
    store.extend((*ontology(), *parse(data, RdfFormat.N_TRIPLES)))
    return list(structure_faults(store, structure_files()))


def faulty_nodes(graph: rdflib.Graph) -> set[str]:
    return {fault.node for fault in faults_of(graph)}


def reference_report(graph: rdflib.Graph) -> rdflib.Graph:
    triples = serialize((quad.triple for quad in ontology()), format=RdfFormat.N_TRIPLES)
    data = graph + rdflib.Graph().parse(data=triples, format="nt")
    _, report, text = pyshacl.validate(data, shacl_graph=SHAPES, inplace=True)
    assert isinstance(report, rdflib.Graph), text
    return report


def reference_nodes(graph: rdflib.Graph) -> set[str]:
    return {str(node) for node in reference_report(graph).objects(None, SH.focusNode)}


def test_well_formed_excerpt_has_no_faults():
    assert faulty_nodes(SOUND) == reference_nodes(SOUND) == set()


@pytest.mark.sampled(4)
@pytest.mark.parametrize("case", sorted(CASES), ids=lambda case: case[0])
def test_each_constraint_finds_its_fault(case):
    name, target, prop = case
    graph, node = broken(target, prop, name.partition(":")[2])
    assert str(node) in faulty_nodes(graph)


def test_reference_finds_the_same_faults():
    """All broken excerpts in one graph, their nodes named apart: pySHACL is slow to start."""
    together = rdflib.Graph()
    for number, (name, target, prop) in enumerate(sorted(CASES)):
        own = f"{EX}{number}/"
        graph, _ = broken(target, prop, name.partition(":")[2])
        for triple in graph:
            together.add(tuple(renamed(node, own) for node in triple))
    found = faulty_nodes(together)
    assert len({node.removeprefix(EX).partition("/")[0] for node in found}) == len(CASES)
    assert reference_nodes(together) == found


def renamed(node: Node, own: str) -> Node:
    return URIRef(node.replace(EX, own)) if isinstance(node, URIRef) else node


@pytest.mark.parametrize("value", ["1", "1.0", "0.333333"])
def test_numbers_may_be_integers_or_decimals(value):
    text = WELL_FORMED.replace("oq:duration 1.5", f"oq:duration {value}")
    assert faulty_nodes(rdflib.Graph().parse(data=text, format="turtle")) == set()


def test_a_short_excerpt_written_by_hand_is_well_formed():
    text = """
    @prefix oq: <https://w3id.org/orchq/> .
    [] a oq:Part ; oq:forInstrument oq:cello ; oq:hasEvent [
        a oq:Event ; oq:measureIndex 0 ; oq:onset 0 ; oq:duration 2 ;
        oq:hasNote [ a oq:Note ; oq:pitch "C2" ] ] .
    """
    assert faulty_nodes(rdflib.Graph().parse(data=text, format="turtle")) == set()


def test_every_property_of_the_vocabulary_has_a_structure_shape():
    excerpt = load_files([data_directory("ontology") / "vocabulary" / "excerpt.ttl"])
    declared = {
        quad.subject.value
        for quad in excerpt.quads_for_pattern(None, None, None)
        if quad.object.value.endswith(("#ObjectProperty", "#DatatypeProperty"))
    }
    shaped = {str(path) for path in SHAPES.objects(None, SH.path) if isinstance(path, URIRef)}
    assert declared <= shaped
    assert shaped - declared == {OQ + "stringNumber", OQ + "openPitch"}


# --------------------------------------------------------------- broken at random

BATCH = 10
"""Excerpts in one graph: pySHACL is slow to start."""

WRONG = [
    Literal("neither"),
    Literal("Bb4"),
    Literal("touching", lang="en"),
    Literal(-1),
    Literal(0),
    Literal("2"),
    Literal("1.5", datatype=URIRef(XSD + "decimal")),
    Literal("maybe", datatype=URIRef(XSD + "boolean")),
    Literal("1", datatype=URIRef(XSD + "boolean")),
    Literal("abc", datatype=URIRef(XSD + "integer")),
    Literal("abc", datatype=URIRef(XSD + "decimal")),
    Literal("007", datatype=URIRef(XSD + "integer")),
    Literal("NaN", datatype=URIRef(XSD + "double")),
    Literal("INF", datatype=URIRef(XSD + "double")),
    Literal("2", datatype=URIRef(XSD + "byte")),
    Literal(""),
    EX.nothing,
    EX.note,
    EX.event,
    URIRef(OQ + "spiccato"),
    URIRef(OQ + "p"),
    URIRef(OQ + "violin"),
    URIRef(OQ + "bowed-strings"),
]
KINDS = [
    URIRef(OQ + name)
    for name in ("Note", "Event", "Slur", "Hairpin", "Span", "Part", "Excerpt", "BowStroke")
] + [EX.Fiddle]


def spoilt(chance: random.Random) -> rdflib.Graph:
    """A well-formed excerpt with one to four statements lost, changed or added."""
    graph = rdflib.Graph()
    for triple in SOUND:
        graph.add(triple)
    # a class of one's own, whose nodes are notes as well
    graph.add((EX.Fiddle, RDFS.subClassOf, URIRef(OQ + "Note")))
    for _ in range(chance.randint(1, 4)):
        node, path, value = chance.choice(sorted(graph))
        if path == RDF.type:
            graph.set((node, path, chance.choice(KINDS)))
            continue
        kind = chance.choice(["lost", "changed", "added"])
        if kind != "added":
            graph.remove((node, path, value))
        if kind != "lost":
            graph.add((node, path, chance.choice(WRONG)))
    return graph


def batch(number: int) -> rdflib.Graph:
    """Excerpts broken at random in one graph, their nodes named apart."""
    together = rdflib.Graph()
    for place in range(BATCH):
        own = f"{EX}{place}/"
        for triple in spoilt(random.Random(f"{number}/{place}")):  # noqa: S311 - not for secrets
            together.add(tuple(renamed(node, own) for node in triple))
    return together


def reference_pairs(graph: rdflib.Graph) -> set[tuple[str, str]]:
    report = reference_report(graph)
    return {
        (str(report.value(result, SH.focusNode)), str(report.value(result, SH.sourceShape)))
        for result in report.subjects(RDF.type, SH.ValidationResult)
    }


@pytest.mark.parametrize(
    "number", [*range(3), *(pytest.param(n, marks=pytest.mark.long) for n in range(3, 20))]
)
def test_reference_finds_the_same_faults_in_what_is_broken_at_random(number, tmp_path):
    graph = batch(number)
    faults = faults_of(graph)
    found = {(fault.node, fault.shape) for fault in faults}
    assert found == reference_pairs(graph)
    path = tmp_path / "broken.ttl"
    graph.serialize(path, format="nt")  # a writer of Turtle sorts, and compares what is no number
    told = {each.partition(": ")[2] for each in _sentences(faults, path)}
    assert told == {f"{fault.node}: {fault.message}" for fault in faults}
    assert len({node.removeprefix(EX).partition("/")[0] for node, _ in found}) > BATCH // 2
