"""A score as triples of the excerpt vocabulary (``ontology/vocabulary/excerpt.ttl``)."""

from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from fractions import Fraction
from functools import lru_cache

from pyoxigraph import Literal, NamedNode, Quad

from orchq.notation import Pitch, letter_name
from orchq.score import Acceptance, Event, Hairpin, Mark, Note, Part, Score, Slur, State
from orchq.terms import RDF_TYPE, RDFS, XSD, oq

_LABEL = NamedNode(RDFS + "label")
_DECIMAL = NamedNode(XSD + "decimal")
_TRUE = Literal(True)

_EVENT, _NOTE = oq("Event"), oq("Note")
_HAS_EVENT, _HAS_NOTE = oq("hasEvent"), oq("hasNote")
_MEASURE_INDEX, _MEASURE_NUMBER = oq("measureIndex"), oq("measureNumber")
_BEAT, _ONSET, _DURATION = oq("beat"), oq("onset"), oq("duration")
_VOICE, _STAFF, _MARKED, _PITCH = oq("voice"), oq("staff"), oq("marked"), oq("pitch")
_PLACE = frozenset(
    (
        *(_HAS_EVENT, _MEASURE_INDEX, _MEASURE_NUMBER, _BEAT, _ONSET, _DURATION, _VOICE, _STAFF),
        *(_PITCH, _EVENT, _NOTE),
    )
)


@lru_cache(maxsize=65536)
def decimal(value: Fraction) -> Literal:
    """Quarter notes as ``xsd:decimal``, to six places."""
    text = f"{float(value):.6f}".rstrip("0")
    return Literal(text + "0" if text.endswith(".") else text, datatype=_DECIMAL)


@lru_cache(maxsize=4096)
def _text(value: str) -> Literal:
    return Literal(value)


@lru_cache(maxsize=4096)
def _int(value: int) -> Literal:
    return Literal(value)


def score_quads(score: Score, asked: AbstractSet[NamedNode] | None = None) -> Iterator[Quad]:
    """Yield the triples of a score; parts that are not checked have no events.

    Where the ``asked`` properties are known, those that say only where an event stands are
    left out unless one of them is asked for: they are two thirds of all.
    """
    placed = asked is None or not asked.isdisjoint(_PLACE)
    excerpt = NamedNode(score.iri)
    yield Quad(excerpt, RDF_TYPE, oq("Excerpt"))
    yield Quad(excerpt, _LABEL, Literal(score.title))
    for part in score.parts:
        yield Quad(excerpt, oq("hasPart"), NamedNode(part.iri))
        yield from _part_quads(part, placed=placed)
    for acceptance in score.acceptances:
        yield from _acceptance_quads(acceptance)


def _part_quads(part: Part, *, placed: bool) -> Iterator[Quad]:
    node = NamedNode(part.iri)
    yield Quad(node, RDF_TYPE, oq("Part"))
    yield Quad(node, oq("partName"), Literal(part.name))
    yield Quad(node, oq("partId"), Literal(part.id))
    yield Quad(node, oq("partIndex"), Literal(part.index))
    if part.instrument is None:
        return
    yield Quad(node, oq("forInstrument"), NamedNode(part.instrument))
    yield Quad(node, oq("isSection"), Literal(part.section))
    if part.players is not None:
        yield Quad(node, oq("playerCount"), Literal(part.players))
    yield from _string_quads(node, oq("hasTunedString"), part.tuning)
    for event in part.events:
        yield from _event_quads(node, event, placed=placed)
    for mark in part.marks:
        yield from _mark_quads(node, mark)
    for slur in part.slurs:
        yield from _slur_quads(node, slur)
    for hairpin in part.hairpins:
        yield from _hairpin_quads(node, hairpin)


def _event_quads(part: NamedNode, event: Event, *, placed: bool) -> Iterator[Quad]:
    node = NamedNode(event.iri)
    if placed:
        yield from _place_quads(part, node, event)
    for directive in event.marks:
        yield Quad(node, _MARKED, NamedNode(directive))
    if event.strokes:
        yield Quad(node, oq("tremoloStrokes"), _int(event.strokes))
    if event.grace:
        yield Quad(node, oq("isGrace"), _TRUE)
    if event.cue:
        yield Quad(node, oq("isCue"), _TRUE)
    if event.state is not None:
        yield Quad(node, oq("inState"), NamedNode(event.state.iri))
        yield from _state_quads(event.state)
    for note in event.notes:
        yield from _note_quads(node, note, placed=placed)


def _place_quads(part: NamedNode, node: NamedNode, event: Event) -> Iterator[Quad]:
    yield Quad(part, _HAS_EVENT, node)
    yield Quad(node, RDF_TYPE, _EVENT)
    yield Quad(node, _MEASURE_INDEX, _int(event.measure_index))
    yield Quad(node, _MEASURE_NUMBER, _text(event.measure_number))
    yield Quad(node, _BEAT, decimal(event.beat))
    yield Quad(node, _ONSET, decimal(event.onset))
    yield Quad(node, _DURATION, decimal(event.duration))
    yield Quad(node, _VOICE, _text(event.voice))
    if event.staff != 1:
        yield Quad(node, _STAFF, _int(event.staff))


