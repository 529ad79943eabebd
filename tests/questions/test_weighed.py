"""SPARQL over the exported graph gives what the questions answer, in the tool and outside it."""

import re
from pathlib import Path

import pytest
from pyoxigraph import Store
from rdflib import Graph

import orchq
from orchq.knowledge.store import PROLOGUE, select
from orchq.questions.open_graph import weighed_quads

USES = (Path(__file__).parents[2] / "orchq/docs/three-uses.md").read_text(encoding="utf-8")
(QUERY,) = re.findall(r"`at-ff.rq`:\n\n```sparql\n(.*?)```", USES, re.DOTALL)


@pytest.fixture(scope="module")
def store():
    store = Store()
    store.bulk_extend(weighed_quads(orchq.load()))
    return store


def asked(graph, on, at, level):
    """The table of ``orchq ask techniques``, without who says so."""
    return {
        (each.technique, each.softest, each.loudest, each.verdict)
        for each in graph.ask.techniques(on=on, at=at, level=level)
    }


def of(instrument, dynamic, level):
    """README's query for another instrument, dynamic and level of player."""
    query = QUERY.replace("oq:ff", f"oq:{dynamic}").replace("oq:violin", f"oq:{instrument}")
    return query.replace("oq:orchestral", f"oq:{level}")


def rows(store, query):
    return {
        tuple(row[name].value if name in row else None for name in COLUMNS)
        for row in select(store, query)
    }


COLUMNS = ("technique", "softest", "loudest", "verdict")


def test_ten_lines_are_enough():
    assert len(QUERY.splitlines()) == 10


@pytest.mark.parametrize("level", ["student", "orchestral", "soloist"])
@pytest.mark.parametrize("dynamic", ["pppp", "pp", "mf", "ff", "fff"])
@pytest.mark.parametrize("instrument", ["violin", "viola", "cello", "double-bass"])
def test_the_query_answers_as_the_question_does(graph, store, instrument, dynamic, level):
    found = rows(store, of(instrument, dynamic, level))
    assert found == asked(graph, instrument, dynamic, level)
    assert found or dynamic == "pppp"


@pytest.mark.long
def test_another_library_gives_the_same_table(graph):
    outside = Graph().parse(data=orchq.export_knowledge(format="nt"), format="nt")
    found = {
        tuple(None if value is None else str(value) for value in row)
        for row in outside.query(PROLOGUE + QUERY)
    }
    assert found == asked(graph, "violin", "ff", None)
    assert {row[-1] for row in found} == {"allowed", "disputed"}


@pytest.mark.long
def test_an_authority_that_is_trusted_stands_with_every_scope(graph, store):
    trusting = Store()
    trusting.bulk_extend(weighed_quads(orchq.load(), trust="berlioz"))
    scopes = (
        "SELECT ?scope ?said { ?scope a oq:LimitScope OPTIONAL { ?scope oq:scopeAuthority ?said } }"
    )
    authorities = {row.get("said") for row in select(trusting, scopes)}
    assert {each.value for each in authorities} == {"https://w3id.org/orchq/berlioz"}
    assert not any("said" in row for row in select(store, scopes))
    answers = graph.ask.techniques(on="double-bass", at="mf", trust="berlioz")
    expected = {(a.technique, a.softest, a.loudest, a.verdict) for a in answers}
    assert rows(trusting, of("double-bass", "mf", "orchestral")) == expected
