"""What others than scores state about a matter, in one cell of a table."""

from collections.abc import Iterable

from orchq.knowledge import Limit
from orchq.questions import Graph
from orchq.report.wording import one_line
from orchq.terms import OQ


class Stated:
    """Limits of the graph that do not rest on scores."""

    def __init__(self, graph: Graph) -> None:
        self._graph = graph
        self._limits = [limit for limit in graph.limits if limit.basis != "attested"]

    def limits(
        self, kind: str, instrument: str = "", technique: str = "", into: str = ""
    ) -> list[Limit]:
        """The limits of a kind about an instrument, a technique, a change; all by slug."""
        player = self._graph.instruments.get(OQ + instrument)
        holders = {None, OQ + instrument, player.family if player else None}
        return [
            limit
            for limit in self._limits
            if limit.kind == kind
            and limit.technique == (OQ + technique if technique else None)
            and (not instrument or {limit.instrument or limit.family} <= holders)
            and (not into or limit.values.get("changesTo") == OQ + into)
        ]

    def figures(self, limits: Iterable[Limit], *names: str) -> str:
        """The figures of limits with those who state them, each once."""
        said = []
        for limit in limits:
            figures = [self._figure(limit.values[name]) for name in names if name in limit.values]
            if figures:
                who = limit.source.label if limit.source else limit.basis.replace("-", " ")
                said.append(f"{' to '.join(figures)} ({one_line(who)})")
        return "; ".join(dict.fromkeys(said))

    def _figure(self, value: object) -> str:
        text = str(value)
        return self._graph.label(text) if text.startswith(OQ) else one_line(text)
