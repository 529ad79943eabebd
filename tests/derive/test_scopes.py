"""Scopes: one name for each, the same in a score and in the graph."""

from collections import Counter

import pytest
from pyoxigraph import Literal

from orchq import load, read
from orchq.derive.derivation import derive
from orchq.derive.scopes import knowledge_scopes, scope_iri
from orchq.packaged import demo_path
from orchq.terms import OQ, RDF_TYPE, oq

OF_SCOPES = {"LimitScope", "Weighing"}


@pytest.fixture(scope="module")
def whole():
    return list(knowledge_scopes(load()))


def about_scopes(quads):
    nodes = {q.subject for q in quads if q.predicate == RDF_TYPE and q.object in map(oq, OF_SCOPES)}
    return {quad for quad in quads if quad.subject in nodes}


def test_every_scope_and_weighing_has_a_name_of_its_own(whole):
    assert len(whole) == len(set(whole))
    one_only = {
        *map(oq, ("verdict", "onYardstick", "weighsDynamic", "scopeLevel", "above", "below"))
    }
    counted = Counter((q.subject, q.predicate) for q in whole if q.predicate in one_only)
    assert set(counted.values()) == {1}


def test_a_score_has_scopes_of_the_graph(whole):
    knowledge = load()
    score = read(demo_path(), knowledge)
    found = about_scopes(derive(score, knowledge).quads)
    # What an instrument lacks has a scope only where a score asks for it.
    (lacking,) = {quad.subject for quad in found - set(whole)}
    assert lacking == oq("scope/cello/orchestral/double-tongue")
    assert len(found & set(whole)) > 1000


def test_every_instrument_has_a_scope_for_each_of_its_techniques_and_levels(whole):
    knowledge = load()
    scopes = {quad.subject.value for quad in whole if quad.object == oq("LimitScope")}
    for instrument in knowledge.instruments.values():
        for level in knowledge.levels:
            own = [t.iri for t in knowledge.techniques.values() if t.is_on(instrument)]
            for technique in (None, *own):
                assert scope_iri(instrument.iri, technique, level, None) in scopes


def test_who_permits_and_who_opposes_is_named(whole):
    weighing = oq("scope/violin/orchestral/spiccato/loudest/ff")
    said = {quad.predicate: quad.object for quad in whole if quad.subject == weighing}
    assert said[oq("verdict")] == Literal("unusual")
    assert oq("opposedBy") in said
    assert oq("permittedBy") not in said
    assert said[oq("weighsDynamic")] == oq("ff")


def test_terms_of_others_with_the_same_last_name_have_other_scopes():
    level = OQ + "orchestral"
    names = {
        scope_iri(f"{home}erhu", None, level, None)
        for home in (OQ, "https://example.org/one#", "https://example.org/two#")
    }
    assert len(names) == 3
