"""Engines that are not ours find on exported files what the check finds, in the same words.

They are pySHACL and Rudof (its own SPARQL and SHACL), which share no code.
"""

import re
from collections import Counter
from pathlib import Path

import pyrudof
import pyshacl
import pytest
from pyoxigraph import Quad, RdfFormat, Store, serialize
from rdflib import RDF, SH, Graph

import orchq
from orchq.derive.derivation import derive
from orchq.excerpt import read_excerpt_quads, score_from_quads
from orchq.rules.checking import rules_of
from orchq.rules.engine import run_fast
from orchq.rules.plain import derived_triples, plain_shapes

TESTS = Path(__file__).parents[1]
RULES = TESTS / "rules"
USES = (TESTS.parent / "orchq" / "docs" / "three-uses.md").read_text(encoding="utf-8")
(PASSAGE,) = re.findall(r"`passage.ttl`:\n\n```turtle\n(.*?)```", USES, re.DOTALL)
EXPECTED = "https://example.org/expect#"
SCORE = "https://example.org/score#"


def rudof(data, shapes):
    """What Rudof reports: node in focus, shape and message of each result."""
    engine = pyrudof.Rudof(pyrudof.RudofConfig())
    strict = pyrudof.ReaderMode.Strict
    engine.read_data(data, pyrudof.RDFFormat.NTriples, reader_mode=strict)
    engine.read_shacl(shapes, reader_mode=strict)
    return Counter(
        (each.focus_node, each.source_shape, each.message.removeprefix('"').removesuffix('"@en'))
        for each in engine.validate_shacl()
    )


def reported(graph):
    """The results of a validation report."""
    return Counter(
        tuple(
            str(graph.value(result, name))
            for name in (SH.focusNode, SH.sourceShape, SH.resultMessage)
        )
        for result in graph.subjects(RDF.type, SH.ValidationResult)
    )


def reference(data, shapes):
    """What pySHACL reports."""
    _, graph, _ = pyshacl.validate(
        Graph().parse(data=data, format="nt"), shacl_graph=Graph().parse(data=shapes)
    )
    return reported(graph)


def ours(path):
    """What ``orchq check --format shacl`` reports."""
    outcome = orchq.Project(advice=False).check(path)
    return reported(Graph().parse(data=orchq.format_report(outcome, "shacl")))


@pytest.fixture(scope="module")
def shapes():
    return orchq.export_shapes()


@pytest.fixture
def passage(tmp_path):
    path = tmp_path / "passage.ttl"
    path.write_text(PASSAGE, encoding="utf-8")
    return path


def exported(path):
    return orchq.export(path, format="nt", derived=True)


@pytest.mark.long
def test_the_passage_of_readme(passage, shapes):
    found = ours(passage)
    assert len(found) == 2
    data = exported(passage)
    assert rudof(data, shapes) == reference(data, shapes) == found


@pytest.mark.long
def test_without_what_is_derived_nothing_is_found(passage, shapes):
    """The false all-clear of which the page warns."""
    data = orchq.export(passage, format="nt") + orchq.export_knowledge(format="nt")
    assert not rudof(data, shapes)


@pytest.mark.long
def test_the_demo(shapes):
    found = ours(orchq.demo_path())
    assert len(found) == 16
    assert rudof(exported(orchq.demo_path()), shapes) == found


@pytest.mark.nightly
def test_the_demo_by_pyshacl(shapes):
    assert reference(exported(orchq.demo_path()), shapes) == ours(orchq.demo_path())


# -------------------------------------------------------------------- fixtures of rules


def sample(failing, passing):
    """So many failing and passing fixtures of each rule."""
    for folder in sorted(path for path in RULES.iterdir() if path.is_dir()):
        yield from sorted(folder.glob("fail-*.ttl"))[:failing]
        yield from sorted(folder.glob("pass-*.ttl"))[:passing]


def fixture(path, tmp_path):
    """The excerpt of a fixture, whose nodes have names of their own."""
    own = f"https://example.org/{path.parent.name}/{path.stem}#"
    copy = tmp_path / f"{path.parent.name}-{path.name}"
    copy.write_text(path.read_text(encoding="utf-8").replace(SCORE, own), encoding="utf-8")
    quads = read_excerpt_quads(copy)
    return [quad for quad in quads if not quad.predicate.value.startswith(EXPECTED)]


def joined(paths, tmp_path):
    """The graph with excerpts and what is derived from each; all rules; and what we find."""
    knowledge = orchq.load([RULES / "knowledge.ttl", "harp"])
    triples = {}
    for path in paths:
        quads = fixture(path, tmp_path)
        derivation = derive(score_from_quads(quads, path), knowledge)
        triples |= dict.fromkeys(derived_triples(knowledge, quads, derivation))
    data = serialize(triples, format=RdfFormat.N_TRIPLES).decode()
    store = Store()
    store.bulk_extend(Quad(*triple) for triple in triples)
    found = {(row.focus, row.shape.iri) for row in run_fast(store, rules_of(knowledge)[1])}
    return data, serialize(plain_shapes(knowledge), format=RdfFormat.TURTLE).decode(), found


def pairs(results):
    return {(focus, shape) for focus, shape, _ in results}


@pytest.mark.long
def test_fixtures_of_all_rules(tmp_path):
    data, shapes, found = joined(sample(1, 1), tmp_path)
    results = rudof(data, shapes)
    assert pairs(results) == found
    assert set(results.values()) == {1}, "a result stands twice"


@pytest.mark.nightly
def test_more_fixtures_of_all_rules(tmp_path):
    paths = list(sample(4, 2))
    assert len(paths) > 200
    data, shapes, found = joined(paths, tmp_path)
    assert pairs(rudof(data, shapes)) == found
    assert len(found) > 150


@pytest.mark.nightly
def test_fixtures_of_all_rules_by_pyshacl(tmp_path):
    data, shapes, found = joined(sample(1, 1), tmp_path)
    assert pairs(reference(data, shapes)) == found
