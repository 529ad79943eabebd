"""How scores of a project are judged: the options of its checks, with the graph."""

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct
from pyoxigraph import Quad

from orchq.derive.derivation import Derivation, derive
from orchq.excerpt import seated
from orchq.knowledge import Knowledge
from orchq.lazily import lazily
from orchq.rules.checking import check_score
from orchq.rules.finding import FileReport
from orchq.score import Score

if TYPE_CHECKING:  # most scores need no advice
    from orchq import advice as remedying
else:
    (remedying,) = lazily("orchq", "advice")


class Judge(Struct, frozen=True):
    """The options of a check; ``level`` and ``trust`` are IRIs, ``rules`` slugs."""

    knowledge: Knowledge
    level: str | None
    trust: str | None
    rules: Collection[str] | None
    players: Mapping[str, int] | None
    engine: str

    def seated(self, score: Score) -> Score:
        """The score with the numbers of players that the project gives."""
        return seated(score, self.players) if self.players else score

    def judged(
        self,
        score: Score,
        file: str,
        *,
        asserted: Sequence[Quad] | None = None,
        read_seconds: float = 0.0,
        advice: bool = False,
    ) -> FileReport:
        """What is found in a score, place by place; with ``advice`` also what to write instead."""
        derivation = derive(score, self.knowledge, level=self.level, trust=self.trust)
        report = check_score(
            score,
            self.knowledge,
            file=file,
            asserted=asserted,
            level=self.level,
            trust=self.trust,
            rules=self.rules,
            engine=self.engine,
            read_seconds=read_seconds,
            derivation=derivation,
        )
        if not advice or all(finding.severity == "info" for finding in report.findings):
            return report
        return remedying.advise(report, self.bench(score, derivation))

    def bench(self, score: Score, derivation: Derivation | None = None) -> "remedying.Workbench":
        """Where rewritings of a score are tried as it is judged here."""
        return remedying.Workbench(
            score,
            self.knowledge,
            level=self.level,
            trust=self.trust,
            rules=self.rules,
            staves=None if derivation is None else derivation.staves,
        )
