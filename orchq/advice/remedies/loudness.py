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
        what = " and ".join(sorted(case.label(iri) for iri in at_fault)) or "this"
        do = (
            f"write {new.label} instead of {old.label}{case.until(events)}: "
            f"the nearest at which {what} speaks{_basis(case, at_fault)}"
        )
        over = (*events, after.event) if after is not None else events
        yield from case.offer(do, *case.instead(old.iri, new.iri, events), *back, over=over)


def refused(case: Case, dynamic: Dynamic) -> frozenset[str]:
    """The techniques at the event that lie beyond what anybody grants at a dynamic."""
    beyond = ("unusual", "not allowed")
    return frozenset(
        iri for iri in case.in_force.techniques if verdict(case, iri, dynamic) in beyond
    )


def verdict(case: Case, technique: str, dynamic: Dynamic) -> Verdict:
    """What the envelopes together say of a dynamic."""
    verdicts = (
        weighing.at(dynamic.degree).verdict
        for weighing in case.weighings("DynamicEnvelope", technique)
    )
    return max(verdicts, key=VERDICTS.index, default="allowed")


def _by_distance(case: Case, old: Dynamic) -> list[Dynamic]:
    def order(new: Dynamic) -> tuple[int, int]:
        worst = max(VERDICTS.index(verdict(case, t, new)) for t in case.in_force.techniques)
        return worst, abs(new.rank - old.rank)

    others = [each for each in case.knowledge.dynamics.values() if each != old]
    return sorted(others, key=order)


def _basis(case: Case, techniques: frozenset[str]) -> str:
    """On what the envelopes rest, in brackets."""
    bases = {
        limit.source.label if limit.source else limit.basis.replace("-", " ")
        for technique in techniques
        for limit in case.limits_of("DynamicEnvelope", technique)
    }
    return f" ({', '.join(sorted(bases))})" if bases else ""
