"""Harmonics as triples: the meaning of their notation and how well they speak."""

from collections.abc import Callable, Iterator, Sequence
from math import log2

from msgspec import Struct
from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.circumstances import Circumstances
from orchq.derive.hand import HandModel, StopSolver, node_at
from orchq.derive.harmonic_limits import HarmonicLimits, judged_limits
from orchq.derive.harmonic_words import in_words
from orchq.derive.harmonics import (
    Harmonic,
    HarmonicGrade,
    HarmonicNotation,
    Kind,
    Resolution,
    better_way,
    resolve,
)
from orchq.derive.noteheads import is_harmonic
from orchq.derive.placed import InForce, Placed
from orchq.derive.states import called_string
from orchq.knowledge import Instrument, Knowledge
from orchq.score import Event, Note
from orchq.terms import RDF_TYPE, oq

ARTIFICIAL = oq("artificial-harmonic").value
NATURAL = oq("natural-harmonic").value

_OCTAVE = 12
_DOUBLE_OCTAVE = 4
"""A natural harmonic above this partial is no fuller than a touched fourth over a stopped note."""
_SHORTHAND_TOUCH, _SHORTHAND_SOUND = 5, 24
"""A sign over the stopped note alone means the fourth above it, two octaves up (Tavan, djvu/17)."""


class ResolvedHarmonic(Struct, frozen=True):
    """One harmonic as printed, and what it means: the best reading, if there is any.

    ``unprinted`` is true where another pitch sounds than any that is printed; ``two_heads`` where a
    note to be stopped is printed under the place touched, be it an open string.
    """

    printed: str
    outcome: str
    harmonic: Harmonic | None = None
    unprinted: bool = False
    two_heads: bool = False

    @property
    def counted_on(self) -> bool:
        """Whether it speaks well, or only some doubt that it does."""
        return self.harmonic is not None and self.harmonic.verdict <= HarmonicGrade.UNCERTAIN


