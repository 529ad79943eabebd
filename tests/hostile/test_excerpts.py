"""Triples that would lose, change or silence something are refused; what is whole is checked."""

import re

import pytest

import orchq
from orchq.errors import OrchqError, ReadError, UnknownTermError

PASSAGE = """
@prefix oq: <https://w3id.org/orchq/> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix xsd: <http://www.w3.org/2001/XMLSchema#> .
@prefix rule: <https://w3id.org/orchq/rule/> .
@prefix sh: <http://www.w3.org/ns/shacl#> .
@prefix my: <https://example.org/p#> .

my:x a oq:Excerpt ; oq:hasPart my:v .
my:v a oq:Part ; oq:partName "Violas" ; oq:forInstrument oq:viola ; oq:isSection true ;
    oq:hasEvent my:e1 .
my:e1 a oq:Event ; oq:measureIndex 0 ; oq:beat 1 ; oq:onset 0 ; oq:duration 1 ; oq:inState my:s ;
    oq:hasNote my:n1 .
my:n1 a oq:Note ; oq:pitch "B2" .
my:s a oq:PlayingState ; oq:usesTechnique oq:spiccato ; oq:atDynamic oq:ff .
"""
EVENT = (
    "a oq:Event ; oq:measureIndex 0 ; oq:onset 0 ; oq:duration 1 ; oq:hasNote my:n2 ."
    ' my:n2 a oq:Note ; oq:pitch "C4" .'
)
OTHER_PART = "my:w a oq:Part ; oq:forInstrument oq:cello ; oq:hasEvent"


@pytest.fixture
def written(tmp_path):
    path = tmp_path / "p.ttl"

    def write(more="", old="", new=""):
        assert old in PASSAGE
        path.write_text(PASSAGE.replace(old, new, 1) + more, encoding="utf-8")
        return path

    return write


def found(path):
    findings = orchq.check(path, advice=False).findings
    return {finding.rule for finding in findings}


LOW = "note-below-lowest-string"
LOUD = "dynamic-outside-envelope"


def test_the_passage_is_too_low_and_too_loud(written):
    assert {LOW, LOUD} <= found(written())


REFUSED = {
    # Core terms described anew: physics, evidence, limits.
    "another tuning": "oq:viola oq:hasStandardTuning oq:cello-standard-tuning .",
    "another meaning": "oq:spiccato oq:implies oq:pizzicato .",
    "a basis that condemns": "oq:common-practice oq:condemns true .",
    "a wider limit": "oq:limit-dynamics-spiccato-memory oq:loudestRank 99 .",
    "a weaker basis": "oq:limit-dynamics-spiccato-common-practice oq:hasBasis oq:memory .",
    "another label": 'oq:violin rdfs:label "viola" .',
    "another family": "oq:viola oq:belongsToFamily oq:plucked-strings .",
    "what others say of a core term": "oq:viola <https://example.org/likes> my:v .",
    "a rule that sleeps": "rule:note-below-lowest-string sh:deactivated true .",
    "a rule of its own": "rule:note-below-lowest-string sh:severity sh:Info .",
    "a term that is new": "oq:slap a oq:Technique .",
    "a technique of its own": "my:slap a oq:Technique ; oq:implies oq:arco .",
    # What is worked out, asserted.
    "a derived class": "my:n1 a oq:LowNote .",
    "a derived number": "my:n1 oq:midi 99 .",
    "a derived rank": "my:s oq:dynamicRank 5 .",
    "a scope": "my:s oq:underScope my:f .",
    "an excuse": "<https://example.org/p#x.scope2> oq:excusingLimit my:fake .",
    "a limit": "my:fake a oq:DynamicEnvelope .",
    "a reach": "my:s oq:lowestReachMidi 10 .",
    "a weighing": "my:f a oq:Weighing ; oq:weighsDynamic oq:ff .",
    "a first event": "my:s oq:firstEvent my:e1 .",
    "a time in seconds": "my:e1 oq:seconds 900 .",
    # A vocabulary, which would escape the shapes.
    "a class of its own": "my:Ev a owl:Class ; rdfs:subClassOf oq:Event .",
    "a term that is the same": "my:loud owl:sameAs oq:ff .",
    "a class that is the same": "my:Ev owl:equivalentClass oq:Event .",
    "a property of its own": "my:plays rdfs:subPropertyOf oq:hasEvent .",
    "a property backwards": "my:playedBy owl:inverseOf oq:hasEvent .",
    "a domain": "oq:pitch rdfs:domain oq:Event .",
    # Parts, events, notes and states that nothing leads to, or two.
    "a part apart": f"{OTHER_PART} my:e2 . my:e2 {EVENT}",
    "an event apart": f"my:e2 {EVENT}",
    "a note apart": 'my:n2 a oq:Note ; oq:pitch "C4" .',
    "a mark apart": "my:m a oq:Mark ; oq:measureIndex 0 ; oq:onset 0 .",
    "a state apart": "my:s2 a oq:PlayingState ; oq:usesTechnique oq:legato .",
    "a slur apart": "my:l a oq:Slur ; oq:startsAt my:e1 ; oq:endsAt my:e1 .",
    "a hairpin apart": "my:h a oq:Hairpin ; oq:grows true ; oq:onset 0 ; oq:endOnset 1 .",
    "a string apart": 'my:t a oq:String ; oq:stringNumber 4 ; oq:openPitch "B2" .',
    "a part of no class": "my:w oq:forInstrument oq:violin ; oq:hasEvent my:e1 .",
    "a note of no class": 'my:n2 oq:pitch "C2" .',
    "a note of two events": f"my:v oq:hasEvent my:e2 . my:e2 {EVENT} my:e2 oq:hasNote my:n1 .",
    "an event of an event": f"my:e1 oq:hasEvent my:e2 . my:e2 {EVENT}",
    "a part of two excerpts": "my:y a oq:Excerpt ; oq:hasPart my:v .",
    "an event of two parts": f"my:x oq:hasPart my:w . {OTHER_PART} my:e1 .",
    "a part that is none": "my:x oq:hasPart my:zz .",
    # Values that are none of their kind.
    "no whole number": (
        "my:v oq:hasMark my:m . my:m a oq:Mark ; oq:measureIndex 0 ; oq:onset 0 ;"
        ' oq:keySignature "abc"^^xsd:integer .'
    ),
    "two classes": "my:e1 a oq:Note .",
    # Ties, which silence what they are tied to, and acceptances.
    "a tie from nowhere": "my:n1 oq:tiedBack true .",
    "an acceptance without reason": (
        "my:a a oq:Acceptance ; oq:acceptsRule rule:note-below-lowest-string ;"
        " oq:acceptedOn my:e1 ."
    ),
    "an acceptance of no rule": (
        'my:a a oq:Acceptance ; oq:acceptsRule rule:low ; oq:acceptedOn my:e1 ; oq:reason "!" .'
    ),
    "an acceptance of nothing": (
        "my:a a oq:Acceptance ; oq:acceptsRule rule:note-below-lowest-string ;"
        ' oq:acceptedOn my:e9 ; oq:reason "!" .'
    ),
}
IN_THE_PASSAGE = {
    "a note of two events",
    "a part of two excerpts",
    "an event of two parts",
    "two classes",
}
"""Whose faults are named where the passage states the first half of them."""


