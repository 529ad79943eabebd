"""The question what is heard: of plain notes, harmonics, and strings tuned otherwise."""

from collections.abc import Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from orchq.derive.hand import highest_stop
from orchq.derive.harmonics import (
    Harmonic,
    HarmonicNotation,
    natural_harmonics,
    natural_ways,
    resolve,
)
from orchq.errors import OrchqError
from orchq.evidence import Evidence
from orchq.knowledge import Directive, Instrument, InstrumentString, Tuning
from orchq.notation import Pitch
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking, Standpoint, physics
from orchq.questions.judging import Hands, reason
from orchq.questions.pitch_names import parse_pitch, parse_pitches
from orchq.terms import OQ

NOTE, CIRCLE, DIAMOND, OVER_NOTE = "note", "small circle", "diamond", "diamond over a note"
_CIRCLE_TWO_OCTAVES_LOW = OQ + "note-harmonics-shorthand"
_A4, _A4_HERTZ = 69, 440
_RETUNED = (
    "Fingered as on the usual tuning: each retuned string sounds otherwise than printed. What a "
    "string bears is for its player to say."
)


class SoundsAnswer(Struct, frozen=True):
    """One meaning of a notation; ``notes`` are as the player reads them, ``heard`` sounds."""

    printed: str
    notes: tuple[str, ...]
    string: str | None
    number: int | None
    heard: str
    heard_cents: int
    hertz: float
    partial: int | None
    node: str | None
    speech: str | None
    because: str
    evidence: tuple[Evidence, ...]


def sounds(
    self: Asking,
    *,
    on: str,
    pitch: str | int | None = None,
    touch: str | int | None = None,
    base: str | int | None = None,
    string: str | None = None,
    tuning: str | None = None,
    level: str | None = None,
    trust: str | None = None,
) -> Answers[SoundsAnswer]:
    """Return what is heard when notes are printed, in every meaning that they can have.

    ``pitch``, ``touch`` and ``base`` are written pitches, as players of the instrument read them;
    ``tuning`` gives the open strings as they sound. Without any note, the natural harmonics of
    the open strings are returned. Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> [answer] = orchq.load().ask.sounds(on="violin", base="B4", touch="E5", string="sul A")
    >>> answer.heard, round(answer.hertz, 1)
    ('B6', 1975.5)
    """
    instrument = self.names.instrument(on)
    read = [None if each is None else parse_pitch(each) for each in (pitch, touch, base)]
    called = None if string is None else self.names.directive(string)
    stand = self.standpoint(level, trust)
    remarks: list[str] = []
    strings = _tuned(instrument, tuning, remarks)
    if called is not None and _string_called(instrument.standard, called) is None:
        remarks.append(f"{called.label} calls no string of the {instrument.label}.")
        strings = ()
    found: list[SoundsAnswer] = []
    if strings:
        meanings = _Meanings(self, instrument, strings, stand)
        try:
            found = list(meanings.of(*read))
        except OrchqError as error:  # an instrument whose strings are not stopped
            found = list(meanings.plain(read[0])) if read[0] else []
            remarks.append(f"{str(error)[:1].upper()}{str(error)[1:]}.")
        if called is not None:
            number = _string_called(instrument.standard, called)
            found = [each for each in found if each.number in (None, number)]
        if not found and not remarks:
            remarks.append("Nothing sounds so within the partials granted.")
        if any(each.printed == CIRCLE for each in found):
            remarks += [each.statement for each in self.evidence_for(_CIRCLE_TWO_OCTAVES_LOW)]
        if found and tuning is not None:
            remarks.append(_RETUNED)
    parameters = {
        "on": instrument.label,
        **{
            name: None if each is None else each.name
            for name, each in zip(("pitch", "touch", "base"), read, strict=True)
        },
        "string": called and called.label,
        "tuning": tuning and " ".join(each.name for each in parse_pitches(tuning)),
        **stand.shown,
    }
    return self.answer("sounds", parameters, found, remarks)


def _tuned(
    instrument: Instrument, tuning: str | None, remarks: list[str]
) -> tuple[InstrumentString, ...]:
    """The strings by number, as they sound; none, with a remark, where the tuning does not fit."""
    usual = instrument.standard.strings
    if tuning is None:
        return usual
    opened = parse_pitches(tuning)[::-1]
    if len(opened) != len(usual):
        remarks.append(
            f"The {instrument.label} has {len(usual)} strings, and {len(opened)} are given."
        )
        return ()
    return tuple(replace(each, pitch=new) for each, new in zip(usual, opened, strict=True))


def _string_called(tuning: Tuning, call: Directive) -> int | None:
    for each in tuning.strings:
        if call.string_number == each.number or call.string_name == each.name:
            return each.number
    return None