class Harmonics:
    """Interprets the harmonics of a part; ``limits`` are those that authorities grant."""

    def __init__(
        self, limits: HarmonicLimits, knowledge: Knowledge, instrument: Instrument
    ) -> None:
        self._limits = limits
        self._knowledge = knowledge
        self._instrument = instrument

    def quads(self, item: Placed, model: HandModel) -> Iterator[Quad]:
        """Yield the triples of the harmonics at an event; ``model`` has the strings in use."""
        for number, reading in enumerate(self.interpreted(item, model), start=1):
            node = NamedNode(f"{item.event.iri}.harmonic{number}")
            yield Quad(node, RDF_TYPE, oq("Harmonic"))
            yield Quad(node, oq("atEvent"), NamedNode(item.event.iri))
            yield Quad(node, oq("notatedAs"), Literal(reading.printed))
            yield Quad(node, oq("hasOutcome"), Literal(reading.outcome))
            if reading.unprinted:
                yield Quad(node, oq("leavesSoundUnsaid"), Literal(True))
            if reading.harmonic is not None:
                yield from self._reading_quads(node, reading.harmonic, model, item.in_force)

    def _reading_quads(
        self, node: NamedNode, harmonic: Harmonic, model: HandModel, in_force: InForce
    ) -> Iterator[Quad]:
        yield Quad(node, oq("hasVerdict"), Literal(harmonic.verdict.label))
        yield Quad(node, oq("verdictRank"), Literal(int(harmonic.verdict)))
        yield Quad(node, oq("isArtificial"), Literal(harmonic.kind == "artificial"))
        yield Quad(node, oq("soundsPitch"), Literal(harmonic.sounding.name))
        yield Quad(node, oq("soundsCents"), Literal(harmonic.sounding_cents))
        yield Quad(node, oq("becauseOf"), Literal(in_words(harmonic)))
        for limit in harmonic.limits:
            yield Quad(node, oq("restsOn"), NamedNode(limit))
        better = better_way(harmonic, model, self._limits)
        if better is not None and better.partial <= max(harmonic.partial, _DOUBLE_OCTAVE):
            string = in_force.strings[better.string - 1].name
            words = f"touch {better.touched.name} on the {string} string"
            yield Quad(node, oq("betterAs"), Literal(words))

    # ------------------------------------------------------------- what is printed

    def interpreted(self, item: Placed, model: HandModel) -> Iterator[ResolvedHarmonic]:
        """Yield the harmonics printed at an event with their meaning."""
        return (each for each in self._printed(item, model) if each is not None)

    def _printed(self, item: Placed, model: HandModel) -> Iterator[ResolvedHarmonic | None]:
        event = item.event
        kind = _kind(item.in_force)
        called = self._called(item)
        touched = sorted(
            (n for n in event.notes if n.role == "touching" or n.notehead == "diamond"),
            key=lambda note: note.pitch,
        )
        sounding = sorted(
            (n for n in event.notes if n.role == "sounding" and n not in touched),
            key=lambda note: note.pitch,
        )
        stopped = [n for n in event.notes if n.role == "base" and n not in touched]
        if touched:
            pairs = zip(touched, _bases(event, touched), strict=True)
            for index, (touch, base) in enumerate(pairs):
                sound = sounding[index] if index < len(sounding) else None
                yield self._touched(touch, base, sound, kind, called, model)
        elif sounding:
            for note in sounding:
                yield self._sounding(note, stopped[0] if stopped else None, kind, model)
        elif stopped:
            yield from (
                ResolvedHarmonic(f"{note.pitch.name} stopped", "undetermined") for note in stopped
            )
        elif kind is not None:
            yield from self._signed(item, kind, model)

    def _touched(
        self,
        touched: Note,
        base: Note | None,
        sounding: Note | None,
        kind: Kind | None,
        called: int | None,
        model: HandModel,
    ) -> ResolvedHarmonic | None:
        printed = f"{touched.pitch.name} touched"
        if base is not None:
            printed += f" over {base.pitch.name}"
        if sounding is not None:
            printed += f", {sounding.pitch.name} sounding"
        string = touched.string
        if string is None and self._speaks(touched.pitch.midi, called, model):
            string = called
        natural = HarmonicNotation(touched=touched.pitch.midi, string=string)
        if base is not None:
            notation = HarmonicNotation(base=base.pitch.midi, touched=touched.pitch.midi)
        elif sounding is not None:
            notation = HarmonicNotation(
                touched=touched.pitch.midi,
                sounding=sounding.pitch.midi,
                string=string,
                kind=kind,
            )
        else:
            notation = natural
        resolution = self._resolve(notation, model)
        if base is None and sounding is not None and not resolution.readings:
            resolution = self._resolve(natural, model)
        reading = _best(resolution)
        if reading is None and base is not None:
            # A stopped note below or above the strings is reported by other rules.
            return (
                ResolvedHarmonic(printed, "no-node") if self._is_no_touch(touched, base) else None
            )
        if reading is None:
            return self._nothing(printed, touched, model)
        sounds = {each.sounding.midi for each in resolution.readings}
        if sounding is not None and sounding.pitch.midi not in sounds:
            return ResolvedHarmonic(printed, "contradiction", reading)
        if sounding is not None:
            reading = next(
                each for each in resolution.readings if each.sounding.midi == sounding.pitch.midi
            )
        touch = touched.pitch.midi - base.pitch.midi if base is not None else 0
        unprinted = sounding is None and touch != _SHORTHAND_TOUCH and _is_news(reading, touched)
        found = ResolvedHarmonic(
            printed, resolution.outcome, reading, unprinted, two_heads=base is not None
        )
        if base is None and kind == "artificial" and not found.counted_on:
            return ResolvedHarmonic(
                printed, "undetermined"
            )  # the note to be stopped is not printed
        return found

    def _sounding(
        self, note: Note, base: Note | None, kind: Kind | None, model: HandModel
    ) -> ResolvedHarmonic:
        printed = f"{note.pitch.name} sounding"
        notation = HarmonicNotation(
            base=base.pitch.midi if base else None,
            sounding=note.pitch.midi,
            string=note.string,
            kind=kind if base is None else None,
        )
        resolution = self._resolve(notation, model)
        if not resolution.readings:
            return ResolvedHarmonic(printed, "beyond-compass")
        return ResolvedHarmonic(printed, resolution.outcome, _best(resolution))

    def _signed(
        self, item: Placed, kind: Kind, model: HandModel
    ) -> Iterator[ResolvedHarmonic | None]:
        """Plain heads under a sign, of which one at least is the harmonic.

        The small circle is also the sign of an open string: at the pitch of one it asks for
        nothing else.
        """
        notes = sorted(item.event.notes, key=lambda note: note.pitch)
        if kind == "artificial" and len(notes) == 2 and _spans_touch(*notes):
            yield self._touched(notes[1], notes[0], None, None, None, model)
            return
        opened = {string.pitch.midi for string in item.in_force.strings}
        heads = [n for n in notes if kind == "artificial" or n.pitch.midi not in opened]
        readings = [self._plain(note, kind, model) for note in heads]
        fine = [each for each in readings if each.counted_on]
        yield from fine if fine or len(heads) < len(notes) else readings

    def _plain(self, note: Note, kind: Kind, model: HandModel) -> ResolvedHarmonic:
        """A head under a sign shows what sounds, or else the place touched or stopped.

        Under a circle it may also sound as a touched fourth over a stopped note, the only
        artificial one that players guess. It is read as a place touched only where a reliable
        harmonic sounds there.
        """
        pitch, string = note.pitch.midi, note.string
        sounding = HarmonicNotation(sounding=pitch, string=string, kind=kind)
        resolutions = [self._resolve(sounding, model)]
        if kind == "natural":
            touched = HarmonicNotation(touched=pitch, string=string, kind=kind)
            stopped = pitch - _SHORTHAND_SOUND
            fourth = HarmonicNotation(
                base=stopped, touched=stopped + _SHORTHAND_TOUCH, string=string, kind="artificial"
            )
            resolutions += [self._resolve(each, model) for each in (touched, fourth)]
        else:
            fourth = HarmonicNotation(base=pitch, touched=pitch + _SHORTHAND_TOUCH, string=string)
            resolutions.append(self._resolve(fourth, model))
        readings = [(_best(each), each.outcome) for each in resolutions]
        known = [(reading, outcome) for reading, outcome in readings if reading is not None]
        likely = [(r, outcome) for r, outcome in known if kind == "artificial" or _is_sure(r, note)]
        if not likely:
            faint = any(reading.verdict < HarmonicGrade.UNRELIABLE for reading, _ in known)
            found = self._nothing(note.pitch.name, note, model)
            return ResolvedHarmonic(found.printed, "beyond-compass") if faint else found
        reading, outcome = min(
            likely, key=lambda each: max(each[0].verdict, HarmonicGrade.UNCERTAIN)
        )
        unprinted = kind == "natural" and all(_is_news(each, note) for each, _ in likely)
        return ResolvedHarmonic(note.pitch.name, outcome, reading, unprinted)

    # -------------------------------------------------------------- what it means

    def _resolve(self, notation: HarmonicNotation, model: HandModel) -> Resolution:
        return resolve(notation, model, self._limits)

    def _speaks(self, touched: int, string: int | None, model: HandModel) -> bool:
        """Whether a harmonic sounds where a string (its number) is touched."""
        notation = HarmonicNotation(touched=touched, string=string, kind="natural")
        return string is not None and bool(self._resolve(notation, model).readings)

    def _called(self, item: Placed) -> int | None:
        """The number of the string that is called for."""
        call = self._knowledge.directives.get(item.in_force.string_call or "")
        if call is None:
            return None
        string = called_string(call, item.in_force.strings, self._instrument)
        return None if string is None else string.number

    def _nothing(self, printed: str, note: Note, model: HandModel) -> ResolvedHarmonic:
        """The result where no string has the note, or it lies above all that is granted."""
        height = note.pitch.midi - max(model.strings)
        granted = 12 * log2(self._limits.highest_partial)
        return ResolvedHarmonic(printed, "beyond-compass" if height > granted else "no-node")

    def _is_no_touch(self, touched: Note, base: Note) -> bool:
        touch = touched.pitch.midi - base.pitch.midi
        partials = 2 * max(self._limits.highest_partial, self._limits.artificial_partial)
        return touch <= 0 or node_at(touch, partials) is None


