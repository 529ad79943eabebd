"""Questions about the strings: where a pitch lies, how far an instrument goes, how it sounds."""

from msgspec import Struct

from orchq.derive.hand import Grade, hand_model, highest_stop, solver_for
from orchq.derive.pedals import spellings
from orchq.errors import OrchqError
from orchq.evidence import Evidence
from orchq.knowledge import Instrument, InstrumentString, Tuning
from orchq.notation import Pitch
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking, Row, Standpoint
from orchq.questions.pitch_names import parse_pitch, parse_pitches
from orchq.terms import local_name

FIRST_THAT_LIES_HIGH = 8
"""Semitones above the highest open string: more than a fifth, as ``oq:liesHigh`` is defined."""


class StringAnswer(Struct, frozen=True):
    """A place of a pitch: ``semitones`` above the open string, ``distance`` from the nut in mm.

    Distance and grade are ``None`` where the graph holds no hand for the instrument.
    """

    string: str
    number: int
    semitones: int
    distance: float | None
    finger: str | None
    grade: str | None
    character: tuple[str, ...]
    tuning: str | None
    evidence: tuple[Evidence, ...]


class CompassAnswer(Struct, frozen=True):
    """One opinion on how low and high an instrument goes, in sounding pitch."""

    lowest: str | None
    highest: str | None
    usual_highest: str | None
    levels: tuple[str, ...]
    tuning: str | None
    basis: str
    evidence: tuple[Evidence, ...]


class RegisterAnswer(Struct, frozen=True):
    """A register and how it sounds; an end that is open is ``None``."""

    register: str
    lowest: str | None
    highest: str | None
    strings: tuple[str, ...]
    character: tuple[str, ...]
    mainly_solo: bool
    heard_with: tuple[str, ...]
    evidence: tuple[Evidence, ...]


class OneStringAnswer(Struct, frozen=True):
    """A string that holds a whole melody; heights are in semitones above the open string."""

    string: str
    number: int
    lowest: int
    highest: int
    grade: str | None
    character: tuple[str, ...]
    prints: tuple[str, ...]
    evidence: tuple[Evidence, ...]


def strings(
    self: Asking, *, on: str, pitch: str | int, level: str | None = None
) -> Answers[StringAnswer]:
    """Return on which strings a sounding pitch lies, where, and how hard it is there.

    Tunings other than the standard one are included where only they have the pitch. Raises
    ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> for answer in orchq.load().ask.strings(on="violin", pitch="B4"):
    ...     print(answer.string, answer.semitones, round(answer.distance), answer.grade)
    A 2 36 easy
    D 9 132 usable
    G 16 197 hard
    """
    instrument, sounding = self.names.instrument(on), parse_pitch(pitch)
    stand = self.standpoint(level)
    answers = _places(self, instrument, instrument.standard, sounding, stand)
    if not answers and sounding.midi < instrument.standard.lowest.pitch.midi:
        for tuning in instrument.variants:
            answers += _places(self, instrument, tuning, sounding, stand)
    remarks = [] if answers else [f"{sounding} {_nowhere(instrument, sounding)}."]
    if instrument.frets and any(answer.semitones > instrument.frets for answer in answers):
        remarks.append(f"Above {instrument.frets} semitones it is stopped beyond the last fret.")
    if answers and instrument.pedals:
        ways = ", or ".join(each.name for each in spellings(sounding, instrument.pedals))
        remarks.append(f"Pedals set it as {ways}.")
    return self.answer(
        "strings",
        {"on": instrument.label, "pitch": sounding.name, "level": stand.shown["level"]},
        answers,
        remarks,
    )


def _nowhere(instrument: Instrument, pitch: Pitch) -> str:
    """Why no string has a pitch."""
    lowest = instrument.standard.lowest.pitch
    if pitch.midi < lowest.midi:
        return f"lies below the lowest string, {lowest}"
    if instrument.open_only:
        return "lies on no string"
    return "lies beyond the fingerboard of every string; ask harmonics for it"


def _places(
    self: Asking, instrument: Instrument, tuning: Tuning, pitch: Pitch, stand: Standpoint
) -> list[StringAnswer]:
    standard = tuning.iri == instrument.standard.iri
    answers = []
    for place in _taken(self, instrument, tuning, pitch, stand):
        string = place.string
        character, evidence = _character(self, instrument, string, pitch) if standard else ((), ())
        answers.append(
            StringAnswer(
                string.name,
                string.number,
                pitch.midi - string.pitch.midi,
                place.distance,
                place.finger,
                None if place.grade is None else place.grade.label,
                character,
                None if standard else tuning.label,
                (*self.evidence_for(tuning.iri), *place.evidence, *evidence),
            )
        )
    return answers


