"""Questions about time and the bow: changes, the length of a bow, the mute."""

from collections.abc import Iterator

from msgspec import Struct

from orchq.derive.bow_time import BowTime, bow_time
from orchq.errors import OrchqError
from orchq.evidence import Evidence
from orchq.knowledge import Directive, Instrument
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking, Row, Standpoint, number_in
from orchq.questions.judging import envelope
from orchq.terms import OQ

FASTEST_TEMPO = 1000
"""Quarter notes a minute beyond which no metronome goes."""

_ARCO, _MUTED, _UNMUTED = OQ + "arco", OQ + "con-sordino", OQ + "senza-sordino"
_TIME_TO_CHANGE = OQ + "time-to-change"


class ChangeAnswer(Struct, frozen=True):
    """How long a change takes, in seconds, and in quarter notes where a tempo is given.

    ``says`` is what an author states without a figure.
    """

    before: str | None
    after: str
    shortest: float | None
    longest: float | None
    shortest_beats: float | None
    longest_beats: float | None
    says: str
    basis: str
    evidence: tuple[Evidence, ...]


class BowAnswer(Struct, frozen=True):
    """How long one bow lasts at a dynamic: ``hair`` in metres divided by speed in m/s.

    ``fastest`` is the speed of a full stroke, ``slowest`` that under a long slur.
    """

    dynamic: str
    shortest: float
    longest: float
    shortest_beats: float | None
    longest_beats: float | None
    hair: float
    slowest: float
    fastest: float
    evidence: tuple[Evidence, ...]


class MuteAnswer(Struct, frozen=True):
    """One thing that the mute changes."""

    what: str
    without: str
    muted: str
    evidence: tuple[Evidence, ...]


def changes(
    self: Asking,
    *,
    to: str,
    from_: str | None = None,
    on: str | None = None,
    tempo: float | str | None = None,
    level: str | None = None,
    trust: str | None = None,
) -> Answers[ChangeAnswer]:
    """Return how long a change from one way of playing to another takes.

    ``tempo`` is in quarter notes a minute. Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> ask = orchq.load().ask
    >>> for answer in ask.changes(from_="senza sord.", to="con sord.", tempo=96):
    ...     print(answer.shortest, answer.longest, answer.shortest_beats, answer.longest_beats)
    4.4 5.5 7.04 8.8
    1.0 2.0 1.6 3.2
    """
    after = self.names.directive(to)
    before = None if from_ is None else self.names.directive(from_)
    beats_a_minute = tempo_of(tempo)
    stand = self.standpoint(level, trust)
    instruments = self.instruments_on(on)
    held = {
        limit.iri
        for instrument in instruments
        for limit in self.opinions("ChangeTime", instrument, None, stand)
    }
    answers = [
        _change(self, row, beats_a_minute)
        for row in self.facts("changes", to=after.iri)
        if row["limit"] in held and (before is None or _leaves(self, row, before))
    ]
    answers.sort(key=lambda each: each.basis == "memory")
    answers += [
        ChangeAnswer(
            None if before is None else before.label,
            after.label,
            *(None, None, None, None),
            note.statement,
            note.basis,
            (note,),
        )
        for note in self.notes(after.iri, _TIME_TO_CHANGE)
    ]
    parameters = {
        "from_": before and before.label,
        "to": after.label,
        "on": instruments[0].label if on else None,
        "tempo": beats_a_minute,
        **stand.shown,
    }
    what = f"from {before.label} to {after.label}" if before else f"to {after.label}"
    remarks = [] if answers else [f"The graph has no time for the change {what}."]
    return self.answer("changes", parameters, answers, remarks)


def _leaves(self: Asking, row: Row, before: Directive) -> bool:
    """Whether a change can start from a way of playing: it does from this one, or from any."""
    technique = self.knowledge.techniques.get(before.iri)
    implied = technique.implies if technique else frozenset[str]()
    return row.get("leaves") in (None, before.iri, *implied)


def _change(self: Asking, row: Row, tempo: float | None) -> ChangeAnswer:
    shortest, longest = number_in(row, "shortest"), number_in(row, "longest")
    return ChangeAnswer(
        row.get("before"),
        row["after"],
        shortest,
        longest,
        _beats(shortest, tempo),
        _beats(longest, tempo),
        "",
        row["basis"],
        self.evidence([row["limit"]]),
    )