class _Meanings:
    """What printed notes can mean on the strings of an instrument as they are tuned."""

    def __init__(
        self,
        asking: Asking,
        instrument: Instrument,
        strings: Sequence[InstrumentString],
        stand: Standpoint,
    ) -> None:
        self._asking = asking
        self._instrument = instrument
        self._usual = instrument.standard.strings
        self._strings = strings
        self._hands = Hands(asking, stand)
        self._retuned = any(
            one.pitch.midi != other.pitch.midi
            for one, other in zip(strings, self._usual, strict=True)
        )

    def of(
        self, printed: Pitch | None, touched: Pitch | None, base: Pitch | None
    ) -> Iterator[SoundsAnswer]:
        """Every meaning, the plainest first; with nothing printed, the open strings' harmonics."""
        if printed is None and touched is None and base is None:
            yield from self._open_harmonics()
        if printed is not None:
            yield from self.plain(printed)
            yield from self._circled(printed)
            yield from self._resolved(DIAMOND, touched=printed)
        if touched is not None and base is None:
            yield from self._resolved(DIAMOND, touched=touched)
        if base is not None and touched is None:
            yield from self.plain(base)
        if base is not None and touched is not None:
            yield from self._resolved(OVER_NOTE, touched=touched, base=base)

    def plain(self, printed: Pitch) -> Iterator[SoundsAnswer]:
        """The note itself: on any string, or string by string where they are tuned otherwise."""
        sounding = self._sounding(printed)
        reads = self._instrument.octaves_above
        if self._retuned:
            top = highest_stop(self._asking.knowledge, self._instrument)[0]
            for usual, new in zip(self._usual, self._strings, strict=True):
                height = sounding.midi - usual.pitch.midi
                if 0 <= height <= (top or 0):
                    shift = new.pitch.midi - usual.pitch.midi
                    heard = Pitch.from_midi(sounding.midi + shift) if shift else sounding
                    words = f"the {usual.name} string is tuned to {new.pitch}"
                    yield self._note(printed, usual, heard, words)
        else:
            words = "heard as printed"
            if reads:
                words = f"heard {abs(reads)} octave {'above' if reads > 0 else 'below'} the print"
            yield self._note(printed, None, sounding, words)

    def _note(
        self, printed: Pitch, string: InstrumentString | None, heard: Pitch, words: str
    ) -> SoundsAnswer:
        return SoundsAnswer(
            NOTE,
            (printed.name,),
            string.name if string else None,
            string.number if string else None,
            heard.name,
            0,
            _hertz(heard),
            None,
            None,
            None,
            "",
            (physics(self._instrument.iri, words),),
        )

    def _circled(self, printed: Pitch) -> Iterator[SoundsAnswer]:
        """A small circle stands at the pitch that is to sound."""
        sounding = self._sounding(printed).midi
        opened = [each.pitch.midi for each in self._usual]
        shown: set[int] = set()
        for way in natural_ways(sounding, opened, self._hands.limits(self._instrument)):
            if way.string not in shown:
                shown.add(way.string)
                yield self._harmonic(CIRCLE, (printed,), way)

    def _resolved(
        self, head: str, touched: Pitch, base: Pitch | None = None
    ) -> Iterator[SoundsAnswer]:
        """A diamond at the place that is touched, over an open string or a stopped note."""
        notation = HarmonicNotation(
            base=None if base is None else self._sounding(base).midi,
            touched=self._sounding(touched).midi,
        )
        hands = self._hands
        model, limits = hands.model(self._instrument), hands.limits(self._instrument)
        notes = (touched,) if base is None else (base, touched)
        for way in resolve(notation, model, limits).readings:
            yield self._harmonic(head, notes, way)

    def _open_harmonics(self) -> Iterator[SoundsAnswer]:
        """Every natural harmonic that is granted, touched in the half towards the nut."""
        limits = self._hands.limits(self._instrument)
        opened = [each.pitch.midi for each in self._usual]
        for each in natural_harmonics(opened, limits.highest_partial):
            for way in natural_ways(each.sounding.midi, opened, limits):
                if (way.string, way.node) == (each.string, each.node):
                    yield self._harmonic(DIAMOND, (self._written(way.touched),), way)

    def _harmonic(self, head: str, notes: Sequence[Pitch], way: Harmonic) -> SoundsAnswer:
        usual, new = self._usual[way.string - 1], self._strings[way.string - 1]
        shift = new.pitch.midi - usual.pitch.midi
        heard = Pitch.from_midi(way.sounding.midi + shift) if shift else way.sounding
        base = Pitch.from_midi(way.base.midi + shift) if shift else way.base
        words = f"partial {way.partial} of {base}"
        return SoundsAnswer(
            head,
            tuple(each.name for each in notes),
            usual.name,
            usual.number,
            heard.name,
            way.sounding_cents,
            _hertz(base, way.partial),
            way.partial,
            str(way.node),
            way.verdict.label,
            reason(way),
            (physics(self._instrument.iri, words), *self._hands.granted(way, self._instrument)),
        )

    def _sounding(self, written: Pitch) -> Pitch:
        return written.octaves_up(self._instrument.octaves_above)

    def _written(self, sounding: Pitch) -> Pitch:
        return sounding.octaves_up(-self._instrument.octaves_above)


def _hertz(pitch: Pitch, partial: int = 1) -> float:
    return round(float(_A4_HERTZ * 2 ** ((pitch.midi - _A4) / 12) * partial), 1)