def _note_quads(event: NamedNode, note: Note, *, placed: bool) -> Iterator[Quad]:
    node = NamedNode(note.iri)
    yield Quad(event, _HAS_NOTE, node)
    if placed:
        yield Quad(node, RDF_TYPE, _NOTE)
        yield Quad(node, _PITCH, _text(note.pitch.name))
    if note.tie_forward:
        yield Quad(node, oq("tiesForward"), _TRUE)
    if note.tied_back:
        yield Quad(node, oq("tiedBack"), _TRUE)
    if note.string is not None:
        yield Quad(node, oq("printedString"), _int(note.string))
    if note.finger is not None:
        yield Quad(node, oq("printedFinger"), _text(note.finger))
    if note.role is not None:
        yield Quad(node, oq("harmonicRole"), _text(note.role))
    if note.notehead is not None:
        yield Quad(node, oq("notehead"), _text(note.notehead))


def _state_quads(state: State) -> Iterator[Quad]:
    node = NamedNode(state.iri)
    yield Quad(node, RDF_TYPE, oq("PlayingState"))
    for technique in state.techniques:
        yield Quad(node, oq("usesTechnique"), NamedNode(technique))
    if state.dynamic is not None:
        yield Quad(node, oq("atDynamic"), NamedNode(state.dynamic))
    if state.string_call is not None:
        yield Quad(node, oq("callsString"), NamedNode(state.string_call))
    if state.divisi_parts is not None:
        yield Quad(node, oq("divisiParts"), Literal(state.divisi_parts))


def _mark_quads(part: NamedNode, mark: Mark) -> Iterator[Quad]:
    node = NamedNode(mark.iri)
    yield Quad(part, oq("hasMark"), node)
    yield Quad(node, RDF_TYPE, oq("Mark"))
    yield Quad(node, _MEASURE_INDEX, _int(mark.measure_index))
    yield Quad(node, _MEASURE_NUMBER, _text(mark.measure_number))
    yield Quad(node, _BEAT, decimal(mark.offset + 1))
    yield Quad(node, _ONSET, decimal(mark.onset))
    for directive in mark.directives:
        yield Quad(node, oq("asksFor"), NamedNode(directive))
    if mark.text:
        yield Quad(node, oq("printedText"), Literal(mark.text))
    if mark.staff is not None:
        yield Quad(node, _STAFF, _int(mark.staff))
    if mark.voice is not None:
        yield Quad(node, _VOICE, _text(mark.voice))
    if mark.number is not None:
        yield Quad(node, oq("callsPlayers"), _int(mark.number))
    if mark.tempo is not None:
        yield Quad(node, oq("quartersPerMinute"), decimal(mark.tempo))
    if mark.signature is not None:
        yield Quad(node, oq("keySignature"), _int(mark.signature))
    if mark.pedals:
        setting = " ".join(letter_name(*pedal) for pedal in mark.pedals)
        yield Quad(node, oq("setsPedals"), Literal(setting))
    yield from _string_quads(node, oq("retunesString"), mark.retuned)


def _string_quads(
    owner: NamedNode, predicate: NamedNode, strings: tuple[tuple[int, Pitch], ...]
) -> Iterator[Quad]:
    for number, pitch in strings:
        string = NamedNode(f"{owner.value}.string{number}")
        yield Quad(owner, predicate, string)
        yield Quad(string, RDF_TYPE, oq("String"))
        yield Quad(string, oq("stringNumber"), Literal(number))
        yield Quad(string, oq("openPitch"), Literal(pitch.name))


def _slur_quads(part: NamedNode, slur: Slur) -> Iterator[Quad]:
    node = NamedNode(slur.iri)
    yield Quad(part, oq("hasSpan"), node)
    yield Quad(node, RDF_TYPE, oq("Slur"))
    yield Quad(node, oq("startsAt"), NamedNode(slur.first))
    yield Quad(node, oq("endsAt"), NamedNode(slur.last))


def _hairpin_quads(part: NamedNode, hairpin: Hairpin) -> Iterator[Quad]:
    node = NamedNode(hairpin.iri)
    yield Quad(part, oq("hasSpan"), node)
    yield Quad(node, RDF_TYPE, oq("Hairpin"))
    yield Quad(node, oq("grows"), Literal(hairpin.grows))
    yield Quad(node, _ONSET, decimal(hairpin.onset))
    yield Quad(node, oq("endOnset"), decimal(hairpin.end))
    if hairpin.staff is not None:
        yield Quad(node, _STAFF, _int(hairpin.staff))


def _acceptance_quads(acceptance: Acceptance) -> Iterator[Quad]:
    node = NamedNode(acceptance.iri)
    yield Quad(node, RDF_TYPE, oq("Acceptance"))
    yield Quad(node, oq("reason"), Literal(acceptance.reason))
    for rule in acceptance.rules:
        yield Quad(node, oq("acceptsRule"), NamedNode(rule))
    for event in acceptance.events:
        yield Quad(node, oq("acceptedOn"), NamedNode(event))
