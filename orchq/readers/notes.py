"""Reads one ``<note>`` element."""

from collections.abc import Callable, Mapping

from orchq.exact import Fraction
from orchq.readers.numbers import Ticks, exact, whole
from orchq.readers.printed_text import NOTE_VALUES, cleaned, with_dots
from orchq.readers.signs import (
    ARCO,
    ARTIFICIAL_HARMONIC,
    FINGERED,
    MEASURED,
    MUTE_OFF,
    MUTE_ON,
    NATURAL_HARMONIC,
    PIZZICATO,
    UNMEASURED,
    Signs,
)
from orchq.readers.source import Element, InputFile, text_of
from orchq.score import HarmonicRole

PitchKey = tuple[str | None, str | None, str | None]
"""Step, alteration and octave as written in the file."""

_ROLES: Mapping[str, HarmonicRole] = {
    "base-pitch": "base",
    "touching-pitch": "touching",
    "sounding-pitch": "sounding",
}
_MANY_STROKES = 3
_LONGEST_REMARK = 60


class NoteDraft:
    """The content of one ``<note>``, before it becomes part of an event.

    ``unknown`` names technical signs that the graph does not know.
    """

    __slots__ = (
        "chord",
        "cue",
        "dots",
        "duration",
        "dynamics",
        "finger",
        "grace",
        "hidden",
        "marks",
        "notehead",
        "pitch",
        "ratio",
        "role",
        "size",
        "slurs",
        "staff",
        "string",
        "strokes",
        "sung",
        "tie_forward",
        "tied_back",
        "type",
        "unknown",
        "unpitched",
        "voice",
        "xml_id",
    )

    def __init__(self) -> None:
        self.pitch: PitchKey | None = None
        self.unpitched = False
        self.chord = False
        self.grace = False
        self.cue = False
        self.hidden = False
        self.duration: Ticks | None = None
        self.type: str | None = None
        self.size: str | None = None
        self.dots = 0
        self.ratio = Fraction(1)
        self.voice = "1"
        self.staff: int | None = None
        self.tie_forward = False
        self.tied_back = False
        self.string: int | None = None
        self.finger: str | None = None
        self.role: HarmonicRole | None = None
        self.notehead: str | None = None
        self.strokes = 0
        self.sung = False
        self.marks: list[str] = []
        self.unknown: list[str] = []
        self.slurs: list[tuple[str, str]] = []
        self.dynamics: list[Element] = []
        self.xml_id: str | None = None

    @property
    def is_played(self) -> bool:
        """Whether the note is a visible notehead with a pitch."""
        return self.pitch is not None and not self.hidden

    @property
    def is_cue(self) -> bool:
        """Whether the note is a cue: marked so, or printed small without being a grace note."""
        return self.cue or self.size == "grace-cue" or (self.size == "cue" and not self.grace)

    @property
    def printed_length(self) -> Fraction | None:
        """Quarter notes by the shape of the note, dots and tuplet; ``None`` without a shape."""
        value = NOTE_VALUES.get(self.type or "")
        return with_dots(value, self.dots) * self.ratio if value is not None else None


