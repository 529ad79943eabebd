"""What is asked of a scoring, and one way to do it."""

from msgspec import Struct, field

from orchq.derive.path import DifficultyGrade
from orchq.evidence import Evidence
from orchq.knowledge import Dynamic, Technique
from orchq.questions.asking import Standpoint
from orchq.questions.scoring_facts import Thing
from orchq.questions.scoring_places import LineOnStrings


class Wish(Struct, frozen=True):
    """What is asked for; ``words`` are labels, ``role`` is an IRI, ``without`` are techniques."""

    words: tuple[str, ...]
    dynamic: Dynamic | None
    role: str | None
    without: frozenset[str]
    only: frozenset[str]
    stand: Standpoint


class Way(Struct):
    """A way to score a line, with the weights that add to its score and where they come from.

    ``place`` is where the first instrument plays, ``others`` where those that join it do.
    ``grounds`` are IRIs of what describes it, ``evidence`` is that of limits.
    """

    grouping: Thing
    manner: Thing
    techniques: tuple[Technique, ...]
    place: LineOnStrings
    others: tuple[LineOnStrings, ...] = ()
    difficulty: DifficultyGrade | None = None
    weights: list[float] = field(default_factory=list)
    why: list[str] = field(default_factory=list)
    against: list[str] = field(default_factory=list)
    grounds: list[str] = field(default_factory=list)
    evidence: list[Evidence] = field(default_factory=list)

    @property
    def score(self) -> float:
        """All weights, added."""
        return round(sum(self.weights), 2)

    def of_kind(self, kind: str) -> str | None:
        """The technique of a class, such as the mute."""
        return next((each.label for each in self.techniques if kind in each.kinds), None)