class _Place(Struct, frozen=True):
    """One note on one string, as the model of the hand takes it if there is one."""

    string: InstrumentString
    distance: float | None = None
    finger: str | None = None
    grade: Grade | None = None
    evidence: tuple[Evidence, ...] = ()


def _taken(
    self: Asking, instrument: Instrument, tuning: Tuning, pitch: Pitch, stand: Standpoint
) -> list[_Place]:
    """Every string that has the pitch, the highest first."""
    try:
        solver = solver_for(
            hand_model(
                self.knowledge,
                instrument,
                [string.pitch.midi for string in tuning.strings],
                level=stand.level,
                trust=stand.trust,
            )
        )
    except OrchqError:  # an instrument of an extension may come without a hand
        if instrument.open_only:
            return [
                _Place(string) for string in tuning.strings if _opens(instrument, string, pitch)
            ]
        top, ends = highest_stop(self.knowledge, instrument, stand.level)
        evidence = self.evidence(ends)
        return [
            _Place(string, evidence=evidence)
            for string in tuning.strings
            if string.pitch.midi <= pitch.midi
            and (top is None or pitch.midi <= string.pitch.midi + top)
        ]
    board = solver.model.resting_on("highest_stop")
    places = []
    for way in solver.ways([pitch.midi], plucked=True):
        (place,) = way.fingering
        limits = [*board, *(limit for reason in way.reasons for limit in reason.limits)]
        string = tuning.strings[place.string - 1]
        places.append(
            _Place(string, round(place.mm, 1), place.finger, way.grade, self.evidence(limits))
        )
    return sorted(places, key=lambda each: each.string.number)


def _opens(instrument: Instrument, string: InstrumentString, pitch: Pitch) -> bool:
    """Whether a string that is never stopped sounds a pitch, with some pedal if need be."""
    return any(each.midi == pitch.midi for each in instrument.open_pitches(string))


def _character(
    self: Asking, instrument: Instrument, string: InstrumentString, pitch: Pitch | None
) -> tuple[tuple[str, ...], tuple[Evidence, ...]]:
    """How a string sounds, from the registers that lie on it alone."""
    words: list[str] = []
    evidence: list[Evidence] = []
    for register in _registers(self, instrument):
        if register.strings == (string.name,) and (pitch is None or _holds(register, pitch)):
            words += register.character
            evidence += register.evidence
    return tuple(dict.fromkeys(words)), tuple(evidence)


def one_string(
    self: Asking, *, on: str, pitches: str, level: str | None = None
) -> Answers[OneStringAnswer]:
    """Return which single strings hold all notes of a melody, so that it keeps one colour.

    Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> found = orchq.load().ask.one_string(on="violin", pitches="B3 D4 G4 A4")
    >>> [(answer.string, answer.lowest, answer.highest) for answer in found]
    [('G', 4, 14)]
    """
    instrument, melody = self.names.instrument(on), parse_pitches(pitches)
    stand = self.standpoint(level)
    forms: dict[str, list[str]] = {}
    for row in self.facts("one-string", on=instrument.iri):
        forms.setdefault(row["number"], []).append(row["form"])
    low, high = min(melody), max(melody)
    answers = []
    places = _taken(self, instrument, instrument.standard, high, stand)
    for place in sorted(places, key=lambda each: (each.grade or Grade.EASY, each.string.number)):
        string = place.string
        if low.midi < string.pitch.midi:
            continue
        character, evidence = _character(self, instrument, string, None)
        answers.append(
            OneStringAnswer(
                string.name,
                string.number,
                low.midi - string.pitch.midi,
                high.midi - string.pitch.midi,
                None if place.grade is None else place.grade.label,
                character,
                tuple(sorted(forms.get(str(string.number), ()), key=len)),
                (*self.evidence_for(instrument.standard.iri), *place.evidence, *evidence),
            )
        )
    remarks = [] if answers else [f"No string of the {instrument.label} holds {low} and {high}."]
    parameters = {
        "on": instrument.label,
        "pitches": " ".join(pitch.name for pitch in melody),
        "level": stand.shown["level"],
    }
    return self.answer("one-string", parameters, answers, remarks)