class NoteParser:
    """Reads ``<note>`` elements."""

    def __init__(self, signs: Signs, source: InputFile) -> None:
        self._signs = signs
        self._source = source
        self._children: dict[str, Callable[[NoteDraft, Element], None]] = {
            "pitch": self._pitch,
            "duration": self._duration,
            "voice": self._voice,
            "type": self._type,
            "staff": self._staff,
            "chord": self._chord,
            "grace": self._grace,
            "cue": self._cue,
            "unpitched": self._unpitched,
            "dot": self._dot,
            "tie": self._tie,
            "time-modification": self._time_modification,
            "notehead": self._notehead,
            "play": self._play,
            "notations": self._notations,
            "lyric": self._lyric,
        }
        self._notation: dict[str, Callable[[NoteDraft, Element], None]] = {
            "slur": self._slur,
            "tied": self._tie,
            "technical": self._group,
            "articulations": self._group,
            "ornaments": self._group,
            "dynamics": self._dynamics,
            "glissando": self._line,
            "slide": self._line,
            "tuplet": _nothing,
        }
        self._grouped: dict[str, Callable[[NoteDraft, Element], None]] = {
            "harmonic": self._harmonic,
            "string": self._string,
            "fingering": self._fingering,
            "tremolo": self._tremolo,
            "wavy-line": _nothing,
            "accidental-mark": _nothing,
        }

    def parse(self, element: Element) -> NoteDraft:
        """Read one note. Raises ``ReadError`` for an invalid duration."""
        draft = NoteDraft()
        children = self._children
        for child in element:
            handler = children.get(child.tag)
            if handler is not None:
                handler(draft, child)
        draft.hidden = element.get("print-object") == "no"
        draft.xml_id = element.get("id")
        plucked = element.get("pizzicato")
        if plucked is not None:
            draft.marks.append(PIZZICATO if plucked == "yes" else ARCO)
        return draft

    # ------------------------------------------------------------ children of the note

    def _pitch(self, draft: NoteDraft, element: Element) -> None:
        step = alter = octave = None
        for child in element:
            tag = child.tag
            if tag == "step":
                step = child.text
            elif tag == "octave":
                octave = child.text
            elif tag == "alter":
                alter = child.text
        draft.pitch = (step, alter, octave)

    def _duration(self, draft: NoteDraft, element: Element) -> None:
        duration = exact(element.text)
        if duration is None or duration < 0:
            raise self._source.fault(f"<duration> is {element.text!r}", element)
        draft.duration = duration

    def _voice(self, draft: NoteDraft, element: Element) -> None:
        draft.voice = text_of(element) or "1"

    def _type(self, draft: NoteDraft, element: Element) -> None:
        draft.type = element.text
        draft.size = element.get("size")

    def _staff(self, draft: NoteDraft, element: Element) -> None:
        draft.staff = whole(element.text)

    def _chord(self, draft: NoteDraft, _element: Element) -> None:
        draft.chord = True

    def _grace(self, draft: NoteDraft, _element: Element) -> None:
        draft.grace = True

    def _cue(self, draft: NoteDraft, _element: Element) -> None:
        draft.cue = True

    def _unpitched(self, draft: NoteDraft, _element: Element) -> None:
        draft.unpitched = True

    def _dot(self, draft: NoteDraft, _element: Element) -> None:
        draft.dots += 1

    def _tie(self, draft: NoteDraft, element: Element) -> None:
        kind = element.get("type")
        if kind in {"start", "continue"}:
            draft.tie_forward = True
        if kind in {"stop", "continue"}:
            draft.tied_back = True

    def _lyric(self, draft: NoteDraft, element: Element) -> None:
        draft.sung = draft.sung or element.find("text") is not None

    def _time_modification(self, draft: NoteDraft, element: Element) -> None:
        actual = whole(element.findtext("actual-notes"))
        normal = whole(element.findtext("normal-notes"))
        if actual and normal:
            draft.ratio = Fraction(normal, actual)

    def _notehead(self, draft: NoteDraft, element: Element) -> None:
        shape = text_of(element)
        if "Diamond" in (element.get("smufl") or ""):
            shape = "diamond"
        draft.notehead = shape if shape not in {"", "normal"} else None

    def _play(self, draft: NoteDraft, element: Element) -> None:
        draft.marks.extend(play_directives(element, self._signs))

    # ---------------------------------------------------------------------- notations

    def _notations(self, draft: NoteDraft, element: Element) -> None:
        for child in element:
            handler = self._notation.get(child.tag, self._sign)
            handler(draft, child)

    def _group(self, draft: NoteDraft, element: Element) -> None:
        for child in element:
            handler = self._grouped.get(child.tag)
            if handler is not None:
                handler(draft, child)
                continue
            sign = self._signs.sign(child)
            if sign is not None:
                draft.marks.append(sign)
            elif element.tag == "technical":
                what = child.get("smufl") or cleaned(child.text).strip() or str(child.tag)
                draft.unknown.append(what[:_LONGEST_REMARK])

    def _slur(self, draft: NoteDraft, element: Element) -> None:
        draft.slurs.append((element.get("type") or "", element.get("number") or "1"))

    def _line(self, draft: NoteDraft, element: Element) -> None:
        if element.get("type") == "start":
            self._sign(draft, element)

    def _sign(self, draft: NoteDraft, element: Element) -> None:
        sign = self._signs.sign(element)
        if sign is not None:
            draft.marks.append(sign)

    def _dynamics(self, draft: NoteDraft, element: Element) -> None:
        draft.dynamics.append(element)

    def _harmonic(self, draft: NoteDraft, element: Element) -> None:
        """A bare sign is a small circle, which natural harmonics are printed with."""
        mark = NATURAL_HARMONIC
        for child in element:
            if child.tag == "artificial":
                mark = ARTIFICIAL_HARMONIC
            draft.role = _ROLES.get(child.tag, draft.role)
        draft.marks.append(mark)

    def _string(self, draft: NoteDraft, element: Element) -> None:
        number = whole(element.text)
        if number is not None and number > 0:
            draft.string = number

    def _fingering(self, draft: NoteDraft, element: Element) -> None:
        finger = text_of(element)
        if finger and draft.finger is None:
            draft.finger = "T" if finger == "t" else finger

    def _tremolo(self, draft: NoteDraft, element: Element) -> None:
        """Signs between two notes are fingered; on one stem, three strokes mean unmeasured.

        The meaning of three strokes depends on tempo and composer: in most music they ask for
        as many strokes as possible, one or two for an exact repetition.
        """
        kind = element.get("type") or "single"
        strokes = whole(element.text)
        if kind in {"start", "stop"}:
            draft.marks.append(FINGERED)
        elif kind == "unmeasured" or strokes is None or strokes >= _MANY_STROKES:
            draft.marks.append(UNMEASURED)
        elif strokes > 0:
            draft.marks.append(MEASURED)
        draft.strokes = strokes or 0


def _nothing(_draft: NoteDraft, _element: Element) -> None:
    """A sign that asks nothing of the player beyond what is printed beside it."""


def play_directives(play: Element, signs: Signs) -> list[str]:
    """The directives of a ``<play>`` element: mutes, and other techniques by their words."""
    found = []
    for child in play:
        if child.tag == "mute":
            found.append(MUTE_OFF if text_of(child) == "off" else MUTE_ON)
        elif child.tag == "other-play":
            text = child.text or ""
            found.extend(signs.words((text,)).directives if text else ())
    return found
