"""Writes a score as triples of the excerpt vocabulary (``ontology/vocabulary/excerpt.ttl``)."""

from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from typing import NamedTuple

from pyoxigraph import Literal, NamedNode, Quad

from orchq.excerpt import fields
from orchq.excerpt.fields import Fields, asked_of
from orchq.notation import Pitch
from orchq.score import Event, Part, Score, State
from orchq.terms import RDF_TYPE, RDFS, oq

_LABEL = NamedNode(RDFS + "label")
_EVENT, _NOTE = oq("Event"), oq("Note")
_HAS_EVENT, _HAS_NOTE, _IN_STATE = oq("hasEvent"), oq("hasNote"), oq("inState")
_PLACE = frozenset(
    (
        _HAS_EVENT,
        _EVENT,
        _NOTE,
        *(each.predicate for each in (*fields.EVENT_PLACE, *fields.NOTE_PITCH)),
    )
)


class _String(NamedTuple):
    number: int
    pitch: Pitch


def score_quads(score: Score, asked: AbstractSet[NamedNode] | None = None) -> Iterator[Quad]:
    """Yield the triples of a score; parts that are not checked have no events.

    With ``asked`` only those properties of events and notes are written, and positions of events
    are omitted unless one of them is asked for: that saves two thirds of the triples.
    """
    yield from _described(score.iri, "Excerpt", score, ())
    yield Quad(NamedNode(score.iri), _LABEL, Literal(score.title))
    writer = _PartWriter(asked)
    for part in score.parts:
        yield Quad(NamedNode(score.iri), oq("hasPart"), NamedNode(part.iri))
        yield from writer.quads(part)
    for acceptance in score.acceptances:
        yield from _described(acceptance.iri, "Acceptance", acceptance, fields.ACCEPTANCE)


def _described(iri: str, kind: str, thing: object, table: Fields) -> Iterator[Quad]:
    node = NamedNode(iri)
    yield Quad(node, RDF_TYPE, oq(kind))
    yield from _stated(node, thing, table)


def _stated(node: NamedNode, thing: object, table: Fields) -> list[Quad]:
    """The triples of a node's stated values; most fields are absent from most notes."""
    return [
        Quad(node, each.predicate, term)
        for each in table
        if (value := getattr(thing, each.attribute)) != each.absent or each.always
        for term in each.kind.write(value)
    ]


def _string_quads(
    owner: NamedNode, name: str, strings: tuple[tuple[int, Pitch], ...]
) -> Iterator[Quad]:
    for string in strings:
        iri = f"{owner.value}.string{string[0]}"
        yield Quad(owner, oq(name), NamedNode(iri))
        yield from _described(iri, "String", _String(*string), fields.STRING)


class _PartWriter:
    def __init__(self, asked: AbstractSet[NamedNode] | None) -> None:
        self._placed = asked is None or not asked.isdisjoint(_PLACE)
        place, pitch = (fields.EVENT_PLACE, fields.NOTE_PITCH) if self._placed else ((), ())
        self._event = asked_of((*place, *fields.EVENT), asked)
        self._note = asked_of((*pitch, *fields.NOTE), asked)

    def quads(self, part: Part) -> Iterator[Quad]:
        yield from _described(part.iri, "Part", part, fields.PART)
        if part.instrument is None:
            return
        node = NamedNode(part.iri)
        yield from _stated(node, part, fields.SEATS)
        yield from _string_quads(node, "hasTunedString", part.tuning)
        states: dict[str, State] = {}
        for event in part.events:
            yield from self._event_quads(node, event)
            if event.state is not None:
                states[event.state.iri] = event.state
        for state in states.values():
            yield from _described(state.iri, "PlayingState", state, fields.STATE)
        for mark in part.marks:
            yield Quad(node, oq("hasMark"), NamedNode(mark.iri))
            yield from _described(mark.iri, "Mark", mark, fields.MARK)
            yield from _string_quads(NamedNode(mark.iri), "retunesString", mark.retuned)
        for slur in part.slurs:
            yield Quad(node, oq("hasSpan"), NamedNode(slur.iri))
            yield from _described(slur.iri, "Slur", slur, fields.SLUR)
        for hairpin in part.hairpins:
            yield Quad(node, oq("hasSpan"), NamedNode(hairpin.iri))
            yield from _described(hairpin.iri, "Hairpin", hairpin, fields.HAIRPIN)

    def _event_quads(self, part: NamedNode, event: Event) -> Iterator[Quad]:
        node = NamedNode(event.iri)
        if self._placed:
            yield Quad(part, _HAS_EVENT, node)
            yield Quad(node, RDF_TYPE, _EVENT)
        yield from _stated(node, event, self._event)
        if event.state is not None:
            yield Quad(node, _IN_STATE, NamedNode(event.state.iri))
        for note in event.notes:
            head = NamedNode(note.iri)
            yield Quad(node, _HAS_NOTE, head)
            if self._placed:
                yield Quad(head, RDF_TYPE, _NOTE)
            yield from _stated(head, note, self._note)
