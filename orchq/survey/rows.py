"""Rows of the survey's tables: what a score asks of its string parts, place by place.

Cues and parts that are no string parts are left out. Techniques, dynamics and instruments are
named by slug, and the empty string stands for none. Seconds are those that derivation compares
with limits, so that an assumed tempo never makes more of a place than it is: the least that a bow
or a tremolo lasts, the most that there is for anything to be done in. They are ``None`` where no
tempo is known.
"""

from typing import Literal

from msgspec import Struct

PlayersSetting = Literal["solo", "section"]
TempoKind = Literal["marked", "assumed", "none"]
"""``marked``: a figure is printed or stored; ``assumed``: from a tempo word; ``none``: unknown."""


class Work(Struct, frozen=True):
    """A file.

    ``work`` is its path below the folder that was given, with slashes; ``collection`` is that
    folder's name. ``composer`` is the surname without capitals and accents, ``composer_name`` as
    it was found. ``notes`` and ``parts`` count string parts only. ``tempo`` is the best that is
    known anywhere in the file.
    """

    work: str
    composer: str
    composer_name: str
    title: str
    movement: str
    collection: str
    notes: int
    parts: int
    tempo: TempoKind


class RowPlace(Struct, frozen=True):
    """Where something stands: what every row but that of a file begins with.

    ``measure`` is the printed number, ``measure_index`` counts from 0; ``beat`` counts quarter
    notes from 1, as reports do. ``setting`` is ``solo`` or ``section``.
    """

    work: str
    part: str
    part_index: int
    instrument: str
    setting: PlayersSetting
    measure: str
    measure_index: int
    beat: float


class PitchRow(RowPlace, frozen=True):
    """A pitch that an instrument is given in one way of playing; the place is the first.

    ``way`` is ``arco``, ``pizzicato``, ``harmonic`` or ``stick``; the pitch of a harmonic is what
    sounds. ``notes`` counts noteheads in all parts of the work that are set alike.
    """

    way: str
    midi: int
    pitch: str
    notes: int


class PassageRow(RowPlace, frozen=True):
    """Events one after another under one technique and one dynamic; the place is the first.

    There is one row for each technique in force. ``rank`` is that of the dynamic, and ``text``
    what is printed for the technique, where words stand for it.
    """

    technique: str
    dynamic: str
    rank: int | None
    notes: int
    seconds: float | None
    tempo: TempoKind
    text: str


class RunRow(RowPlace, frozen=True):
    """Even notes of one stroke, or plucked; ``seconds`` lead from the first to the last attack."""

    stroke: str
    dynamic: str
    rank: int | None
    notes: int
    notes_per_second: float | None
    seconds: float | None
    tempo: TempoKind


class ChangeRow(RowPlace, frozen=True):
    """A change of the way of playing; the place is where the new one begins.

    ``kind`` is ``pluck-bow``, ``mute``, ``tuning``, ``string-call`` or ``bow-return``; ``beats``
    are the quarter notes that there are for it.
    """

    kind: str
    before: str
    into: str
    seconds: float | None
    beats: float
    tempo: TempoKind


class SlurRow(RowPlace, frozen=True):
    """A slur that shows one bow; ``notes`` counts attacks, and a chord as one.

    ``stroke`` is ``portato`` where every note has a dash, ``slurred-staccato`` where every note
    has a dot, and else ``legato``.
    """

    stroke: str
    dynamic: str
    rank: int | None
    notes: int
    seconds: float | None
    tempo: TempoKind


class StopRow(RowPlace, frozen=True):
    """Notes that one player takes at once, of a divisi those of the worst placed player.

    ``pitches`` and ``intervals`` (semitones between neighbours) go from the lowest up. ``struck``
    is false under a sign to break the chord; ``grade`` is the hand's, as marked. ``seconds`` lead
    to what begins next on the staff. ``shared`` is true where several players may divide the
    notes among them although nothing is printed.
    """

    pitches: str
    intervals: str
    struck: bool
    bowed: bool
    shared: bool
    dynamic: str
    rank: int | None
    grade: str
    seconds: float | None
    tempo: TempoKind


class HarmonicRow(RowPlace, frozen=True):
    """A harmonic, read at its best.

    ``string`` counts from 1, the highest; ``node`` is the partial that sounds.
    """

    kind: Literal["natural", "artificial"]
    string: int
    node: int
    sounding: str
    touched: str


class DivisiRow(RowPlace, frozen=True):
    """A passage divided into ``parts``; the place is its first event."""

    parts: int
    events: int


class TremoloRow(RowPlace, frozen=True):
    """A tremolo or trill that no rest breaks; ``notes`` counts attacks as written."""

    technique: str
    notes: int
    seconds: float | None
    tempo: TempoKind


class WordRow(RowPlace, frozen=True):
    """Words printed in string parts of one work; the place is the first of ``count``.

    ``directives`` is what the graph makes of it and ``unknown`` what is left over;
    ``technique_words`` is true when it asks for a way of playing rather than for tempo,
    expression or loudness.
    """

    text: str
    directives: str
    unknown: str
    count: int
    technique_words: bool


class LeapRow(RowPlace, frozen=True):
    """A leap that moves the left hand, at its second note; the speed is in millimetres a second."""

    travel_speed: float | None
    seconds: float | None
    tempo: TempoKind


class StopRunRow(RowPlace, frozen=True):
    """Double stops of one length with no note in common from one to the next."""

    stops: int
    stops_per_second: float | None
    seconds: float | None
    tempo: TempoKind


Row = Work | RowPlace

TABLES: dict[str, type[Row]] = {
    "works": Work,
    "pitches": PitchRow,
    "passages": PassageRow,
    "runs": RunRow,
    "changes": ChangeRow,
    "slurs": SlurRow,
    "stops": StopRow,
    "harmonics": HarmonicRow,
    "divisi": DivisiRow,
    "tremolos": TremoloRow,
    "words": WordRow,
    "leaps": LeapRow,
    "double_stop_runs": StopRunRow,
}
"""The kind of row of every table, by the table's name."""
