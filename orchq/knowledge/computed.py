"""Numbers that follow from the graph's own statements: semitones of pitches."""

from collections.abc import Iterable, Iterator

from pyoxigraph import Literal, NamedNode, Quad

from orchq.knowledge.facts import Facts
from orchq.knowledge.model import Instrument, Limit, Technique
from orchq.notation import Pitch
from orchq.terms import oq

_MIDI_OF = {
    "lowestPitch": oq("lowestMidi"),
    "highestPitch": oq("highestMidi"),
    "usualHighestPitch": oq("usualHighestMidi"),
}


def computed_quads(
    instruments: Iterable[Instrument],
    techniques: Iterable[Technique],
    limits: Iterable[Limit],
) -> Iterator[Quad]:
    """Yield the computed triples about the graph itself, those of ``vocabulary/derived.ttl``."""
    for instrument in instruments:
        for tuning in (instrument.standard, *instrument.variants):
            for string in tuning.strings:
                yield _number(string.iri, oq("openMidi"), string.pitch.midi)
        for register in instrument.registers:
            if register.lowest:
                yield _number(register.iri, oq("lowestMidi"), register.lowest.midi)
            if register.highest:
                yield _number(register.iri, oq("highestMidi"), register.highest.midi)
    for limit in limits:
        for name, predicate in _MIDI_OF.items():
            if name in limit.values:
                pitch = Pitch.parse(str(limit.values[name]))
                yield _number(limit.iri, predicate, pitch.midi)
    for technique in techniques:
        for implied in technique.implies:
            yield Quad(NamedNode(technique.iri), oq("implies"), NamedNode(implied))
        for excluded in technique.excludes:
            yield Quad(NamedNode(technique.iri), oq("excludes"), NamedNode(excluded))
        for other in technique.can_stand_for:
            yield Quad(NamedNode(technique.iri), oq("canStandFor"), NamedNode(other))


def offered_techniques(facts: Facts) -> Iterator[Quad]:
    """Yield which techniques each instrument has, by itself or as one of its family.

    What an instrument lacks it has not, nor what implies that.
    """
    available: dict[str, list[str]] = {}
    implied: dict[str, frozenset[str]] = {}
    for technique in facts.members("Technique"):
        implied[technique] = facts.closure(technique, "implies") | {technique}
        for place in facts.objects(technique, "availableOn"):
            available.setdefault(place, []).append(technique)
    for instrument in facts.members("Instrument"):
        lacking = facts.objects(instrument, "lacksTechnique")
        places = (instrument, *facts.objects(instrument, "belongsToFamily"))
        for technique in dict.fromkeys(t for place in places for t in available.get(place, ())):
            if implied[technique].isdisjoint(lacking):
                yield Quad(NamedNode(instrument), oq("offersTechnique"), NamedNode(technique))


def _number(subject: str, predicate: NamedNode, value: int) -> Quad:
    return Quad(NamedNode(subject), predicate, Literal(value))
