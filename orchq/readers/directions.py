"""Words and signs beside the staff: ``<direction>`` and ``<sound>``."""

from collections.abc import Callable, Iterable

from msgspec import Struct, field

from orchq.exact import Fraction
from orchq.notation import Pitch
from orchq.readers.notes import play_directives
from orchq.readers.numbers import Ticks, exact, nearest, whole
from orchq.readers.pitches import spelled
from orchq.readers.printed_text import (
    NOTE_VALUES,
    is_annotation,
    is_significant,
    is_tempo,
    per_minute,
    symbols_in,
    tempo_in,
    with_dots,
)
from orchq.readers.signs import ARCO, MUTE_OFF, MUTE_ON, PIZZICATO, RecognisedWords, Signs
from orchq.readers.source import Element, text_of

_STEPS = frozenset("ABCDEFG")


class MarkDraft(Struct):
    """A mark that has no position yet."""

    directives: tuple[str, ...] = ()
    text: str = ""
    number: int | None = None
    tempo: Fraction | None = None
    retuned: tuple[tuple[int, Pitch], ...] = ()
    signature: int | None = None
    pedals: tuple[tuple[str, int], ...] = ()


class Direction(Struct):
    """The content of one direction: marks in printed order, and ends of spanning signs.

    Those of wedges are (type, number), those of brackets and dashes (sign, type, number).
    """

    offset: Ticks = 0
    staff: int | None = None
    voice: str | None = None
    marks: list[MarkDraft] = field(default_factory=list)
    wedges: list[tuple[str, str]] = field(default_factory=list)
    lines: list[tuple[str, str, str]] = field(default_factory=list)

    @property
    def directives(self) -> set[str]:
        """All directives of the direction's marks."""
        return {directive for mark in self.marks for directive in mark.directives}


