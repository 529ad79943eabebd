"""The report on a check as a validation report of SHACL, in Turtle."""

from collections.abc import Iterator

from pyoxigraph import BlankNode, Literal, NamedNode, RdfFormat, Triple, serialize

from orchq.project import Outcome, Unread
from orchq.report.wording import extensions_in_force
from orchq.rules.catalogue import RULE
from orchq.rules.finding import Finding
from orchq.terms import PREFIXES, RDF_TYPE, RDFS, SH

_COMPONENT = NamedNode(SH + "SPARQLConstraintComponent")


def shacl_report(outcome: Outcome) -> str:
    """Return one ``sh:ValidationReport`` with a result for each node in focus and shape it breaks.

    Extensions in force are named in comments. What is accepted, and files that cannot be read,
    have no place in such a report.
    """
    report = BlankNode()
    findings = [
        finding
        for file in outcome.files
        if not isinstance(file, Unread)
        for finding in file.findings
    ]
    triples = [
        Triple(report, RDF_TYPE, NamedNode(SH + "ValidationReport")),
        Triple(report, NamedNode(SH + "conforms"), Literal(not findings)),
        *(
            Triple(report, NamedNode(RDFS + "comment"), Literal(told, language="en"))
            for told in extensions_in_force(outcome.extensions)
        ),
        *(triple for finding in findings for triple in _results(report, finding)),
    ]
    data = serialize(triples, format=RdfFormat.TURTLE, prefixes=PREFIXES | {"rule": RULE})
    assert data is not None
    return data.decode()


def _results(report: BlankNode, finding: Finding) -> Iterator[Triple]:
    severity = NamedNode(SH + finding.severity.capitalize())
    for place in finding.all_places:
        for each in place.results:
            result = BlankNode()
            yield Triple(report, NamedNode(SH + "result"), result)
            yield Triple(result, RDF_TYPE, NamedNode(SH + "ValidationResult"))
            yield Triple(result, NamedNode(SH + "focusNode"), _node(each.focus))
            yield Triple(result, NamedNode(SH + "sourceShape"), NamedNode(each.shape))
            yield Triple(result, NamedNode(SH + "sourceConstraintComponent"), _COMPONENT)
            yield Triple(result, NamedNode(SH + "resultSeverity"), severity)
            message = Literal(each.message, language="en")
            yield Triple(result, NamedNode(SH + "resultMessage"), message)


def _node(iri: str) -> NamedNode | BlankNode:
    return BlankNode(iri.removeprefix("_:")) if iri.startswith("_:") else NamedNode(iri)
