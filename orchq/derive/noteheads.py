"""Classifies noteheads: plain notes, open or stopped, and parts of harmonics."""

from collections.abc import Iterator
from functools import lru_cache

from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.placed import InForce, Placed
from orchq.derive.states import NATURAL_HARMONIC
from orchq.knowledge import Knowledge
from orchq.score import Note
from orchq.terms import RDF_TYPE, oq

_PLAIN, _HIGH, _LOW = oq("PlainNote"), oq("HighNote"), oq("LowNote")
_HIGH_EVENT, _LOW_EVENT = oq("HighEvent"), oq("LowEvent")
_HARMONIC, _NATURAL = oq("HarmonicNote"), oq("NaturalHarmonicNote")
_MIDI, _ONLY_OPEN, _ON_STRING = oq("midi"), oq("isOnlyOpen"), oq("isOnString")
_TRUE = Literal(True)


def note_quads(item: Placed, ceiling: int | None, knowledge: Knowledge) -> Iterator[Quad]:
    """Yield the derived triples of an event's notes.

    ``ceiling`` is the highest pitch that no rule reports, as a semitone number.
    """
    event, in_force = item.event, item.in_force
    harmonic_kind = harmonic_technique(in_force, knowledge)
    lowest = min(string.pitch.midi for string in in_force.strings)
    strings = {string.number: string for string in in_force.strings}
    told_apart = any(shows_harmonic(note) for note in event.notes)
    for note in event.notes:
        node = NamedNode(note.iri)
        yield Quad(node, _MIDI, Literal(note.pitch.midi))
        if shows_harmonic(note) or (harmonic_kind is not None and not told_apart):
            yield Quad(node, RDF_TYPE, _HARMONIC)
            if harmonic_kind == NATURAL_HARMONIC:
                yield Quad(node, RDF_TYPE, _NATURAL)
        else:
            yield Quad(node, RDF_TYPE, _PLAIN)
            if note.pitch.midi < lowest:
                yield Quad(node, RDF_TYPE, _LOW)
                yield Quad(NamedNode(event.iri), RDF_TYPE, _LOW_EVENT)
            if ceiling is not None and note.pitch.midi > ceiling and not item.doubtful_clef:
                yield Quad(node, RDF_TYPE, _HIGH)
                yield Quad(NamedNode(event.iri), RDF_TYPE, _HIGH_EVENT)
            if note.pitch.midi == lowest:
                yield Quad(node, _ONLY_OPEN, _TRUE)
        if note.string in strings:
            yield Quad(node, _ON_STRING, NamedNode(strings[note.string].iri))


def shows_harmonic(note: Note) -> bool:
    """Whether a notehead by itself shows that it is touched or that a harmonic sounds."""
    return note.role in ("touching", "sounding") or note.notehead == "diamond"


def harmonic_technique(in_force: InForce, knowledge: Knowledge) -> str | None:
    """The kind of harmonic in force (an IRI), a definite one before the mere word."""
    return _harmonic_among(in_force.techniques, knowledge)


@lru_cache(maxsize=4096)
def _harmonic_among(techniques: frozenset[str], knowledge: Knowledge) -> str | None:
    for iri in sorted(techniques, reverse=True):
        technique = knowledge.techniques.get(iri)
        if technique is not None and "HarmonicTechnique" in technique.kinds:
            return iri
    return None


def is_harmonic(item: Placed, knowledge: Knowledge) -> bool:
    """Whether an event shows a harmonic by a word, a sign or a head."""
    return harmonic_technique(item.in_force, knowledge) is not None or any(
        shows_harmonic(note) or note.role == "base" for note in item.event.notes
    )
