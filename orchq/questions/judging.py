"""The verdict of the limits in force on a mark, weighed as the rules weigh them."""

from collections.abc import Iterable
from fractions import Fraction

from msgspec import Struct

from orchq.derive.hand import HandModel, hand_model
from orchq.derive.harmonic_limits import HarmonicLimits, harmonic_limits
from orchq.derive.harmonic_words import in_words
from orchq.derive.harmonics import (
    Harmonic,
    natural_ways,
    ways_to_sound,
)
from orchq.derive.harmonics import (
    HarmonicGrade as Speech,
)
from orchq.derive.scopes import granted_dynamics
from orchq.evidence import Evidence, how_far, witnesses
from orchq.knowledge import (
    VERDICTS,
    Dynamic,
    Instrument,
    Technique,
    Verdict,
    Weighing,
    Zone,
)
from orchq.notation import Pitch
from orchq.questions.asking import Asking, Standpoint, physics
from orchq.terms import OQ, local_name

NATURAL, ARTIFICIAL = OQ + "natural-harmonic", OQ + "artificial-harmonic"
_HARMONIC_KINDS = {NATURAL: "natural", ARTIFICIAL: "artificial"}


class Judgement(Struct, frozen=True):
    """A verdict, the reason when it is not plainly allowed, and the evidence."""

    verdict: Verdict
    because: str = ""
    evidence: tuple[Evidence, ...] = ()


def worst(judgements: Iterable[Judgement]) -> Judgement:
    """All judgements of a mark together: the gravest verdict, every reason for it, all evidence.

    >>> worst([Judgement("allowed"), Judgement("disputed", "too loud")]).verdict
    'disputed'
    """
    given = list(judgements)
    verdicts = [each.verdict for each in given]
    verdict = max(verdicts, key=VERDICTS.index) if verdicts else VERDICTS[0]
    reasons = (each.because for each in given if each.verdict == verdict and each.because)
    evidence = (item for each in given for item in each.evidence)
    return Judgement(verdict, "; ".join(dict.fromkeys(reasons)), tuple(dict.fromkeys(evidence)))


def envelope(
    asking: Asking, instrument: Instrument, technique: str | None, stand: Standpoint
) -> tuple[str | None, str | None]:
    """The softest and the loudest dynamic, as printed, that some authority grants.

    ``None`` is an end left open.
    """
    weighed = asking.weighings("DynamicEnvelope", instrument, technique, stand)
    softest, loudest = granted_dynamics(weighed, asking.knowledge.dynamics)
    return (
        None if softest is None else softest.label,
        None if loudest is None else loudest.label,
    )


def loudness(
    asking: Asking,
    instrument: Instrument,
    technique: str | None,
    dynamic: Dynamic,
    stand: Standpoint,
) -> Judgement:
    """Whether a technique works at a dynamic."""
    weighed = asking.weighings("DynamicEnvelope", instrument, technique, stand)
    return weighed_at(asking, weighed, dynamic.degree)


def weighed_at(asking: Asking, weighings: Iterable[Weighing], value: Fraction | int) -> Judgement:
    """The verdict of weighings together on a value, with the evidence."""
    return worst(_weighed(asking, weighing, weighing.at(value)) for weighing in weighings)


def _weighed(asking: Asking, weighing: Weighing, zone: Zone) -> Judgement:
    because = "" if zone.verdict == "allowed" else how_far(weighing, zone, asking.knowledge)
    return Judgement(zone.verdict, because, asking.evidence(witnesses(zone)))


def availability(
    asking: Asking, instrument: Instrument, technique: Technique, stand: Standpoint
) -> Judgement:
    """Whether an instrument has a technique."""
    weighed = asking.weighings("Availability", instrument, technique.iri, stand)
    if weighed:
        return weighed_at(asking, weighed, 1)
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
    """Whether a stopped pitch lies within the compass of an instrument, or of a technique on it."""
    weighed = asking.weighings("CompassLimit", instrument, technique, stand)
    return weighed_at(asking, weighed, pitch.midi)


def depth(asking: Asking, instrument: Instrument, pitch: Pitch) -> Judgement:
    """Whether a pitch lies on the strings of an instrument, or of another stringing of it."""
    lowest = instrument.standard.lowest
    if pitch.midi >= lowest.pitch.midi:
        return Judgement("allowed")
    others = [each for each in instrument.variants if each.lowest.pitch.midi <= pitch.midi]
    if others:
        because = f"{pitch} needs another stringing: {', '.join(each.label for each in others)}"
        evidence = tuple(item for each in others for item in asking.evidence_for(each.iri))
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
        """Whether a pitch sounds as a harmonic; only strings and nodes forbid."""
        kind = _HARMONIC_KINDS[technique]
        ways = self.harmonics(instrument, pitch, kind)
        if not ways:
            none = f"no {kind} harmonic of the {instrument.label} sounds {pitch}"
            return Judgement("not allowed", none, (physics(instrument.standard.iri, none),))
        best = ways[0]
        doubtful = best.verdict is Speech.UNRELIABLE or best.verdict >= Speech.IMPRACTICAL
        because = reason(best) if doubtful else ""
        verdict: Verdict = "unusual" if doubtful else "allowed"
        return Judgement(verdict, because, self.granted(best, instrument))


def reason(harmonic: Harmonic) -> str:
    """The objection to a harmonic, in words; empty when there is none."""
    return "" if harmonic.code == "speaks-well" else in_words(harmonic)
