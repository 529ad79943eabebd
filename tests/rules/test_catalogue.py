"""The rules as a catalogue: what each says of itself, and what a faulty one is told."""

import re
from pathlib import Path

import pyshacl
import pytest
import rdflib

from orchq.errors import OrchqError
from orchq.knowledge import load
from orchq.knowledge.data_files import core_files, data_directory, turtle_files
from orchq.knowledge.store import load_files, select
from orchq.rules.catalogue import RULE, load_rules
from orchq.rules.checking import prefix_file, rule_files
from orchq.terms import PREFIXES

RULE_SHAPE = data_directory("shapes") / "rule-shape.ttl"
RULES = [path for path in rule_files() if path.is_file()]
SAMPLE = (data_directory("shapes") / "rules" / "note-below-lowest-string.ttl").read_text()


@pytest.fixture(scope="module")
def ontology() -> rdflib.Graph:
    graph = rdflib.Graph()
    for file in core_files():
        graph.parse(file)
    return graph


def conforms(rules: rdflib.Graph, ontology: rdflib.Graph) -> tuple[bool, str]:
    shapes = rdflib.Graph().parse(RULE_SHAPE)
    result, report, text = pyshacl.validate(rules + ontology, shacl_graph=shapes, inplace=True)
    assert isinstance(report, rdflib.Graph), text
    return bool(result), text


def test_rules_conform_to_the_shape_over_rules(ontology):
    rules = rdflib.Graph()
    for file in RULES:
        rules.parse(file)
    result, text = conforms(rules, ontology)
    assert result, text


FAULTS = {
    "no why": (r"oq:whyItMatters .*\n", ""),
    "no instead": (r"oq:whatInstead .*\n", ""),
    "no bad example": (r"oq:badExample .*\n", ""),
    "no good example": (r"oq:goodExample .*\n", ""),
    "no basis": (r"oq:hasBasis .*\n", ""),
    "no label": (r"skos:prefLabel .*\n", ""),
    "no severity": (r"sh:severity .*\n", ""),
    "no message": (r"sh:message .*\n", ""),
    "no target": (r"sh:targetClass .*\n", ""),
    "no query": (r"sh:sparql .*;\n|;\n    sh:sparql [^;]*(?= \.)", ""),
    "no prefixes": (r"sh:prefixes .*\n", ""),
    "published without a source": (r"oq:physics", "oq:published"),
    "source without being published": (r"oq:physics", "oq:physics ; oq:accordingTo oq:berlioz"),
    "other columns": (r"\$this \?value \?other \?limit WHERE", "$this ?value WHERE"),
    "another severity": (r"sh:Violation", "sh:Catastrophe"),
    "a second mechanism": (r"sh:severity", "sh:property [ sh:path oq:pitch ] ; sh:severity"),
}


@pytest.mark.sampled(4)
@pytest.mark.parametrize("fault", FAULTS)
def test_rule_shape_and_loader_both_find(fault, ontology, tmp_path):
    pattern, text = FAULTS[fault]
    broken, changes = re.subn(pattern, text, SAMPLE, count=1)
    assert changes
    file = tmp_path / "broken.ttl"
    file.write_text(broken)
    assert not conforms(rdflib.Graph().parse(file), ontology)[0]
    with pytest.raises(OrchqError, match=r"broken\.ttl:\d+: note-below-lowest-string"):
        load_rules([file])


def test_a_text_that_is_too_short_is_told_its_least_length(ontology):
    short = re.sub(r'(oq:whatInstead) "[^"]*"', r'\1 "Write another note"', SAMPLE)
    result, text = conforms(rdflib.Graph().parse(data=short, format="turtle"), ontology)
    assert not result
    assert "in English and in 20 characters or more, what to write instead" in text


def test_messages_name_the_least_length():
    shapes = rdflib.Graph().parse(RULE_SHAPE)
    lengths = list(shapes.subject_objects(rdflib.SH.minLength))
    assert len(lengths) > 3
    for shape, least in lengths:
        message = str(shapes.value(shape, rdflib.SH.message))
        assert f" {least} characters or more" in message, shape


