"""How fast artificial harmonics follow each other, and how far the hand carries them."""

from collections.abc import Iterator, Mapping
from itertools import pairwise

from pyoxigraph import Quad

from orchq.derive.circumstances import Fact, in_words, rate_in_words
from orchq.derive.hand import HandModel, stop_mm
from orchq.derive.harmonic_facts import ARTIFICIAL
from orchq.derive.lines import Attack
from orchq.derive.rates import SHORTEST, runs_of
from orchq.derive.staves import Staff
from orchq.notation import Pitch


def harmonic_run_quads(staff: Staff) -> Iterator[Quad]:
    """Yield the triples of runs of artificial harmonics that rules report as too fast.

    Both fingers are placed again for every new note; for a repeated one they stay.
    """
    stopped = {
        item.event.iri
        for item, reader, model in staff.harmonics
        if any(
            each.two_heads or (each.harmonic is not None and each.harmonic.kind == "artificial")
            for each in reader.interpreted(item, model)
        )
    }

    def goes_on(before: Attack, now: Attack) -> bool:
        return (
            {before.event.iri, now.event.iri} <= stopped
            and now.follows
            and before.length == now.length
            and before.midis != now.midis
        )

    bases = _bases(staff) if stopped else {}
    for line in staff.lines if stopped else ():
        for before, now in pairwise(line.attacks):
            if {before.event.iri, now.event.iri} <= bases.keys() and now.follows:
                yield from _leap(staff, bases, before, now)
        for first, last in runs_of(line.attacks, goes_on):
            if last - first + 1 >= SHORTEST:
                count = last - first
                yield from _run(staff, line.attacks[first], line.attacks[last], count)


def _run(staff: Staff, first: Attack, last: Attack, count: int) -> Iterator[Quad]:
    around = staff.around
    fastest = around.first_reported("RateLimit", "fastestRate", first.in_force, ARTIFICIAL)
    span = around.clock.span(first.onset, last.onset)
    if fastest is None or not span.most or count / span.most < fastest:
        return
    fact = Fact(first.event, "harmonic-run", "HarmonicRun")
    fact.say("harmonicsPerSecond", count / span.most)
    fact.say("rateSaid", rate_in_words(count / span.most, span.slow_tempo))
    fact.under(around.scope(first.in_force, ARTIFICIAL))
    yield from fact.quads


def _bases(staff: Staff) -> dict[str, Pitch]:
    """The note that is stopped at the events with one artificial harmonic."""
    found = {}
    for item, reader, model in staff.harmonics:
        harmonics = [each.harmonic for each in reader.interpreted(item, model)]
        if len(harmonics) == 1 and harmonics[0] and harmonics[0].kind == "artificial":
            found[item.event.iri] = harmonics[0].base
    return found


def _leap(staff: Staff, bases: Mapping[str, Pitch], before: Attack, now: Attack) -> Iterator[Quad]:
    """Two artificial harmonics far apart: both fingers fly, and have to land at their distance."""
    low, high = bases[before.event.iri], bases[now.event.iri]
    if abs(low.midi - high.midi) < staff.knowledge.judged("narrowest-leap-of-harmonics"):
        return
    fastest = staff.around.first_reported(
        "HandTravel", "fastestHandTravel", now.in_force, ARTIFICIAL
    )
    span = staff.around.clock.span(before.onset, now.onset)
    model = staff.hand_of(now.in_force)
    if fastest is None or not span.most or model is None:
        return
    ways = [
        abs(one - other) for one in _places(model, low.midi) for other in _places(model, high.midi)
    ]
    if not ways or round(min(ways)) / span.most < fastest:
        return
    fact = Fact(now.event, "harmonic-leap", "HarmonicLeap")
    fact.say("frameSpeed", round(min(ways)) / span.most)
    fact.say("notesSaid", f"{low.name} and {high.name}")
    fact.say("timeSaid", in_words(span.most, span.slow_tempo))
    fact.under(staff.around.scope(now.in_force, ARTIFICIAL))
    yield from fact.quads


def _places(model: HandModel, pitch: int) -> list[float]:
    """Where the first finger or the thumb stops a note, in millimeters from the nut."""
    heights = (pitch - opened for opened in model.strings)
    return [stop_mm(model.length_mm, each) for each in heights if 0 < each <= model.highest_stop]
