"""Scores become triples and come back; triples that are wrong are refused in one sentence."""

from pathlib import Path

import pytest
from msgspec.structs import replace
from pyoxigraph import RdfFormat, parse

import orchq
from orchq.errors import ReadError
from orchq.packaged import demo_path
from orchq.score import Part, Score

HARP = Path(__file__).parents[1] / "extensions" / "data" / "harp.musicxml"
HAND_WRITTEN = """
@prefix oq: <https://w3id.org/orchq/> .
@prefix : <https://example.org/evening#> .

:piece a oq:Excerpt ; oq:hasPart :violin .
:violin a oq:Part ; oq:partName "Violin" ; oq:forInstrument oq:violin ; oq:hasEvent :e1 , :e2 .
:e1 a oq:Event ; oq:measureIndex 11 ; oq:measureNumber "12" ; oq:beat 3.0 ;
    oq:onset 46 ; oq:duration 1 ; oq:inState :loud ; oq:hasNote [ a oq:Note ; oq:pitch "A4" ] .
:e2 a oq:Event ; oq:measureIndex 11 ; oq:onset 47 ; oq:duration 1 ; oq:beat 4 ;
    oq:hasNote [ a oq:Note ; oq:pitch "F3" ] .
:loud a oq:PlayingState ; oq:usesTechnique oq:spiccato ; oq:atDynamic oq:ff .
"""


@pytest.fixture
def written(tmp_path: Path) -> Path:
    path = tmp_path / "evening.ttl"
    path.write_text(HAND_WRITTEN)
    return path


def _comparable(score: Score) -> list[Part]:
    """What triples carry: measures are rebuilt from events, so they are left out."""
    return [
        replace(
            part,
            measures=(),
            events=tuple(sorted(part.events, key=lambda event: event.iri)),
            marks=tuple(
                replace(mark, directives=tuple(sorted(mark.directives)))
                for mark in sorted(part.marks, key=lambda mark: mark.iri)
            ),
            slurs=tuple(sorted(part.slurs, key=lambda slur: slur.iri)),
            hairpins=tuple(sorted(part.hairpins, key=lambda hairpin: hairpin.iri)),
        )
        for part in score.parts
    ]


@pytest.mark.parametrize(
    ("format_", "suffix"), [("turtle", "ttl"), ("nt", "nt"), ("jsonld", "jsonld")]
)
def test_a_score_comes_back(tmp_path: Path, format_: str, suffix: str) -> None:
    path = tmp_path / f"copy.{suffix}"
    path.write_text(orchq.export(demo_path(), format=format_))
    assert _comparable(orchq.read(path)) == _comparable(orchq.read(demo_path()))


def test_a_pedal_diagram_comes_back(tmp_path: Path) -> None:
    graph = orchq.load(["harp"])
    score = orchq.read(HARP, graph)
    assert [mark.pedals for mark in score.parts[0].marks if mark.pedals] == [
        tuple((letter, 0) for letter in "DCBEFGA")
    ]
    path = tmp_path / "copy.ttl"
    path.write_text(orchq.export(HARP, knowledge=graph))
    assert _comparable(orchq.read(path, graph)) == _comparable(score)
    path.write_text(path.read_text().replace('"D C B E F G A"', '"D C H"'))
    with pytest.raises(ReadError, match="one row of letters"):
        orchq.read(path, graph)


def test_events_know_their_line_where_turtle_begins_a_line_with_them(written: Path) -> None:
    (part,) = orchq.read(written).parts
    assert [HAND_WRITTEN.splitlines()[event.line - 1][:3] for event in part.events] == [
        ":e1",
        ":e2",
    ]
    # Objects that stand first on a line are no subjects.
    moved = HAND_WRITTEN.replace(":e1 , :e2 .", "\n:e1 ,\n:e2 .").replace("\n:e2 a", " :e2 a")
    written.write_text(moved)
    (part,) = orchq.read(written).parts
    first, second = (event.line for event in part.events)
    assert moved.splitlines()[first - 1].startswith(":e1 a ")
    assert second is None


