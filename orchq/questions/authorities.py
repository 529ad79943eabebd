"""Questions about those who say so: sources and their statements, levels of player."""

from dataclasses import dataclass

from orchq.errors import OrchqError
from orchq.notation import Pitch
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking
from orchq.questions.places import compass, levels_in_order
from orchq.rules.finding import Evidence
from orchq.terms import local_name


@dataclass(frozen=True, slots=True)
class StatementAnswer:
    """What somebody says: ``source`` is empty where none is named."""

    source: str
    basis: str
    kind: str
    concerns: tuple[str, ...]
    statement: str
    evidence: tuple[Evidence, ...]


@dataclass(frozen=True, slots=True)
class LevelAnswer:
    """A level of player, with the ceiling of an instrument where one is asked about."""

    level: str
    means: str
    highest: str | None
    evidence: tuple[Evidence, ...]


def sources(self: Asking, *, about: str) -> Answers[StatementAnswer]:
    """Tell who says what about an instrument or technique, or what a source says.

    Raises ``OrchqError`` for a name that is not known.

    >>> import orchq
    >>> found = orchq.load().ask.sources(about="double bass")
    >>> any(answer.source.startswith("Berlioz") for answer in found)
    True
    """
    iri = _thing(self, about)
    kinds: dict[str, str] = {}
    concerns: dict[str, list[str]] = {}
    for row in self.facts("sources", about=iri):
        kinds.setdefault(row["said"], row["kind"])
        concerns.setdefault(row["said"], []).extend(filter(None, [row.get("concerns")]))
    answers = [
        StatementAnswer(
            evidence.source,
            evidence.basis,
            kinds[said],
            tuple(dict.fromkeys(concerns[said])),
            evidence.statement,
            (evidence,),
        )
        for said in kinds
        for evidence in self.said(said)
    ]
    answers.sort(key=lambda each: (not each.source, each.source, each.kind))
    label = self.knowledge.label(iri)
    remarks = [] if answers else [f"The graph holds no statement about {label}."]
    return self.answer("sources", {"about": label}, answers, remarks)


def _thing(self: Asking, about: str) -> str:
    """The IRI of a directive, an instrument or a source."""
    try:
        return self.names.printed(about).iri
    except OrchqError as error:
        try:
            return self.names.source(about).iri
        except OrchqError:
            raise error from None


def levels(self: Asking, *, on: str | None = None) -> Answers[LevelAnswer]:
    """Tell the levels of player, and how high an instrument goes at each.

    Raises ``OrchqError`` for a name that is not known.

    >>> import orchq
    >>> [answer.level for answer in orchq.load().ask.levels()]
    ['student', 'orchestral', 'soloist']
    """
    instrument = None if on is None else self.names.instrument(on)
    answers = []
    means = {row["level"]: row["means"] for row in self.facts("levels")}
    for iri in levels_in_order(self):
        opinions = (
            [
                each
                for each in compass(self, on=instrument.iri, level=iri)
                if each.highest and each.tuning is None
            ]
            if instrument
            else []
        )
        weighty = [each for each in opinions if each.basis != "memory"] or opinions
        tops = sorted(Pitch.parse(each.highest) for each in weighty if each.highest)
        said = tuple(evidence for each in opinions for evidence in each.evidence)
        highest = tops[-1].name if tops else None
        answers.append(LevelAnswer(local_name(iri), means.get(iri, ""), highest, said))
    return self.answer("levels", {"on": instrument and instrument.label}, answers)
