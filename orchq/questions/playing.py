"""Questions about techniques: how loud, how fast, what goes together."""

from functools import cache
from itertools import chain

from msgspec import Struct

from orchq.evidence import Evidence
from orchq.knowledge import VERDICTS, Instrument, Technique, Verdict
from orchq.knowledge.data_files import data_directory
from orchq.notation import Pitch
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking, Row, Standpoint, number_in
from orchq.questions.judging import (
    ARTIFICIAL,
    NATURAL,
    Hands,
    Judgement,
    availability,
    depth,
    envelope,
    height,
    loudness,
    weighed_at,
    worst,
)
from orchq.questions.pitch_names import parse_pitch
from orchq.rules.catalogue import load_rules
from orchq.terms import OQ

_SPEED = OQ + "speed"
_SECONDS_OF_FOUR_SIXTEENTHS = 60 / 4


class TechniqueAnswer(Struct, frozen=True):
    """A technique at a dynamic: ``softest`` and ``loudest`` are granted by some authority."""

    technique: str
    softest: str | None
    loudest: str | None
    verdict: Verdict
    because: str
    evidence: tuple[Evidence, ...]


class DynamicAnswer(Struct, frozen=True):
    """One opinion on how soft and how loud; no technique stands for the instrument itself."""

    technique: str | None
    softest: str | None
    loudest: str | None
    basis: str
    in_force: bool
    evidence: tuple[Evidence, ...]


class SoftestAnswer(Struct, frozen=True):
    """How soft and how loud several techniques go together, undisputed and at all."""

    techniques: tuple[str, ...]
    verdict: Verdict
    softest: str | None
    loudest: str | None
    softest_disputed: str | None
    loudest_disputed: str | None
    because: str
    evidence: tuple[Evidence, ...]


class RateAnswer(Struct, frozen=True):
    """How fast, in notes a second; ``sixteenths_at`` is a tempo in quarter notes a minute."""

    technique: str
    slowest: float | None
    fastest: float | None
    sixteenths_at: float | None
    basis: str
    evidence: tuple[Evidence, ...]


class ExcludesAnswer(Struct, frozen=True):
    """A technique that one player cannot combine with another in the same note."""

    technique: str
    because: str
    evidence: tuple[Evidence, ...]


def techniques(
    self: Asking,
    *,
    on: str,
    at: str,
    pitch: str | int | None = None,
    all: bool = False,  # noqa: A002 - the word users know
    level: str | None = None,
    trust: str | None = None,
) -> Answers[TechniqueAnswer]:
    """Return which techniques an instrument can be asked for at a dynamic.

    Only techniques with a stated range of loudness are returned. ``pitch`` is a sounding
    pitch; with ``all`` what is unusual or not allowed is shown as well. Raises ``OrchqError`` for
    an unknown name.

    >>> import orchq
    >>> for answer in orchq.load().ask.techniques(on="violin", at="mp", pitch="E6")[:3]:
    ...     print(answer.technique, answer.softest, answer.loudest, answer.verdict)
    arco ppp fff allowed
    artificial harmonic ppp f allowed
    bisbigliando pp f allowed
    """
    instrument, dynamic = self.names.instrument(on), self.names.dynamic(at)
    sounding = None if pitch is None else parse_pitch(pitch)
    stand = self.standpoint(level, trust)
    hands = Hands(self, stand)
    answers = []
    for row in self.facts("techniques", on=instrument.iri):
        technique = self.knowledge.techniques[row["technique"]]
        judgements = [
            loudness(self, instrument, technique.iri, dynamic, stand),
            availability(self, instrument, technique, stand),
        ]
        if sounding is not None:
            judgements += _at_pitch(self, instrument, technique, sounding, hands, stand)
        judgement = worst(judgements)
        if judgement.verdict in ("allowed", "disputed") or all:
            softest, loudest = envelope(self, instrument, technique.iri, stand)
            answers.append(
                TechniqueAnswer(
                    row["label"],
                    softest,
                    loudest,
                    judgement.verdict,
                    judgement.because,
                    judgement.evidence,
                )
            )
    return self.answer(
        "techniques",
        {
            "on": instrument.label,
            "at": dynamic.label,
            "pitch": sounding and sounding.name,
            "all": all,
            **stand.shown,
        },
        sorted(answers, key=lambda each: VERDICTS.index(each.verdict)),
        [] if answers else ["No technique is allowed there; --all shows the objections to each."],
    )


