"""The ontology conforms to its shapes, and every shape can fail."""

import tomllib
from pathlib import Path

import pytest
from rdflib import SH, BNode, Graph

DATA = Path(__file__).parent / "data"
BROKEN = tomllib.loads((DATA / "broken.toml").read_text(encoding="utf-8"))
PREFIXES = "\n".join(
    line
    for line in (DATA / "good.ttl").read_text(encoding="utf-8").splitlines()
    if line.startswith("@prefix")
)


@pytest.fixture(scope="session")
def good(class_tree):
    return class_tree + Graph().parse(DATA / "good.ttl")


def _turtle(text):
    return Graph().parse(data=f"{PREFIXES}\n{text}", format="turtle")


@pytest.mark.long
def test_the_ontology_conforms(ontology, validate):
    assert validate(ontology + Graph()) == []


def test_the_good_graph_conforms(good, validate):
    assert validate(good + Graph()) == []


@pytest.mark.sampled(4)
@pytest.mark.parametrize("shape", sorted(BROKEN))
def test_a_broken_graph_fails_this_shape(shape, good, validate):
    assert {name for name, _ in validate(_broken(shape, good), only=shape)} == {shape}


@pytest.mark.sampled(4)
@pytest.mark.parametrize("shape", sorted(BROKEN)[::8])
def test_a_broken_graph_fails_no_other_shape(shape, good, validate):
    assert {name for name, _ in validate(_broken(shape, good))} == {shape}


@pytest.mark.nightly
@pytest.mark.parametrize("shape", sorted(BROKEN))
def test_each_broken_graph_fails_no_other_shape(shape, good, validate):
    assert {name for name, _ in validate(_broken(shape, good))} == {shape}


def _broken(shape, good):
    without = _turtle(BROKEN[shape].get("without", ""))
    assert set(without) <= set(good), "the case takes out what is not there"
    return good - without + _turtle(BROKEN[shape].get("with", ""))


def test_every_shape_has_a_case(top_shapes):
    assert top_shapes == set(BROKEN)


def test_shapes_and_constraints_have_names(shapes, top_shapes):
    constraints = set(shapes.objects(None, SH.sparql)) | set(shapes.subjects(SH.select))
    assert not [node for node in constraints if isinstance(node, BNode)]
    typed = {*shapes.subjects(None, SH.NodeShape), *shapes.subjects(None, SH.PropertyShape)}
    assert not [node for node in typed if isinstance(node, BNode)]
    assert len(typed) >= len(top_shapes)


def test_every_failure_has_words(shapes, top_shapes):
    for name in top_shapes:
        shape = next(node for node in shapes.subjects() if str(node).endswith(f"/{name}"))
        query = shapes.value(shape, SH.sparql)
        assert shapes.value(query or shape, SH.message) is not None, name
