"""Every cost is described and weighed in the graph, and the graph weighs no other."""

import json

import pytest

import orchq
from orchq.cli.app import main
from orchq.derive.path import cost_iri, path_weights
from orchq.derive.path.costs import move_terms, posture_terms
from orchq.derive.path.moments import Moment
from orchq.derive.path.postures import Printed
from orchq.errors import OrchqError
from orchq.knowledge import Knowledge
from orchq.terms import OQ, RDF_TYPE, oq


@pytest.fixture
def names(search_on):
    table = search_on("violin").table
    one, other = (table.of(((pitch,), (Printed(),))) for pitch in (69, 71))
    moment = Moment()
    return {*posture_terms(table.board, one, moment), *move_terms(table.board, one, other, moment)}


def test_every_cost_of_the_code_is_described_and_none_else(knowledge, names):
    described = {
        quad.subject.value
        for quad in knowledge.quads
        if quad.predicate == RDF_TYPE and quad.object == oq("PathCost")
    }
    assert described == {cost_iri(name) for name in names}


def test_every_cost_is_weighed_or_a_demand(knowledge, names):
    weighed = {
        name for name, _ in path_weights(knowledge, knowledge.instruments[OQ + "violin"]).terms
    }
    demanded = {
        quad.object.value
        for quad in knowledge.quads
        if quad.predicate.value == OQ + "weighsCost" and "demand-weight-" in quad.subject.value
    }
    assert weighed <= names
    assert all(cost_iri(name) in demanded for name in names - weighed)


def test_weights_of_an_instrument_displace_the_others(knowledge):
    violin, cello = (
        dict(path_weights(knowledge, knowledge.instruments[OQ + slug]).terms)
        for slug in ("violin", "cello")
    )
    assert violin.keys() == cello.keys()
    assert cello["reach-forward"] < violin["reach-forward"]


def test_demands_are_never_negative(knowledge):
    found = [
        float(quad.object.value)
        for quad in knowledge.quads
        if quad.predicate.value == OQ + "demands"
    ]
    assert found
    assert min(found) >= 0


def test_a_graph_without_weights_says_so(knowledge):
    quads = [q for q in knowledge.quads if q.predicate.value != OQ + "weighs"]
    bare = Knowledge(quads)
    with pytest.raises(OrchqError, match="no weights"):
        path_weights(bare, bare.instruments[OQ + "violin"])


# --------------------------------------------------------------- the command line


def test_json_is_as_designed(capsys):
    assert main(["fingering", str(orchq.demo_path()), "--json"]) == 0
    written = json.loads(capsys.readouterr().out)
    assert written.keys() == {"parts"}
    for index, part in enumerate(written["parts"]):
        assert part.keys() == {"name", "index", "notes"}
        assert part["index"] == index
        onsets = [note["onset"] for note in part["notes"]]
        assert onsets == sorted(onsets)
        for note in part["notes"]:
            assert note.keys() - {"departs"} == {
                "measure", "onset", "duration", "pitch", "midi", "string", "position", "finger",
            }  # fmt: skip


def test_wrong_calls_end_with_one_sentence(capsys, tmp_path):
    demo = str(orchq.demo_path())
    assert main(["fingering", demo, "-o", str(tmp_path / "x.mxl")]) == 2
    assert main(["fingering", str(tmp_path / "none.musicxml")]) == 2
    assert main(["fingering", demo, "-o", demo]) == 2
    assert main(["difficulty", demo, "--level", "nobody"]) == 2
    errors = capsys.readouterr().err.strip().splitlines()
    assert len(errors) == 4
    assert not any("Traceback" in line for line in errors)