def _at_pitch(
    self: Asking,
    instrument: Instrument,
    technique: Technique,
    pitch: Pitch,
    hands: Hands,
    stand: Standpoint,
) -> list[Judgement]:
    """What the pitch adds: strings, compass, ceiling of the technique, nodes of harmonics."""
    special = height(self, instrument, technique.iri, pitch, stand)
    if technique.iri in (NATURAL, ARTIFICIAL):
        return [special, hands.judge(instrument, technique.iri, pitch)]
    return [
        special,
        depth(self, instrument, pitch),
        height(self, instrument, None, pitch, stand),
    ]


def dynamics(
    self: Asking,
    *,
    on: str,
    technique: str | None = None,
    level: str | None = None,
    trust: str | None = None,
) -> Answers[DynamicAnswer]:
    """Compare how soft and how loud a technique goes according to each authority.

    Without a technique all are returned, and the instrument as a whole. Raises ``OrchqError`` for
    an unknown name.

    >>> import orchq
    >>> for answer in orchq.load().ask.dynamics(on="violin", technique="spiccato"):
    ...     print(answer.softest, answer.loudest, answer.basis)
    p mp common practice
    pp f memory
    """
    instrument = self.names.instrument(on)
    asked = self.names.technique(technique) if technique is not None else None
    stand = self.standpoint(level, trust)
    wanted = None if asked is None else {each.iri for each in self.ways(asked)}
    answers = []
    for row in self.facts("dynamics", on=instrument.iri):
        about = row.get("about")
        if about in instrument.lacks or (wanted is not None and about not in wanted):
            continue
        held = self.opinions("DynamicEnvelope", instrument, about, stand)
        answers.append(
            DynamicAnswer(
                row.get("technique"),
                row.get("softest"),
                row.get("loudest"),
                row["basis"],
                any(each.iri == row["limit"] for each in held),
                self.evidence([row["limit"]]),
            )
        )
    answers.sort(key=lambda each: (each.technique or "", not each.in_force))
    return self.answer(
        "dynamics",
        {
            "on": instrument.label,
            "technique": asked and asked.label,
            **stand.shown,
        },
        answers,
        () if answers else [f"The graph has no dynamic range for {(asked or instrument).label}."],
    )


def softest(
    self: Asking,
    *,
    on: str,
    techniques: str,
    level: str | None = None,
    trust: str | None = None,
) -> Answers[SoftestAnswer]:
    """Return how soft and how loud a passage can be that asks for several techniques at once.

    ``techniques`` are divided by commas. Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> ask = orchq.load().ask
    >>> [answer] = ask.softest(on="violin", techniques="spiccato, sul tasto")
    >>> answer.softest, answer.loudest
    ('p', 'mp')
    """
    instrument, wanted = self.names.instrument(on), self.names.techniques(techniques)
    stand = self.standpoint(level, trust)
    envelopes = [
        weighed
        for technique in wanted
        if (weighed := self.weighings("DynamicEnvelope", instrument, technique.iri, stand))
    ]
    able = worst(
        [
            *(availability(self, instrument, technique, stand) for technique in wanted),
            *(excluded(self, one, other) for one in wanted for other in wanted if one != other),
        ]
    )
    verdicts: dict[str, Verdict] = {
        dynamic.label: worst(
            weighed_at(self, weighed, dynamic.degree) for weighed in envelopes
        ).verdict
        for dynamic in self.knowledge.dynamics.values()
    }
    sure = [label for label, verdict in verdicts.items() if verdict == "allowed"]
    open_ = [label for label, verdict in verdicts.items() if verdict in ("allowed", "disputed")]
    if able.verdict == "not allowed" or not envelopes:
        sure, open_ = [], []
    verdict, because = able.verdict, able.because
    if envelopes and verdict != "not allowed" and not open_:
        verdict, because = "not allowed", "no dynamic is allowed for all of them"
    answer = SoftestAnswer(
        tuple(technique.label for technique in wanted),
        verdict,
        *(_ends(sure)),
        *(_ends(open_)),
        because,
        tuple(
            dict.fromkeys(
                (
                    *self.evidence(
                        each for weighed in chain(*envelopes) for each in weighed.limits
                    ),
                    *able.evidence,
                )
            )
        ),
    )
    stated = bool(envelopes) or verdict == "not allowed"
    return self.answer(
        "softest",
        {"on": instrument.label, "techniques": ", ".join(answer.techniques), **stand.shown},
        [answer] if stated else [],
        [] if stated else ["The graph has no dynamic range for these techniques."],
    )