def compass(
    self: Asking,
    *,
    on: str,
    technique: str | None = None,
    level: str | None = None,
    trust: str | None = None,
) -> Answers[CompassAnswer]:
    """Compare what authorities state about how low and high an instrument goes.

    Pitches are sounding. Without a level all are returned. Raises ``OrchqError`` for a name that is
    not known.

    >>> import orchq
    >>> found = orchq.load().ask.compass(on="viola", level="orchestral", trust="berlioz")
    >>> [(answer.lowest, answer.highest) for answer in found]
    [('C3', 'C6')]
    """
    instrument = self.names.instrument(on)
    asked = None if technique is None else self.names.technique(technique)
    given = self.standpoint(level, trust)
    about = None if asked is None else asked.iri
    held: dict[str, list[str]] = {}
    every = [given.level] if level is not None else [row["level"] for row in self.facts("levels")]
    for iri in every:
        stand = Standpoint(iri, given.trust, {})
        for limit in self.opinions("CompassLimit", instrument, about, stand):
            held.setdefault(limit.iri, []).append(local_name(iri))
    answers = []
    for row in self.facts("compass", on=instrument.iri):
        source = self.limits[row["limit"]].source
        trusted = source is not None and source.iri == given.trust
        if "stringing" in row and about is None and (given.trust is None or trusted):
            answers.append(_compass(self, row, ()))
        elif row["limit"] in held:
            answers.append(_compass(self, row, tuple(held[row["limit"]])))
    answers.sort(key=lambda each: (each.tuning or "", each.basis == "memory"))
    what = f" for {asked.label}" if asked else ""
    remarks = [] if answers else [f"The graph has no compass for the {instrument.label}{what}."]
    parameters = {"on": instrument.label, "technique": asked and asked.label, **given.shown}
    return self.answer("compass", parameters, answers, remarks)


def _compass(self: Asking, row: Row, levels: tuple[str, ...]) -> CompassAnswer:
    lowest, highest, usual, tuning = map(
        row.get, ("lowest", "highest", "usual_highest", "stringing")
    )
    evidence = self.evidence([row["limit"]])
    return CompassAnswer(lowest, highest, usual, levels, tuning, row["basis"], evidence)


def registers(self: Asking, *, on: str, pitch: str | int | None = None) -> Answers[RegisterAnswer]:
    """Return the registers of an instrument, or those that hold a sounding pitch.

    Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> [answer.character for answer in orchq.load().ask.registers(on="violin", pitch="G6")
    ...     if answer.mainly_solo]
    [('exalted', 'radiant')]
    """
    instrument = self.names.instrument(on)
    sounding = None if pitch is None else parse_pitch(pitch)
    answers = [
        register
        for register in _registers(self, instrument)
        if sounding is None or _holds(register, sounding)
    ]
    what = f" at {sounding}" if sounding else ""
    remarks = [] if answers else [f"The graph has no register of the {instrument.label}{what}."]
    parameters = {"on": instrument.label, "pitch": sounding and sounding.name}
    return self.answer("registers", parameters, answers, remarks)


def _registers(self: Asking, instrument: Instrument) -> list[RegisterAnswer]:
    names = {string.iri: string.name for string in instrument.standard.strings}
    highest = max(string.pitch.midi for string in instrument.standard.strings)
    high = Pitch.from_midi(highest + FIRST_THAT_LIES_HIGH).name
    rows: dict[str, list[dict[str, str]]] = {}
    for row in self.facts("registers", on=instrument.iri):
        rows.setdefault(row["register"], []).append(dict(row))
    return [
        RegisterAnswer(
            self.knowledge.label(iri),
            same[0].get("lowest") or (high if same[0].get("high") == "true" else None),
            same[0].get("highest"),
            tuple(dict.fromkeys(names[row["string"]] for row in same if "string" in row)),
            tuple(dict.fromkeys(row["character"] for row in same if "character" in row)),
            same[0].get("solo") == "true",
            tuple(
                dict.fromkeys(
                    self.knowledge.label(row["technique"]) for row in same if "technique" in row
                )
            ),
            self.evidence_for(iri),
        )
        for iri, same in rows.items()
    ]


def _holds(register: RegisterAnswer, pitch: Pitch) -> bool:
    lowest = Pitch.parse(register.lowest).midi if register.lowest else 0
    highest = Pitch.parse(register.highest).midi if register.highest else 127
    return lowest <= pitch.midi <= highest
