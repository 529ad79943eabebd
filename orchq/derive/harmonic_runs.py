"""How fast artificial harmonics follow each other."""

from collections.abc import Iterator

from pyoxigraph import Quad

from orchq.derive.circumstances import Fact, rate_in_words
from orchq.derive.harmonic_facts import ARTIFICIAL
from orchq.derive.lines import Attack
from orchq.derive.rates import SHORTEST, runs_of
from orchq.derive.staves import Staff


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

    for line in staff.lines if stopped else ():
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