def harmonics_of(
    around: Circumstances,
    placed: Sequence[Placed],
    solver_of: Callable[[InForce], StopSolver | None],
) -> Iterator[tuple[Placed, Harmonics, HandModel]]:
    """Yield the events of a staff that show harmonics, each with its reader and the hand for it.

    Instruments whose hand the graph does not describe, or for which it does not cover both kinds
    of harmonics, are left out.
    """
    readers: dict[str, Harmonics | None] = {}
    for item in placed:
        if not is_harmonic(item, around.knowledge):
            continue
        solver = solver_of(item.in_force)
        if solver is None:
            continue
        level = around.level_of(item.in_force)
        if level not in readers:
            limits = judged_limits(around.knowledge, around.instrument, level, around.trust)
            reader = Harmonics(limits, around.knowledge, around.instrument) if limits else None
            readers[level] = reader
        if (reader := readers[level]) is not None:
            yield item, reader, solver.model


def _is_sure(harmonic: Harmonic, head: Note) -> bool:
    """Whether a circle over a head can mean this: as a touched place, only if reliable."""
    if harmonic.sounding.midi == head.pitch.midi:
        return harmonic.verdict < HarmonicGrade.UNRELIABLE
    return harmonic.verdict is HarmonicGrade.GOOD


def _is_news(harmonic: Harmonic, printed: Note) -> bool:
    """Whether another pitch sounds than the one that is printed."""
    return harmonic.sounding.midi != printed.pitch.midi


def _kind(in_force: InForce) -> Kind | None:
    if ARTIFICIAL in in_force.techniques:
        return "artificial"
    return "natural" if NATURAL in in_force.techniques else None


def _best(resolution: Resolution) -> Harmonic | None:
    return resolution.readings[0] if resolution.readings else None


def _spans_touch(low: Note, high: Note) -> bool:
    return 0 < high.pitch.midi - low.pitch.midi <= _OCTAVE


def _bases(event: Event, touched: Sequence[Note]) -> list[Note | None]:
    """The stopped head of each touched one, if it has any.

    Heads marked as stopped come first; otherwise it is the next ordinary head below, no farther
    than an octave: nothing wider is touched over a stopped note.
    """
    marked = [n for n in event.notes if n.role == "base" and n not in touched]
    free = marked or [n for n in event.notes if n.role is None and n not in touched]
    bases: list[Note | None] = []
    for touch in reversed(touched):
        below = [n for n in free if n.pitch.midi <= touch.pitch.midi]
        near = below if marked else [n for n in below if _spans_touch(n, touch)]
        base = max(near, key=lambda note: note.pitch, default=None)
        if base is None and marked and free:
            base = min(free, key=lambda note: note.pitch)
        if base is not None:
            free.remove(base)
        bases.append(base)
    return bases[::-1]
