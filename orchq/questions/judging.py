"""What the limits in force say of a mark, weighed as the rules weigh them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from orchq.derive.hand import HandModel, hand_model
from orchq.derive.harmonic_words import in_words
from orchq.derive.harmonics import (
    Harmonic,
    HarmonicLimits,
    harmonic_limits,
    natural_ways,
    ways_to_sound,
)
from orchq.derive.harmonics import (
    Verdict as Speech,
)
from orchq.evidence import Evidence
from orchq.knowledge import Dynamic, Instrument, Limit, Technique, Verdict, verdict_of
from orchq.notation import Pitch
from orchq.questions.asking import Asking, Standpoint, physics
from orchq.terms import OQ, local_name

GRAVITY: tuple[Verdict, ...] = ("allowed", "disputed", "not allowed")
NATURAL, ARTIFICIAL = OQ + "natural-harmonic", OQ + "artificial-harmonic"
_HARMONIC_KINDS = {NATURAL: "natural", ARTIFICIAL: "artificial"}


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict, the reason when it is not plainly allowed, and those who say so."""

    verdict: Verdict
    because: str = ""
    evidence: tuple[Evidence, ...] = ()


def worst(judgements: Iterable[Judgement]) -> Judgement:
    """All that is said about a mark: the gravest verdict, every reason for it, all evidence.

    >>> worst([Judgement("allowed"), Judgement("disputed", "too loud")]).verdict
    'disputed'
    """
    given = list(judgements)
    verdict = GRAVITY[max((GRAVITY.index(each.verdict) for each in given), default=0)]
    reasons = (each.because for each in given if each.verdict == verdict and each.because)
    evidence = (said for each in given for said in each.evidence)
    return Judgement(verdict, "; ".join(dict.fromkeys(reasons)), tuple(dict.fromkeys(evidence)))


def envelope(asking: Asking, limits: Sequence[Limit]) -> tuple[str | None, str | None]:
    """The softest and the loudest dynamic, as printed, that anyone of weight grants.

    Of weight is who may condemn; where only memory speaks it is what memory grants, or scores
    show. ``None`` is an end left open.
    """
    weighty = [limit for limit in limits if limit.condemns] or list(limits)
    dynamics = asking.knowledge.dynamics

    def ends(name: str) -> list[Dynamic] | None:
        stated = [dynamics.get(str(limit.values.get(name))) for limit in weighty]
        found = [dynamic for dynamic in stated if dynamic is not None]
        return found if len(found) == len(stated) else None

    softest, loudest = ends("softest"), ends("loudest")
    return (
        min(softest, key=lambda each: each.rank).label if softest else None,
        max(loudest, key=lambda each: each.rank).label if loudest else None,
    )


def speaks_at(asking: Asking, limit: Limit, dynamic: Dynamic) -> bool:
    """Whether a dynamic lies within an envelope; an end that is not stated is open."""
    dynamics = asking.knowledge.dynamics
    softest = dynamics.get(str(limit.values.get("softest")))
    loudest = dynamics.get(str(limit.values.get("loudest")))
    return (softest is None or softest.rank <= dynamic.rank) and (
        loudest is None or dynamic.rank <= loudest.rank
    )


def loudness(asking: Asking, limits: Sequence[Limit], dynamic: Dynamic) -> Judgement:
    """Whether envelopes in force allow a dynamic."""
    verdict = verdict_of(limits, lambda limit: speaks_at(asking, limit, dynamic))
    stated = [limit for limit in limits if not limit.only_excuses]
    against = [limit for limit in stated if not speaks_at(asking, limit, dynamic)]
    shown = [limit for limit in limits if limit.only_excuses]
    seen = any(speaks_at(asking, limit, dynamic) for limit in shown)
    because = ""
    if verdict != "allowed":
        because = _beyond(asking, against, dynamic)
        if verdict == "disputed":
            granted = " for some" if len(against) < len(stated) else " from memory"
            because += ", though scores do it" if seen else granted
    elif shown and not stated and not seen:
        softest, loudest = envelope(asking, shown)
        because = f"nobody states a limit; scores go from {softest} to {loudest}"
    return Judgement(verdict, because, asking.evidence(limits))


def _beyond(asking: Asking, limits: Sequence[Limit], dynamic: Dynamic) -> str:
    """Which ends of envelopes a dynamic lies beyond, in words."""
    dynamics = asking.knowledge.dynamics
    found: dict[str, set[Dynamic]] = {}
    for limit in limits:
        softest = dynamics.get(str(limit.values.get("softest")))
        loudest = dynamics.get(str(limit.values.get("loudest")))
        if softest is not None and dynamic.rank < softest.rank:
            found.setdefault("softer", set()).add(softest)
        if loudest is not None and dynamic.rank > loudest.rank:
            found.setdefault("louder", set()).add(loudest)
    return "; ".join(
        f"{word} than {' or '.join(each.label for each in sorted(ends, key=lambda e: e.rank))}"
        for word, ends in found.items()
    )


def availability(
    asking: Asking, instrument: Instrument, technique: Technique, stand: Standpoint
) -> Judgement:
    """Whether an instrument has a technique."""
    limits = asking.opinions("Availability", instrument, technique.iri, stand)
    if limits:
        verdict = verdict_of(limits, lambda limit: limit.values.get("isAvailable") is True)
        doubt = "" if verdict == "allowed" else f"not everyone grants it to the {instrument.label}"
        if verdict == "not allowed":
            doubt = f"it is denied to the {instrument.label}"
        return Judgement(verdict, doubt, asking.evidence(limits))
    if technique.is_on(instrument):
        return Judgement("allowed")
    absent = f"the {instrument.label} does not have it"
    common = Evidence(technique.iri, "", "", "common practice", absent)
    return Judgement("not allowed", absent, (common,))