class DirectionReader:
    """Reads directions, dynamics at notes and sounds into marks."""

    def __init__(self, signs: Signs) -> None:
        self._signs = signs
        self._types: dict[str, Callable[[Direction, Element], None]] = {
            "dynamics": self._dynamics,
            "wedge": self._wedge,
            "metronome": self._metronome,
            "string-mute": self._string_mute,
            "scordatura": self._scordatura,
            "harp-pedals": self._pedals,
            "rehearsal": self._ignore,
            "dashes": self._line,
            "bracket": self._line,
        }

    def read(self, element: Element) -> Direction:
        """Read a ``<direction>`` with the sound that it carries."""
        found = Direction(
            offset=exact(element.findtext("offset")) or 0,
            staff=whole(element.findtext("staff")),
            voice=(element.findtext("voice") or "").strip() or None,
        )
        run: list[Element] = []
        for kind in element.findall("direction-type"):
            for child in kind:
                if child.tag in {"words", "symbol"}:
                    run.append(child)
                    continue
                self._words(found, run)
                run = []
                self._types.get(child.tag, self._sign)(found, child)
        self._words(found, run)
        for sound in element.findall("sound"):
            self.add_sound(found, sound)
        return found

    def add_sound(self, found: Direction, sound: Element) -> None:
        """Add the content of a ``<sound>`` that the printed marks beside it lack."""
        tempo = exact(sound.get("tempo"))
        if tempo and is_tempo(tempo) and all(mark.tempo is None for mark in found.marks):
            self._tempo_mark(found).tempo = Fraction(tempo)
        plucked = sound.get("pizzicato")
        if plucked is not None and not self._says(found, plucked=plucked == "yes"):
            found.marks.append(MarkDraft((PIZZICATO if plucked == "yes" else ARCO,)))
        for play in sound.findall("play"):
            self._add_new(found, play_directives(play, self._signs))

    def dynamics_at_note(self, element: Element, staff: int | None) -> Direction:
        """Read the ``<dynamics>`` of a note's ``<notations>``."""
        found = Direction(staff=staff)
        self._dynamics(found, element)
        return found

    # ------------------------------------------------------------- words and symbols

    def _words(self, found: Direction, run: list[Element]) -> None:
        pieces: list[str] = []
        for element in run:
            text = element.text or ""
            if element.tag == "words":
                pieces.append(text)
                for name in symbols_in(text):
                    self._add_glyph(found, name)
            elif (glyph := self._signs.glyph(text.strip())) is not None:
                self._text(found, pieces)
                pieces = []
                found.marks.append(MarkDraft((glyph,)))
        self._text(found, pieces)

    def _text(self, found: Direction, pieces: list[str]) -> None:
        if not pieces or is_annotation("".join(pieces)):
            return
        words = self._signs.words(pieces)
        if is_significant(words.text):
            found.marks.append(_mark(words, tempo_in(words.text)))

    def _add_glyph(self, found: Direction, name: str) -> None:
        glyph = self._signs.glyph(name)
        if glyph is not None:
            found.marks.append(MarkDraft((glyph,)))

    # --------------------------------------------------------------- kinds of direction

    def _dynamics(self, found: Direction, element: Element) -> None:
        """A dynamic may be composite: ``<sf/><mp/>``, or ``<p/>`` with words beside it."""
        pieces = [
            child.text or "" if child.tag == "other-dynamics" else str(child.tag)
            for child in element
        ]
        plain = all(child.tag != "other-dynamics" for child in element)
        sign = self._signs.element("".join(pieces)) if plain else None
        if sign is not None:
            found.marks.append(MarkDraft((sign,), "".join(pieces)))
            return
        words = self._signs.words(pieces)
        if words.directives:
            found.marks.append(_mark(words))
            return
        single = [sign for child in element if (sign := self._signs.sign(child)) is not None]
        if single or is_significant(words.text):
            found.marks.append(MarkDraft(tuple(single), words.text))

    def _wedge(self, found: Direction, element: Element) -> None:
        found.wedges.append((element.get("type") or "", element.get("number") or "1"))

    def _metronome(self, found: Direction, element: Element) -> None:
        """Read a metronome mark; it joins the tempo word printed before it, if there is one."""
        units = element.findall("beat-unit")
        printed = text_of(element.find("per-minute"))
        beat = NOTE_VALUES.get(text_of(units[0])) if len(units) == 1 else None
        if beat is None or not printed:
            return
        dots = len(element.findall("beat-unit-dot"))
        tempo = per_minute(printed, with_dots(beat, min(dots, 4)))
        if found.marks and found.marks[-1].tempo is None and self._is_tempo(found.marks[-1]):
            found.marks[-1].tempo = tempo
        else:
            text = f"{text_of(units[0])}{'.' * min(dots, 4)} = {printed}"
            found.marks.append(MarkDraft(text=text, tempo=tempo))

    def _string_mute(self, found: Direction, element: Element) -> None:
        self._add_new(found, [MUTE_OFF if element.get("type") == "off" else MUTE_ON])

    def _scordatura(self, found: Direction, element: Element) -> None:
        accords = {
            number: pitch
            for accord in element.findall("accord")
            if (number := whole(accord.get("string"))) and (pitch := tuning_pitch(accord))
        }
        sign = self._signs.sign(element)
        found.marks.append(
            MarkDraft((sign,) if sign else (), retuned=tuple(sorted(accords.items())))
        )

    def _pedals(self, found: Direction, element: Element) -> None:
        """Read a pedal diagram; an invalid pedal is ignored."""
        setting: dict[str, int] = {}
        for tuning in element.findall("pedal-tuning"):
            letter = text_of(tuning.find("pedal-step")).upper()
            alter = exact(tuning.findtext("pedal-alter"))
            if letter in _STEPS and alter in (-1, 0, 1):
                setting.setdefault(letter, int(alter))
        if setting:
            found.marks.append(MarkDraft(pedals=tuple(setting.items())))

    def _sign(self, found: Direction, element: Element) -> None:
        sign = self._signs.sign(element)
        if str(element.tag).startswith("other-") and text_of(element):
            words = self._signs.words((element.text or "",))
            directives = words.directives or ((sign,) if sign else ())
            found.marks.append(MarkDraft(directives, words.text, words.number))
        elif sign is not None:
            self._add_new(found, [sign])

    def _line(self, found: Direction, element: Element) -> None:
        found.lines.append(
            (str(element.tag), element.get("type") or "", element.get("number") or "1")
        )

    def _ignore(self, found: Direction, element: Element) -> None:
        """A rehearsal mark."""

    # -------------------------------------------------------------------------- helpers

    def _add_new(self, found: Direction, directives: Iterable[str]) -> None:
        known = found.directives
        new = tuple(directive for directive in directives if directive not in known)
        if new:
            found.marks.append(MarkDraft(new))

    def _tempo_mark(self, found: Direction) -> MarkDraft:
        """The mark that a tempo belongs to: a tempo word, or words that were not recognized."""
        for mark in found.marks:
            if self._is_tempo(mark) or (mark.text and not mark.directives):
                return mark
        found.marks.append(MarkDraft())
        return found.marks[-1]

    def _is_tempo(self, mark: MarkDraft) -> bool:
        return any("TempoWord" in self._signs.kinds(directive) for directive in mark.directives)

    def _says(self, found: Direction, *, plucked: bool) -> bool:
        """Whether the words already set or cancel plucking."""
        directives = found.directives
        if plucked:
            return any("PluckedTechnique" in self._signs.kinds(d) for d in directives)
        known = self._signs.knowledge.directives
        return ARCO in directives or any(
            PIZZICATO in known[d].cancels for d in directives if d in known
        )


def tuning_pitch(element: Element) -> Pitch | None:
    """The pitch of a string in ``<accord>`` or ``<staff-tuning>``; ``None`` when invalid."""
    letter = text_of(element.find("tuning-step")).upper()
    octave = whole(element.findtext("tuning-octave"))
    alter = exact(element.findtext("tuning-alter")) or 0
    if letter not in _STEPS or octave is None or not 0 <= octave <= 9 or not -2 <= alter <= 2:
        return None
    return spelled(letter, nearest(alter), octave)


def _mark(words: RecognisedWords, tempo: Fraction | None = None) -> MarkDraft:
    return MarkDraft(words.directives, words.text, words.number, tempo)
