"""Another dynamic."""

from collections.abc import Iterator

from orchq.advice.case import Candidate, Case, remedy
from orchq.advice.edits import Edit, print_word
from orchq.knowledge import VERDICTS, Dynamic, Verdict


@remedy("nearest-dynamic")
def nearest_dynamic(case: Case) -> Iterator[Candidate]:
    """Dynamics by their distance, those first that every authority allows."""
    dynamics = case.knowledge.dynamics
    old = dynamics.get(case.in_force.dynamic or "")
    if old is None:
        return
    at_fault = refused(case, old)
    events = [case.event]
    if at_fault:
        events = case.onwards(
            lambda item: item.in_force.dynamic == old.iri and at_fault <= item.in_force.techniques
        )
    after = case.after(events[-1])
    back: list[Edit] = []
    if after is not None and after.in_force.dynamic == old.iri:
        back.append(print_word(after.event, old.iri, first=True))
    for new in _by_distance(case, old):
        why = _why(case, at_fault, old, new)
        do = f"write {new.label} instead of {old.label}{case.until(events)}: {why}"
        over = (*events, after.event) if after is not None else events
        yield from case.offer(do, *case.instead(old.iri, new.iri, events), *back, over=over)


def refused(case: Case, dynamic: Dynamic) -> frozenset[str]:
    """The techniques at the event that nobody allows at a dynamic."""
    beyond = ("unusual", "not allowed")
    return frozenset(
        iri for iri in case.in_force.techniques if verdict(case, iri, dynamic) in beyond
    )


def verdict(case: Case, technique: str, dynamic: Dynamic) -> Verdict:
    """Return the verdict of the envelopes together on a dynamic."""
    verdicts = (
        weighing.at(dynamic.degree).verdict
        for weighing in case.weighings("DynamicEnvelope", technique)
    )
    return max(verdicts, key=VERDICTS.index, default="allowed")


def _worst(case: Case, dynamic: Dynamic) -> Verdict:
    """Return the gravest verdict on a dynamic among the techniques in force."""
    verdicts = (verdict(case, technique, dynamic) for technique in case.in_force.techniques)
    return max(verdicts, key=VERDICTS.index, default="allowed")


def _by_rank(case: Case, old: Dynamic) -> list[Dynamic]:
    others = [each for each in case.knowledge.dynamics.values() if each != old]
    return sorted(others, key=lambda new: abs(new.rank - old.rank))


def _by_distance(case: Case, old: Dynamic) -> list[Dynamic]:
    return sorted(_by_rank(case, old), key=lambda new: VERDICTS.index(_worst(case, new)))


def _why(case: Case, at_fault: frozenset[str], old: Dynamic, new: Dynamic) -> str:
    """Return who allows a dynamic, and which nearer one only some allow."""
    if not at_fault:
        return "the nearest dynamic at which this works"
    what = " and ".join(sorted(case.label(iri) for iri in at_fault))
    if _worst(case, new) != "allowed":
        return f"the nearest dynamic that anybody allows for {what}{_basis(case, at_fault)}"
    low, high = sorted((old.rank, new.rank))
    between = (d for d in _by_rank(case, old) if low < d.rank < high)
    nearer = next((d.label for d in between if _worst(case, d) == "disputed"), None)
    also = "" if nearer is None else f"; some allow {nearer}"
    return f"the nearest dynamic that all allow for {what}{_basis(case, at_fault)}{also}"


def _basis(case: Case, techniques: frozenset[str]) -> str:
    """Return the grounds of the envelopes, in brackets."""
    bases = {
        limit.source.label if limit.source else limit.basis.replace("-", " ")
        for technique in techniques
        for limit in case.limits_of("DynamicEnvelope", technique)
    }
    return f" ({', '.join(sorted(bases))})" if bases else ""