def test_a_full_name_has_a_line_and_a_nameless_event_none(written: Path) -> None:
    content = HAND_WRITTEN.replace("\n:e1 a", "\n<https://example.org/evening#e1>\n    a").replace(
        ":e2", "_:e2"
    )
    written.write_text(content)
    first, second = orchq.read(written).parts[0].events
    assert content.splitlines()[first.line - 1] == "<https://example.org/evening#e1>"
    assert second.line is None


def test_exported_triples_give_the_same_findings(tmp_path: Path) -> None:
    path = tmp_path / "copy.ttl"
    path.write_text(orchq.export(demo_path()))
    told = {(f.event, f.rule, f.severity) for f in orchq.check(path).findings}
    assert told == {(f.event, f.rule, f.severity) for f in orchq.check(demo_path()).findings}
    assert told


def test_a_hand_written_excerpt_is_checked(written: Path) -> None:
    report = orchq.check(written)
    base = "https://example.org/evening#"
    assert {(f.event, f.rule, f.severity) for f in report.findings} == {
        # One degree louder than anybody allows, which is neither near nor far beyond.
        (base + "e1", "dynamic-outside-envelope", "warning"),
        (base + "e2", "note-below-lowest-string", "violation"),
    }
    place = next(f for f in report.findings if f.event == base + "e1")
    assert (place.measure, place.measure_index, place.beat) == ("12", 11, 3.0)


def test_the_reference_engine_can_check_a_file(written: Path) -> None:
    fast, reference = orchq.check(written), orchq.check(written, engine="pyshacl")
    assert reference.findings == fast.findings
    with pytest.raises(orchq.OrchqError, match="no engine"):
        orchq.check(written, engine="slow")


def test_a_misspelt_term_is_named_with_its_line(written: Path) -> None:
    written.write_text(HAND_WRITTEN.replace("oq:spiccato", "oq:spicato"))
    with pytest.raises(orchq.UnknownTermError) as caught:
        orchq.check(written)
    assert "oq:spicato" in str(caught.value)
    assert "oq:spiccato" in str(caught.value)
    assert f"{written}:11" in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('oq:pitch "A4"', 'oq:pitch "H4"'),
        ("oq:duration 1 ; oq:inState", "oq:inState"),
        ("oq:onset 46", 'oq:onset "soon"'),
        ("oq:measureIndex 11 ; oq:measureNumber", 'oq:measureIndex "x" ; oq:measureNumber'),
        ("oq:forInstrument oq:violin", "oq:forInstrument oq:spiccato"),
        ('oq:hasNote [ a oq:Note ; oq:pitch "F3" ]', 'oq:voice "1"'),
        ("oq:atDynamic oq:ff", "oq:atDynamic oq:violin"),
    ],
)
def test_malformed_excerpts_are_refused(written: Path, old: str, new: str) -> None:
    assert old in HAND_WRITTEN
    written.write_text(HAND_WRITTEN.replace(old, new))
    with pytest.raises(orchq.OrchqError) as caught:
        orchq.check(written)
    assert str(written) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_turtle_that_does_not_parse_names_the_line(written: Path) -> None:
    written.write_text(HAND_WRITTEN.replace(":e1 a oq:Event", ":e1 a oq:Event oq:Event"))
    with pytest.raises(orchq.ReadError, match=rf"{written}:\d+: "):
        orchq.check(written)


def test_remote_contexts_are_not_fetched(tmp_path: Path) -> None:
    path = tmp_path / "remote.jsonld"
    path.write_text('{"@context": "https://example.org/c.jsonld", "@id": "x:a", "name": "b"}')
    with pytest.raises(orchq.ReadError):
        orchq.check(path)


def test_a_file_without_parts_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "empty.ttl"
    path.write_text("")
    with pytest.raises(orchq.ReadError, match="oq:Part"):
        orchq.check(path)


def test_export_is_readable_turtle() -> None:
    text = orchq.export(demo_path())
    assert "score:P1" in text
    assert sum(1 for _ in parse(text.encode(), format=RdfFormat.TURTLE)) > 1000
