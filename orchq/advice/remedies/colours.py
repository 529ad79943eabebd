"""Another technique of like colour."""

from collections.abc import Iterator

from orchq.advice.case import Candidate, Case, remedy
from orchq.advice.edits import change_word, exchange_sign, exchange_techniques
from orchq.advice.remedies.loudness import refused, verdict
from orchq.derive.states import ARCO
from orchq.knowledge import Technique


@remedy("like-technique")
def like_technique(case: Case) -> Iterator[Candidate]:
    """Techniques of the same kind whose colour is described alike, most words in common first."""
    dynamic = case.knowledge.dynamics.get(case.in_force.dynamic or "")
    used = case.in_force.techniques - {ARCO}
    at_fault = (refused(case, dynamic) if dynamic else frozenset()) or used
    for iri in sorted(at_fault & set(case.knowledge.techniques)):
        old = case.knowledge.techniques[iri]
        for new in _alike(case, old):
            if dynamic is not None and verdict(case, new.iri, dynamic) != "allowed":
                continue
            yield from _exchanged(case, old, new)


def _alike(case: Case, old: Technique) -> list[Technique]:
    home = {case.instrument.iri, case.instrument.family}
    kinds = {limit.kind for limit in case.limits}
    others = case.in_force.techniques - {old.iri}
    found = [
        new
        for new in case.knowledge.techniques.values()
        if new.iri not in {old.iri, *old.implies}
        and new.kinds & old.kinds
        and set(new.colours) & set(old.colours)
        and new.available_on & home
        and not new.excludes & others
        # Where nobody says how far a technique goes, it is no way out of a limit.
        and all(case.limits_of(kind, new.iri) for kind in kinds)
    ]

    def order(new: Technique) -> tuple[int, str]:
        return -len(set(new.colours) & set(old.colours)), new.label

    return sorted(found, key=order)


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
    shared = ", ".join(word for word in old.colours if word in new.colours)
    do = f"write {new.label} instead of {old.label}{case.until(events)}: it is {shared} as well"
    yield from case.offer(do, *edits, over=events, kind=old.iri)
