"""Harmonics as triples: what their notation means and how well they speak."""

from collections.abc import Iterator, Sequence

from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.hand import HandModel
from orchq.derive.harmonics import (
    Harmonic,
    HarmonicCode,
    HarmonicLimits,
    HarmonicNotation,
    Kind,
    Resolution,
    better_way,
    harmonic_limits,
    resolve,
)
from orchq.derive.states import InForce, Placed
from orchq.knowledge import Instrument, Knowledge
from orchq.score import Event, Note
from orchq.terms import RDF_TYPE, oq

ARTIFICIAL = oq("artificial-harmonic").value
NATURAL = oq("natural-harmonic").value


_WORDS: dict[HarmonicCode, str] = {
    "beyond-fingerboard": "the touched place lies beyond the fingerboard",
    "out-of-reach": "no two fingers stand so far apart",
    "beyond-reach": "the reach is wider than this player's",
    "refused": "the instrument is not granted artificial harmonics",
    "disputed": "authorities differ on whether the instrument has it",
    "stretched": "the hand is stretched",
    "high-partial": "the partial is higher than is granted",
    "weak-partial": "this touch gives a weak partial over a stopped note",
    "speaks-well": "it speaks well",
}


class Harmonics:
    """Reads the harmonics of a part."""

    def __init__(
        self, knowledge: Knowledge, instrument: Instrument, level: str, trust: str | None
    ) -> None:
        self._limits: HarmonicLimits = harmonic_limits(knowledge, instrument, level, trust)

    def quads(self, item: Placed, model: HandModel) -> Iterator[Quad]:
        """Yield the triples of the harmonics at an event; ``model`` has the strings in use."""
        for number, notation in enumerate(self._notations(item), start=1):
            resolution = self._resolve(notation, model)
            node = NamedNode(f"{item.event.iri}.harmonic{number}")
            yield Quad(node, RDF_TYPE, oq("Harmonic"))
            yield Quad(node, oq("atEvent"), NamedNode(item.event.iri))
            yield Quad(node, oq("hasOutcome"), Literal(resolution.outcome))
            if resolution.readings:
                yield from self._reading_quads(node, resolution.readings[0], model)

    def _resolve(self, notation: HarmonicNotation, model: HandModel) -> Resolution:
        """A plain head says what sounds; where nothing sounds so, it says what is touched."""
        resolution = resolve(notation, model, self._limits)
        if resolution.readings or notation.touched is not None or notation.base is not None:
            return resolution
        touched = HarmonicNotation(
            touched=notation.sounding, string=notation.string, kind=notation.kind
        )
        return resolve(touched, model, self._limits)

    def _reading_quads(
        self, node: NamedNode, harmonic: Harmonic, model: HandModel
    ) -> Iterator[Quad]:
        yield Quad(node, oq("hasVerdict"), Literal(harmonic.verdict.label))
        yield Quad(node, oq("verdictRank"), Literal(int(harmonic.verdict)))
        yield Quad(node, oq("isArtificial"), Literal(harmonic.kind == "artificial"))
        yield Quad(node, oq("soundsPitch"), Literal(harmonic.sounding.name))
        yield Quad(node, oq("soundsCents"), Literal(harmonic.sounding_cents))
        yield Quad(node, oq("becauseOf"), Literal(_WORDS[harmonic.code]))
        for limit in harmonic.limits:
            yield Quad(node, oq("restsOn"), NamedNode(limit))
        better = better_way(harmonic, model, self._limits)
        if better is not None:
            words = f"touch {better.touched.name} on string {better.string}"
            yield Quad(node, oq("betterAs"), Literal(words))

    def _notations(self, item: Placed) -> Iterator[HarmonicNotation]:
        kind = self._kind(item.in_force)
        event = item.event
        touched = [n for n in event.notes if n.role == "touching" or n.notehead == "diamond"]
        sounding = [n for n in event.notes if n.role == "sounding"]
        if touched:
            bases = _bases(event, touched)
            for index, note in enumerate(touched):
                base = bases[index] if index < len(bases) else None
                yield HarmonicNotation(
                    base=base.pitch.midi if base else None,
                    touched=note.pitch.midi,
                    sounding=sounding[index].pitch.midi if index < len(sounding) else None,
                    string=note.string,
                    kind=kind if base is None else None,
                )
        elif kind is not None or sounding:
            for note in sounding or event.notes:
                yield HarmonicNotation(sounding=note.pitch.midi, string=note.string, kind=kind)

    def _kind(self, in_force: InForce) -> Kind | None:
        if ARTIFICIAL in in_force.techniques:
            return "artificial"
        return "natural" if NATURAL in in_force.techniques else None


def _bases(event: Event, touched: Sequence[Note]) -> list[Note]:
    """The ordinary heads under the touched ones, lowest first."""
    others = [n for n in event.notes if n not in touched and n.role in (None, "base")]
    return sorted(others, key=lambda note: note.pitch)
