"""The question what can be practised for a technique."""

from msgspec import Struct

from orchq.evidence import Evidence
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking

_CAUTION = (
    "Ideas for a lesson, which know no hand: player and teacher decide what is practised, how long "
    "and how high; what hurts is stopped."
)


class ExerciseAnswer(Struct, frozen=True):
    """Something to practise, in words."""

    exercise: str
    says: str
    evidence: tuple[Evidence, ...]


def exercises(self: Asking, *, technique: str | None = None) -> Answers[ExerciseAnswer]:
    """Return what can be practised for a technique, then what serves for everything.

    Raises ``OrchqError`` for a technique that is not known.

    >>> import orchq
    >>> orchq.load().ask.exercises(technique="spiccato")[0].exercise
    'across the strings'
    """
    wanted = None if technique is None else self.names.technique(technique)
    own, general = [], []
    for row in self.facts("exercises"):
        if "technique" not in row:
            general.append(row["exercise"])
        elif wanted is not None and row["technique"] == wanted.iri:
            own.append(row["exercise"])
    answers = []
    for iri in (*own, *general):
        evidence = self.evidence_for(iri)
        says = " ".join(each.statement for each in evidence)
        answers.append(ExerciseAnswer(self.knowledge.label(iri), says, evidence))
    parameters = {"technique": wanted and wanted.label}
    return self.answer("exercises", parameters, answers, [_CAUTION])