@pytest.mark.parametrize("name", REFUSED)
def test_what_an_excerpt_may_not_say_is_refused(written, name):
    path = written(REFUSED[name])
    with pytest.raises(OrchqError) as caught:
        orchq.check(path)
    last = len(path.read_text(encoding="utf-8").splitlines())
    told = [re.fullmatch(r"(.*?):(\d+): .+", each) for each in str(caught.value).splitlines()]
    assert {match[1] for match in told} == {str(path)}
    assert name in IN_THE_PASSAGE or last in {int(match[2]) for match in told}


def test_there_are_enough_of_them():
    assert len(REFUSED) + len(NO_VALUES) > 60


NO_VALUES = [
    ("oq:isSection true", 'oq:isSection "maybe"^^xsd:boolean'),
    ("oq:measureIndex 0", "oq:measureIndex 99999999999999999999999"),
    ("oq:measureIndex 0", "oq:measureIndex 0.0"),
    ("oq:onset 0", 'oq:onset "0"'),
    ("oq:onset 0", "oq:onset -1"),
    ("oq:duration 1", 'oq:duration "NaN"^^xsd:double'),
    ("oq:duration 1", 'oq:duration "INF"^^xsd:double'),
    ("oq:duration 1", "oq:duration 1e300"),
    ('oq:pitch "B2"', 'oq:pitch "B2"@en'),
    ("my:n1 a oq:Note ;", "my:n1"),
    ("my:e1 a oq:Event", "my:e1 a oq:CheckedEvent"),
    ("oq:spiccato", "my:slap"),
    ("oq:viola", "<http://w3id.org/orchq/viola>"),
]


@pytest.mark.parametrize(("old", "new"), NO_VALUES)
def test_what_is_no_value_is_refused(written, old, new):
    path = written(old=old, new=new)
    with pytest.raises(ReadError) as caught:
        orchq.check(path)
    lines = {int(number) for number in re.findall(r"p\.ttl:(\d+): ", str(caught.value))}
    assert PASSAGE[: PASSAGE.index(old)].count("\n") + 1 in lines


@pytest.mark.parametrize("old", ["oq:hasNote my:n1", "a oq:PlayingState"])
def test_a_typo_is_named_with_its_line(written, old):
    new = old.replace("Note", "Noet").replace("Playing", "Plying")
    with pytest.raises(UnknownTermError, match=r"p\.ttl:\d+: oq:\w+ is not a term"):
        orchq.check(written(old=old, new=new))


@pytest.mark.parametrize(
    "more",
    [
        "my:n1 a <http://purl.org/ontology/mo/Note> ; rdfs:comment 'x' .",
        "<https://example.org/p> a owl:Ontology ; owl:imports <http://127.0.0.1:9/x> .",
        "my:shape a <http://www.w3.org/ns/shacl#NodeShape> .",
        f"my:y a oq:Excerpt ; oq:hasPart my:w . {OTHER_PART} my:e2 . my:e2 {EVENT}",
    ],
)
def test_what_others_say_beside_it_changes_nothing(written, more):
    assert {LOW, LOUD} <= found(written(more))


def test_a_tie_from_a_note_before_is_read(written):
    path = written(
        f"my:v oq:hasEvent my:e2 . my:e2 {EVENT} my:n2 oq:tiesForward true ."
        ' my:n1 oq:tiedBack true .',
        old='oq:pitch "B2"', new='oq:pitch "C4"',
    )  # fmt: skip
    path.write_text(
        path.read_text().replace(
            "oq:onset 0 ; oq:duration 1 ; oq:inS", "oq:onset 1 ; oq:duration 1 ; oq:inS"
        )
    )
    (part,) = orchq.read(path).parts
    assert [note.tied_back for event in part.events for note in event.notes] == [False, True]