def bow(
    self: Asking,
    *,
    on: str,
    at: str,
    tempo: float | str | None = None,
    level: str | None = None,
    trust: str | None = None,
) -> Answers[BowAnswer]:
    """Return how long one bow lasts at a dynamic, as the rule on long slurs has it.

    A dynamic for which no speed of the bow is stated counts as the next louder one for which one
    is. ``tempo`` is in quarter notes a minute. Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> [answer] = orchq.load().ask.bow(on="violin", at="ff")
    >>> answer.shortest, answer.longest
    (0.65, 4.33)
    """
    instrument, dynamic = self.names.instrument(on), self.names.dynamic(at)
    beats_a_minute = tempo_of(tempo)
    stand = self.standpoint(level, trust)
    lengths, speeds = (
        self.in_force(kind, instrument, None, stand) for kind in ("BowLength", "BowSpeed")
    )
    time = bow_time(self.knowledge.dynamics, dynamic, lengths, speeds)
    remarks = []
    if time is None:
        remarks.append(f"The graph has no bow for the {instrument.label}.")
    elif time.stated != dynamic:
        stated = time.stated.label
        remarks.append(
            f"The graph has no bow speed for {dynamic.label}, which is treated as {stated}."
        )
    parameters = {
        "on": instrument.label,
        "at": dynamic.label,
        "tempo": beats_a_minute,
        **stand.shown,
    }
    answers = [] if time is None else [_bow(self, time, beats_a_minute)]
    return self.answer("bow", parameters, answers, remarks)


def _bow(self: Asking, time: BowTime, tempo: float | None) -> BowAnswer:
    shortest, longest = float(time.shortest), float(time.longest)
    return BowAnswer(
        time.stated.label,
        round(shortest, 2),
        round(longest, 2),
        _beats(shortest, tempo),
        _beats(longest, tempo),
        float(time.hair),
        float(time.slowest),
        float(time.fastest),
        self.evidence([*time.limits, *time.fast_limits]),
    )


def mute(
    self: Asking, *, on: str, level: str | None = None, trust: str | None = None
) -> Answers[MuteAnswer]:
    """Return what the mute changes: loudness, colour, the time that it takes.

    Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> for answer in orchq.load().ask.mute(on="violin")[:1]:
    ...     print(answer.what, answer.without, answer.muted)
    dynamics ppp to fff ppp to ff
    """
    instrument = self.names.instrument(on)
    stand = self.standpoint(level, trust)
    bowed, muted = (
        self.opinions("DynamicEnvelope", instrument, iri, stand) for iri in (_ARCO, _MUTED)
    )
    answers = []
    if bowed and muted:
        without, with_it = (
            " to ".join(end or "any" for end in envelope(self, instrument, iri, stand))
            for iri in (_ARCO, _MUTED)
        )
        evidence = self.evidence((*bowed, *muted))
        answers.append(MuteAnswer("dynamics", without, with_it, evidence))
    colours = ", ".join(row["colour"] for row in self.facts("mute"))
    answers.append(MuteAnswer("colour", "", colours, ()))
    answers += [
        MuteAnswer(f"time to {done}", "", words, evidence)
        for done, iri in (("put it on", _MUTED), ("take it off", _UNMUTED))
        for words, evidence in _times(self, instrument, iri, stand)
    ]
    answers += [
        MuteAnswer("what authors say", "", note.statement, (note,))
        for note in self.notes(_MUTED, on=instrument)
    ]
    return self.answer("mute", {"on": instrument.label, **stand.shown}, answers)


def _times(
    self: Asking, instrument: Instrument, to: str, stand: Standpoint
) -> Iterator[tuple[str, tuple[Evidence, ...]]]:
    found = changes(
        self,
        to=to,
        on=instrument.iri,
        level=stand.level,
        trust=stand.trust,
    )
    for answer in found:
        ends = [f"{end:g}" for end in (answer.shortest, answer.longest) if end is not None]
        yield f"{' to '.join(ends)} s" if ends else answer.says, answer.evidence


def _beats(seconds: float | None, tempo: float | None) -> float | None:
    return None if seconds is None or tempo is None else round(seconds * tempo / 60, 2)


def tempo_of(given: float | str | None) -> float | None:
    """A tempo in quarter notes a minute."""
    if given is None:
        return None
    try:
        tempo = float("nan" if isinstance(given, bool) else given)
    except (TypeError, ValueError):
        raise OrchqError(f"a tempo is a number of quarter notes a minute, not {given!r}") from None
    if not 0 < tempo <= FASTEST_TEMPO:
        raise OrchqError(f"a tempo lies above 0 and up to {FASTEST_TEMPO}, not at {tempo:g}")
    return int(tempo) if tempo.is_integer() else tempo
