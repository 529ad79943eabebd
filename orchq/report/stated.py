"""What sources other than scores state about a subject, in one cell of a table."""

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal

from msgspec.structs import replace

from orchq.knowledge import Limit
from orchq.questions import Graph
from orchq.report.wording import one_line
from orchq.terms import OQ

TOPICS = ("changesFrom", "changesTo", "limitsDynamic", "spansFingers")
"""Values of a limit that identify its subject, not how far it goes."""


def matter(limit: Limit) -> tuple[object, ...]:
    """What a limit is about, whoever states it and for whichever level."""
    topics = (limit.values.get(name) for name in TOPICS)
    return limit.kind, limit.technique, limit.instrument or limit.family, *topics


class StatedLimits:
    """Limits of the graph that do not rest on scores."""

    def __init__(self, graph: Graph) -> None:
        self._graph = graph
        self._limits: dict[object, list[Limit]] = defaultdict(list)
        for limit in graph.limits:
            if limit.basis != "attested":
                self._limits[matter(limit)].append(limit)

    def beside(self, limit: Limit) -> list[Limit]:
        """The limits about the same matter as one that scores attest, or else about its family."""
        instrument = self._graph.instruments.get(limit.instrument or "")
        of_family = replace(
            limit, instrument=None, family=instrument.family if instrument else None
        )
        return self._limits.get(matter(limit)) or self._limits.get(matter(of_family), [])

    def limits(
        self, kind: str, instrument: str = "", technique: str = "", into: str = ""
    ) -> list[Limit]:
        """The limits of a kind about an instrument, a technique, a change; all by slug."""
        player = self._graph.instruments.get(OQ + instrument)
        holders = {None, OQ + instrument, player.family if player else None}
        return [
            limit
            for limit in self._graph.limits
            if limit.basis != "attested"
            and limit.kind == kind
            and limit.technique == (OQ + technique if technique else None)
            and (not instrument or {limit.instrument or limit.family} <= holders)
            and (not into or limit.values.get("changesTo") == OQ + into)
        ]

    def figures(self, limits: Iterable[Limit], *names: str) -> str:
        """The figures of limits with those who state them and for whom, each once."""
        stated = []
        for limit in limits:
            figures = [self.figure(limit, name) for name in names if name in limit.values]
            if figures:
                who = limit.source.label if limit.source else limit.basis.replace("-", " ")
                level = f", {self._graph.label(limit.level)}" if limit.level else ""
                stated.append(f"{' to '.join(figures)} ({one_line(who)}{level})")
        return "; ".join(dict.fromkeys(stated))

    def figure(self, limit: Limit, name: str) -> str:
        """A value of a limit in words."""
        value = limit.values[name]
        if isinstance(value, Decimal):
            return f"{value.normalize():f}"
        text = str(value)
        return self._graph.label(text) if text.startswith(OQ) else one_line(text)