def _ends(labels: list[str]) -> tuple[str | None, str | None]:
    return (labels[0], labels[-1]) if labels else (None, None)


def excluded(self: Asking, one: Technique, other: Technique) -> Judgement:
    """Whether two techniques exclude each other."""
    rows = self.facts("excludes", technique=one.iri)
    if not any(row["other"] == other.iri for row in rows):
        return Judgement("allowed")
    because = f"{one.label} and {other.label} exclude each other"
    if one.label > other.label:
        because = f"{other.label} and {one.label} exclude each other"
    return Judgement("not allowed", because, _exclusion())


@cache
def _exclusion() -> tuple[Evidence, ...]:
    """The evidence of the rule on techniques that exclude each other."""
    file = data_directory("shapes") / "rules" / "techniques-exclude-each-other.ttl"
    (rule,) = load_rules([file])[0]
    return rule.evidence


def excludes(self: Asking, *, technique: str) -> Answers[ExcludesAnswer]:
    """Return which techniques one player cannot combine with this one in the same note.

    Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> found = orchq.load().ask.excludes(technique="am Steg")
    >>> "sul tasto" in [answer.technique for answer in found]
    True
    """
    asked = self.names.technique(technique)
    found: dict[str, str] = {}
    for row in self.facts("excludes", technique=asked.iri):
        pair = (row["one"], row["two"])
        implied = pair != (asked.iri, row["other"])
        words = " excludes ".join(map(self.knowledge.label, pair)) if implied else ""
        if row["label"] not in found or not words:
            found[row["label"]] = words
    answers = [ExcludesAnswer(label, words, _exclusion()) for label, words in found.items()]
    remarks = () if answers else [f"The graph has nothing that excludes {asked.label}."]
    return self.answer("excludes", {"technique": asked.label}, answers, remarks)


def _rate(self: Asking, row: Row) -> RateAnswer:
    fastest = number_in(row, "fastest")
    return RateAnswer(
        row["name"],
        number_in(row, "slowest"),
        fastest,
        None if fastest is None else fastest * _SECONDS_OF_FOUR_SIXTEENTHS,
        row["basis"],
        self.evidence([row["limit"]]),
    )


def rates(
    self: Asking,
    *,
    on: str,
    technique: str,
    level: str | None = None,
    trust: str | None = None,
) -> Answers[RateAnswer]:
    """Return how slow and how fast a technique can be repeated.

    Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> [answer] = orchq.load().ask.rates(on="viola", technique="sautillé")
    >>> answer.slowest, answer.fastest, answer.sixteenths_at
    (8.0, 13.0, 195.0)
    """
    instrument, asked = self.names.instrument(on), self.names.technique(technique)
    stand = self.standpoint(level, trust)
    rows = {row["limit"]: row for row in self.facts("rates", technique=asked.iri)}
    abouts = dict.fromkeys((asked.iri, *(row["about"] for row in rows.values())))
    held = {iri: self.opinions("RateLimit", instrument, iri, stand) for iri in abouts}
    answers = [
        _rate(self, rows[limit.iri])
        for limit in held[asked.iri] or [limit for limits in held.values() for limit in limits]
    ]
    statements = [note.statement for note in self.notes(asked.iri, _SPEED, on=instrument)]
    silent = (
        [] if answers else [f"The graph has no rate for {asked.label} on the {instrument.label}."]
    )
    return self.answer(
        "rates",
        {
            "on": instrument.label,
            "technique": asked.label,
            **stand.shown,
        },
        answers,
        [*silent, *statements],
    )
