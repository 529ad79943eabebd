"""Questions about who plays: which instrument, how many, on how many lines."""

from msgspec import Struct
from pyoxigraph import Literal

from orchq.derive.harmonic_words import how
from orchq.evidence import Evidence
from orchq.knowledge import VERDICTS, Dynamic, Instrument, Technique, Verdict
from orchq.notation import Pitch
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking, Standpoint, number_in, physics
from orchq.questions.judging import (
    ARTIFICIAL,
    NATURAL,
    Hands,
    availability,
    depth,
    height,
    loudness,
    worst,
)
from orchq.questions.pitch_names import parse_pitch, parse_pitches
from orchq.questions.typed_numbers import whole_number
from orchq.terms import OQ

MOST_PLAYERS = 1000
"""The largest section that is divided: no orchestra comes near it."""

_DIVISI = OQ + "divisi"
_GRANTED = ("allowed", "disputed")


class PlayerAnswer(Struct, frozen=True):
    """Whether an instrument can play a pitch so, and how."""

    instrument: str
    technique: str
    verdict: Verdict
    how: str
    because: str
    evidence: tuple[Evidence, ...]


class TransferAnswer(Struct, frozen=True):
    """Whether an instrument can take over a melody; ``fits`` of ``notes`` lie well."""

    instrument: str
    verdict: Verdict
    fits: int
    notes: int
    too_low: tuple[str, ...]
    too_high: tuple[str, ...]
    disputed: tuple[str, ...]
    evidence: tuple[Evidence, ...]


class SectionAnswer(Struct, frozen=True):
    """How many players a section has in a kind of orchestra."""

    section: str
    ensemble: str
    fewest: int | None
    most: int | None
    basis: str
    evidence: tuple[Evidence, ...]


class DivisiAnswer(Struct, frozen=True):
    """A divided section; ``lines`` are the players on each line from the top."""

    players: int
    into: int
    verdict: Verdict
    each: int
    left_over: int
    lines: tuple[int, ...]
    because: str
    evidence: tuple[Evidence, ...]


def players(
    self: Asking,
    *,
    pitch: str | int,
    at: str | None = None,
    technique: str | None = None,
    on: str | None = None,
    level: str | None = None,
    trust: str | None = None,
) -> Answers[PlayerAnswer]:
    """Return who can play a sounding pitch at a dynamic with a technique, and how.

    A technique that leaves the kind open, as "harmonics" does, is asked for each kind. Raises
    ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> ask = orchq.load().ask
    >>> for answer in ask.players(pitch="A5", at="pp", technique="natural harmonic", on="violin"):
    ...     print(answer.verdict, answer.how)
    allowed touch A5 on the A string
    """
    sounding = parse_pitch(pitch)
    dynamic = None if at is None else self.names.dynamic(at)
    asked = self.names.technique(technique or OQ + "arco")
    stand = self.standpoint(level, trust)
    hands = Hands(self, stand)
    ways = sorted(self.ways(asked), key=lambda way: way.iri != NATURAL)
    answers = [
        _player(self, instrument, way, sounding, dynamic, hands, stand)
        for instrument in self.instruments_on(on)
        for way in ways
    ]
    answers.sort(key=lambda each: VERDICTS.index(each.verdict))
    parameters = {
        "pitch": sounding.name,
        "at": dynamic and dynamic.label,
        "technique": asked.label if technique else None,
        "on": answers[0].instrument if on else None,
        **stand.shown,
    }
    return self.answer("players", parameters, answers)


def _player(
    self: Asking,
    instrument: Instrument,
    technique: Technique,
    pitch: Pitch,
    dynamic: Dynamic | None,
    hands: Hands,
    stand: Standpoint,
) -> PlayerAnswer:
    judgements = [
        availability(self, instrument, technique, stand),
        height(self, instrument, technique.iri, pitch, stand),
    ]
    if dynamic is not None:
        judgements.append(loudness(self, instrument, technique.iri, dynamic, stand))
    place = ""
    if technique.iri in (NATURAL, ARTIFICIAL):
        kind = "natural" if technique.iri == NATURAL else "artificial"
        judgements.append(hands.judge(instrument, technique.iri, pitch))
        ways = hands.harmonics(instrument, pitch, kind)
        place = how(ways[0], instrument) if ways else ""
    else:
        judgements += [
            depth(self, instrument, pitch),
            height(self, instrument, None, pitch, stand),
        ]
        place = _where(instrument, pitch)
    judgement = worst(judgements)
    evidence = judgement.evidence or (physics(instrument.standard.iri, place),)
    return PlayerAnswer(
        instrument.label,
        technique.label,
        judgement.verdict,
        "" if judgement.verdict == "not allowed" else place,
        judgement.because,
        evidence,
    )