@pytest.mark.parametrize(
    "construct",
    [
        "MINUS { ?value oq:tiedBack true }",
        "VALUES ?other { 1 }",
        "{ SELECT ?value WHERE { ?value oq:midi 1 } }",
        "{ ?value oq:midi 1 } UNION { ?value oq:midi 2 }",
        "SERVICE <https://example.org/> { ?value oq:midi 1 }",
        "GRAPH ?other { ?value oq:midi 1 }",
        "BIND (oq:a AS ?this)",
        "FILTER (?value != $currentShape)",
        "FILTER (?value != ?shapesGraph)",
        "?value $PATH ?other",
    ],
)
def test_loader_refuses_what_the_engines_do_not_share(construct, tmp_path):
    file = tmp_path / "broken.ttl"
    file.write_text(SAMPLE.replace("FILTER (?midi < ?reach)", construct))
    with pytest.raises(OrchqError, match="orchq rules may not use it"):
        load_rules([file])


@pytest.mark.parametrize("slot", ["{$this}", "{?this}", "{?where}"])
def test_loader_refuses_a_message_that_names_what_engines_name_differently(slot, tmp_path):
    file = tmp_path / "broken.ttl"
    file.write_text(SAMPLE.replace("{?value}", slot))
    with pytest.raises(OrchqError, match="orchq rules may not use it"):
        load_rules([file])


def test_loader_names_a_query_that_is_not_sparql(tmp_path):
    file = tmp_path / "broken.ttl"
    file.write_text(SAMPLE.replace("FILTER (?midi < ?reach)", "FILTER (?midi <"))
    with pytest.raises(OrchqError, match="not SPARQL"):
        load_rules([file])


def test_a_rule_cannot_be_defined_twice(tmp_path):
    for name in ("one.ttl", "two.ttl"):
        (tmp_path / name).write_text(SAMPLE)
    with pytest.raises(OrchqError, match="defined twice"):
        load_rules([tmp_path])


def test_file_name_is_slug():
    for file in RULES:
        rules, shapes = load_rules([file])
        assert [rule.slug for rule in rules] == [file.stem]
        assert all(shape.iri.startswith(f"{RULE}{file.stem}-") for shape in shapes)


def test_severities_are_those_of_the_shapes_gravest_first():
    rules, shapes = load_rules(rule_files())
    order = ["violation", "warning", "info"]
    for rule in rules:
        own = {shape.severity for shape in shapes if shape.rule_slug == rule.slug}
        assert list(rule.severities) == [severity for severity in order if severity in own]


def test_evidence_of_a_published_rule_names_source_and_place(tmp_path):
    file = tmp_path / "rule.ttl"
    file.write_text(
        SAMPLE.replace(
            "oq:hasBasis oq:physics",
            'oq:hasBasis oq:published ; oq:accordingTo oq:berlioz ; oq:locator "page 1"',
        )
    )
    knowledge = load()
    (rule,), _ = load_rules([file], knowledge.label)
    (evidence,) = rule.evidence
    assert evidence.basis == "published"
    assert evidence.locator == "page 1"
    assert evidence.source == knowledge.sources["https://w3id.org/orchq/berlioz"].label


def test_messages_name_columns_that_their_query_binds():
    for shape in load_rules(rule_files())[1]:
        body = shape.query.split("WHERE", 1)[1]
        for column in re.findall(r"\{\?(\w+)\}", shape.message):
            assert f"?{column}" in body, shape.iri


def test_prefixes_of_queries_are_those_of_the_project():
    rows = select(
        load_files([prefix_file()]),
        "SELECT ?prefix ?namespace WHERE { ?d sh:prefix ?prefix ; sh:namespace ?namespace }",
    )
    declared = {row["prefix"].value: row["namespace"].value for row in rows}
    assert declared.pop("rule") == RULE
    assert declared.items() <= PREFIXES.items()


def test_terms_of_the_rules_are_declared():
    declared = load().declared
    for file in [*RULES, RULE_SHAPE, *turtle_files(data_directory("shapes") / "structure")]:
        text = re.sub(r'"@en|^@prefix.*$|^#.*$', "", file.read_text(), flags=re.MULTILINE)
        for name in re.findall(r"(?<![\w:-])oq:([A-Za-z][\w-]*)", text):
            assert f"https://w3id.org/orchq/{name}" in declared, f"{Path(file).name}: oq:{name}"