def height(
    asking: Asking,
    instrument: Instrument,
    technique: str | None,
    pitch: Pitch,
    stand: Standpoint,
) -> Judgement:
    """Whether a stopped pitch lies within the compass of an instrument, or of a technique on it.

    The ceiling of a single technique disputes and never forbids, as its rule only warns.
    """
    compass = asking.opinions("CompassLimit", instrument, technique, stand)
    tops = [limit for limit in compass if "highestPitch" in limit.values]
    verdict = verdict_of(tops, lambda limit: pitch.midi <= _midi(limit, "highestPitch"))
    seen = any(limit.only_excuses and pitch.midi <= _midi(limit, "highestPitch") for limit in tops)
    rare = any(
        pitch.midi > _midi(limit, "usualHighestPitch")
        for limit in compass
        if "usualHighestPitch" in limit.values and not (seen and limit.basis == "memory")
    )
    because = ""
    if technique is not None and verdict == "not allowed":
        verdict = "disputed"
    if verdict != "allowed":
        because = f"{pitch} is higher than is granted"
    elif rare:
        verdict, because = "disputed", f"{pitch} is higher than is usual"
    return Judgement(verdict, because, asking.evidence(compass))


def depth(asking: Asking, instrument: Instrument, pitch: Pitch) -> Judgement:
    """Whether a pitch lies on the strings of an instrument, or of another stringing of it."""
    lowest = instrument.standard.lowest
    if pitch.midi >= lowest.pitch.midi:
        return Judgement("allowed")
    others = [each for each in instrument.variants if each.lowest.pitch.midi <= pitch.midi]
    if others:
        because = f"{pitch} needs another stringing: {', '.join(each.label for each in others)}"
        evidence = tuple(said for each in others for said in asking.said(each.iri))
        return Judgement("allowed", because, evidence)
    below = f"{pitch} lies below the lowest string, {lowest.pitch}"
    return Judgement("not allowed", below, (physics(lowest.iri, below),))


class Hands:
    """Hand models and what is granted of harmonics, for a level and an authority."""

    def __init__(self, asking: Asking, stand: Standpoint) -> None:
        self._asking = asking
        self._stand = stand
        self._models: dict[str, HandModel] = {}
        self._limits: dict[str, HarmonicLimits] = {}

    def model(self, instrument: Instrument) -> HandModel:
        """The hand model of the standard tuning."""
        if instrument.iri not in self._models:
            self._models[instrument.iri] = hand_model(
                self._asking.knowledge,
                instrument,
                level=self._stand.level,
                trust=self._stand.trust,
            )
        return self._models[instrument.iri]

    def limits(self, instrument: Instrument) -> HarmonicLimits:
        """What is granted of harmonics."""
        if instrument.iri not in self._limits:
            self._limits[instrument.iri] = harmonic_limits(
                self._asking.knowledge,
                instrument,
                local_name(self._stand.level),
                self._stand.trust,
            )
        return self._limits[instrument.iri]

    def harmonics(
        self, instrument: Instrument, pitch: Pitch, kind: str | None = None
    ) -> tuple[Harmonic, ...]:
        """Every harmonic of a kind that sounds a pitch, the best first.

        Natural ones need no hand. Raises ``OrchqError`` when the graph lacks what others rest on.
        """
        limits = self.limits(instrument)
        if kind == "natural":
            strings = [string.pitch.midi for string in instrument.standard.strings]
            return natural_ways(pitch.midi, strings, limits)
        found = ways_to_sound(pitch.midi, self.model(instrument), limits)
        return tuple(each for each in found if kind in (None, each.kind))

    def granted(self, harmonic: Harmonic, instrument: Instrument) -> tuple[Evidence, ...]:
        """What a harmonic rests on: the objection to it, or else the partials granted."""
        fields: tuple[str, ...] = ("artificial_partial",)
        if harmonic.kind == "natural":
            fields = ("sure_partial", "highest_partial")
        partials = self.limits(instrument)
        granted = [limit for field in fields for limit in partials.resting_on(field)]
        return self._asking.evidence(harmonic.limits or granted)

    def judge(self, instrument: Instrument, technique: str, pitch: Pitch) -> Judgement:
        """Whether a pitch sounds as a harmonic; only strings and nodes forbid, hands dispute."""
        kind = _HARMONIC_KINDS[technique]
        ways = self.harmonics(instrument, pitch, kind)
        if not ways:
            none = f"no {kind} harmonic of the {instrument.label} sounds {pitch}"
            return Judgement("not allowed", none, (physics(instrument.standard.iri, none),))
        best = ways[0]
        doubtful = best.verdict is Speech.UNRELIABLE or best.verdict >= Speech.IMPRACTICAL
        because = reason(best) if doubtful else ""
        verdict: Verdict = "disputed" if doubtful else "allowed"
        return Judgement(verdict, because, self.granted(best, instrument))


def reason(harmonic: Harmonic) -> str:
    """What speaks against a harmonic, in words; empty when nothing does."""
    return "" if harmonic.code == "speaks-well" else in_words(harmonic)


def _midi(limit: Limit, name: str) -> int:
    return Pitch.parse(str(limit.values[name])).midi
