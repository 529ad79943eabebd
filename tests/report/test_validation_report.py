"""The report as a validation report of SHACL is one by SHACL's own words."""

import pyshacl
import pytest
from rdflib import RDF, SH, Graph, URIRef

from orchq import format_report
from orchq.rules.finding import Place, ValidationResult

# What a validation result must have: SHACL, W3C Recommendation of 2017, section 3.6.2.
REPORT_SHAPE = """
@prefix sh: <http://www.w3.org/ns/shacl#> .

<urn:result> a sh:NodeShape ;
    sh:targetClass sh:ValidationResult ;
    sh:property
        [ sh:path sh:focusNode ; sh:minCount 1 ; sh:maxCount 1 ] ,
        [ sh:path sh:resultSeverity ; sh:minCount 1 ; sh:maxCount 1 ; sh:nodeKind sh:IRI ] ,
        [ sh:path sh:sourceConstraintComponent ; sh:minCount 1 ; sh:maxCount 1 ] .

<urn:report> a sh:NodeShape ;
    sh:targetClass sh:ValidationReport ;
    sh:property
        [ sh:path sh:conforms ; sh:minCount 1 ; sh:maxCount 1 ] ,
        [ sh:path sh:result ; sh:class sh:ValidationResult ] .
"""
BELOW = "https://w3id.org/orchq/rule/note-below-lowest-string-violation"


def results(*names):
    return tuple(
        ValidationResult(f"https://example.org/{name}", BELOW, "too low") for name in names
    )


@pytest.mark.parametrize("count", [0, 1])
def test_it_is_one_report_that_conforms_where_nothing_is_found(make_finding, make_outcome, count):
    findings = [make_finding(results=results("one", "two"))] * count
    graph = Graph().parse(data=format_report(make_outcome(*findings, unread=True), "shacl"))
    assert pyshacl.validate(graph, shacl_graph=Graph().parse(data=REPORT_SHAPE))[0]
    (report,) = graph.subjects(RDF.type, SH.ValidationReport)
    assert graph.value(report, SH.conforms).toPython() is (count == 0)
    assert len(set(graph.objects(report, SH.result))) == 2 * count


def test_every_place_of_a_habit_is_a_result(make_finding, make_outcome):
    places = tuple(
        Place("1", 0, 1.0, ("F3",), f"x:{name}", results(name)) for name in ("first", "second")
    )
    finding = make_finding(places=places, severity="warning")
    graph = Graph().parse(data=format_report(make_outcome(finding), "shacl"))
    focused = {str(node) for node in graph.objects(None, SH.focusNode)}
    assert focused == {"https://example.org/first", "https://example.org/second"}
    assert set(graph.objects(None, SH.resultSeverity)) == {SH.Warning}
    assert set(graph.objects(None, SH.sourceShape)) == {URIRef(BELOW)}


def test_what_is_accepted_is_no_result(make_accepted, make_outcome):
    accepted = make_accepted("settings", results=results("one"))
    graph = Graph().parse(data=format_report(make_outcome(accepted=(accepted,)), "shacl"))
    assert not set(graph.subjects(RDF.type, SH.ValidationResult))
