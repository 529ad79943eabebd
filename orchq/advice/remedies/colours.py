"""Another technique that can stand for this one, and, at last, none."""

from collections.abc import Iterator

from orchq.advice.case import Candidate, Case, remedy
from orchq.advice.edits import change_word, exchange_sign, exchange_techniques
from orchq.advice.remedies.loudness import refused, verdict
from orchq.advice.remedies.signs_and_words import bow_from_here, bow_run, without_word
from orchq.derive.states import ARCO
from orchq.knowledge import VERDICTS, Technique

_GRANTED = ("allowed", "disputed")


@remedy("like-technique")
def like_technique(case: Case) -> Iterator[Candidate]:
    """Techniques that can stand for one at fault, those first that nobody objects to."""
    for iri in _at_fault(case):
        old = case.knowledge.techniques[iri]
        for new in _standing_in(case, old):
            yield from _exchanged(case, old, new)


@remedy("give-technique-up")
def give_technique_up(case: Case) -> Iterator[Candidate]:
    """The bow instead of the finger, or the word for a technique at fault left out.

    A mute is never left out: it is put on for its sound and for nothing else.
    """
    techniques = case.knowledge.techniques
    for iri in _at_fault(case):
        if "PluckedTechnique" in techniques[iri].kinds:
            yield from bow_run(case, iri)
            yield from bow_from_here(case, iri)
        elif "Muting" not in techniques[iri].kinds and iri not in case.event.marks:
            yield from without_word(case, iri)


def _at_fault(case: Case) -> list[str]:
    """The techniques in force that the finding's limits are about, or that loudness refuses."""
    dynamic = case.knowledge.dynamics.get(case.in_force.dynamic or "")
    refusing = refused(case, dynamic) if dynamic else frozenset()
    named = {limit.technique for limit in case.limits}
    used = (case.in_force.techniques - {ARCO}) & case.knowledge.techniques.keys()
    return sorted(refusing or {iri for iri in used if iri in named} or used)


def _standing_in(case: Case, old: Technique) -> list[Technique]:
    others = case.in_force.techniques - {old.iri, *old.implies}
    techniques = case.knowledge.techniques
    found = [
        new
        for new in (techniques[iri] for iri in old.can_stand_for)
        if new.iri not in others
        and new.is_on(case.instrument)
        and not new.excludes & others
        and _loudness(case, new) in _GRANTED
    ]
    return sorted(found, key=lambda new: (VERDICTS.index(_loudness(case, new)), new.label))


def _loudness(case: Case, technique: Technique) -> str:
    """Return the verdict on a technique at the dynamic in force."""
    dynamic = case.knowledge.dynamics.get(case.in_force.dynamic or "")
    return "allowed" if dynamic is None else verdict(case, technique.iri, dynamic)


def _exchanged(case: Case, old: Technique, new: Technique) -> Iterator[Candidate]:
    events = case.stretch(lambda item: old.iri in item.in_force.techniques)
    iris = [event.iri for event in events]
    edits = [
        exchange_sign(iris, old.iri, new.iri),
        exchange_techniques(iris, off=[old.iri], on=[new.iri]),
    ]
    mark = case.word(old.iri)
    if mark is not None:
        edits.append(change_word(mark.iri, old.iri, new.iri))
    do = f"write {new.label} instead of {old.label}{case.until(events)}: {_reason(case)}"
    yield from case.offer(do, *edits, over=events, kind=old.iri)


def _reason(case: Case) -> str:
    """Return why the exchange helps, by the grounds of the finding."""
    kinds = {limit.kind for limit in case.limits}
    if "RateLimit" in kinds:
        return "players use it at this speed"
    dynamic = case.knowledge.dynamics.get(case.in_force.dynamic or "")
    if "DynamicEnvelope" in kinds and dynamic is not None:
        return f"players use it at {dynamic.label}"
    return "players use one for the other"