def _where(instrument: Instrument, pitch: Pitch) -> str:
    """The string on which a pitch lies nearest to the nut."""
    able = [string for string in instrument.standard.strings if string.pitch.midi <= pitch.midi]
    if not able:
        return ""
    string = max(able, key=lambda each: each.pitch.midi)
    semitones = pitch.midi - string.pitch.midi
    if not semitones:
        return f"open {string.name} string"
    return f"{string.name} string, {semitones} semitone{'s' if semitones > 1 else ''} up"


def transfer(
    self: Asking,
    *,
    pitches: str,
    from_: str,
    to: str | None = None,
    level: str | None = None,
    trust: str | None = None,
) -> Answers[TransferAnswer]:
    """Return which instruments can take over a melody at pitch, and which notes they do not have.

    Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> ask = orchq.load().ask
    >>> [viola] = ask.transfer(pitches="C4 G4 D6 F6", from_="violin", to="viola")
    >>> viola.fits, viola.too_low, viola.too_high
    (3, (), ('F6',))
    """
    melody, giver = parse_pitches(pitches), self.names.instrument(from_)
    taker = None if to is None else self.names.instrument(to)
    stand = self.standpoint(level, trust)
    answers = []
    for instrument in self.instruments_on(to):
        if instrument.iri == giver.iri:
            continue
        judged = {
            pitch.name: worst(
                [
                    depth(self, instrument, pitch),
                    height(self, instrument, None, pitch, stand),
                ]
            )
            for pitch in dict.fromkeys(melody)
        }
        whole = worst(judged.values())
        lacking = [p for p in sorted(set(melody)) if judged[p.name].verdict not in _GRANTED]
        lowest = instrument.standard.lowest.pitch.midi
        answers.append(
            TransferAnswer(
                instrument.label,
                whole.verdict,
                sum(judged[pitch.name].verdict == "allowed" for pitch in melody),
                len(melody),
                tuple(pitch.name for pitch in lacking if pitch.midi < lowest),
                tuple(pitch.name for pitch in lacking if pitch.midi >= lowest),
                tuple(name for name, each in judged.items() if each.verdict == "disputed"),
                whole.evidence or self.evidence_for(instrument.standard.iri),
            )
        )
    answers.sort(key=lambda each: (VERDICTS.index(each.verdict), -each.fits))
    parameters = {
        "pitches": " ".join(pitch.name for pitch in melody),
        "from_": giver.label,
        "to": taker and taker.label,
        **stand.shown,
    }
    same = taker is not None and taker.iri == giver.iri
    remarks = [f"The {giver.label} has it already."] if same else []
    return self.answer("transfer", parameters, answers, remarks)


def section(self: Asking, *, on: str) -> Answers[SectionAnswer]:
    """Return how many players the sections of an instrument have, by kinds of orchestra.

    Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> found = orchq.load().ask.section(on="viola")
    >>> [answer.most for answer in found if answer.ensemble == "modern orchestra, for one concert"]
    [12]
    """
    instrument = self.names.instrument(on)
    answers = []
    for row in self.facts("section", on=instrument.iri):
        fewest, most = number_in(row, "fewest"), number_in(row, "most")
        answers.append(
            SectionAnswer(
                row["section"],
                row.get("ensemble", ""),
                None if fewest is None else int(fewest),
                None if most is None else int(most),
                row["basis"],
                self.evidence([row["limit"]]),
            )
        )
    remarks = [] if answers else [f"The graph has no section size for the {instrument.label}."]
    return self.answer("section", {"on": instrument.label}, answers, remarks)


def divisi(self: Asking, *, players: int | str, into: int | str) -> Answers[DivisiAnswer]:
    """Return how many players remain on each line when a section divides.

    Raises ``OrchqError`` when a number is no whole number above 0.

    >>> import orchq
    >>> [answer] = orchq.load().ask.divisi(players=14, into=3)
    >>> answer.each, answer.left_over, answer.lines
    (4, 2, (5, 5, 4))
    """
    many = whole_number("players", players, MOST_PLAYERS)
    lines = whole_number("into", into, MOST_PLAYERS)
    each, over = divmod(many, lines)
    notes = self.facts("divisi", each=Literal(each))
    verdict: Verdict = "allowed"
    because = " ".join(row["statement"] for row in notes if "many" in row)
    if lines > many:
        verdict, because = "not allowed", f"{lines} lines for {many} players"
    evidence = tuple(item for row in notes for item in self.evidence_for(row["note"]))
    answer = DivisiAnswer(
        many,
        lines,
        verdict,
        each,
        over,
        tuple(each + (line < over) for line in range(lines)),
        because,
        (*evidence, physics(_DIVISI, f"{many} = {lines} x {each} + {over}")),
    )
    return self.answer("divisi", {"players": many, "into": lines}, [answer])
