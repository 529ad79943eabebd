"""Questions about authorities: sources and their statements, levels of player."""

from msgspec import Struct

from orchq.errors import OrchqError
from orchq.evidence import Evidence
from orchq.notation import Pitch
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking, Row
from orchq.questions.places import compass
from orchq.terms import local_name


class StatementAnswer(Struct, frozen=True):
    """A statement; ``source`` is empty where none is named."""

    source: str
    basis: str
    kind: str
    concerns: tuple[str, ...]
    statement: str
    evidence: tuple[Evidence, ...]


class LevelAnswer(Struct, frozen=True):
    """A level of player, with the ceiling of an instrument where one is asked about."""

    level: str
    means: str
    highest: str | None
    evidence: tuple[Evidence, ...]


def sources(self: Asking, *, about: str) -> Answers[StatementAnswer]:
    """Return all statements about an instrument or technique, or those of a source.

    Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> found = orchq.load().ask.sources(about="double bass")
    >>> any(answer.source.startswith("Berlioz") for answer in found)
    True
    """
    iri = _thing(self, about)
    rows: dict[str, list[Row]] = {}
    for row in self.facts("sources", about=iri):
        rows.setdefault(row["said"], []).append(row)
    answers = []
    for iri, same in rows.items():
        evidence = self.evidence_from(iri, same[0])
        concerns = tuple(dict.fromkeys(row["concerns"] for row in same if "concerns" in row))
        answers.append(
            StatementAnswer(
                evidence.source,
                evidence.basis,
                same[0]["kind"],
                concerns,
                evidence.statement,
                (evidence,),
            )
        )
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
    """Return the levels of player, and how high an instrument goes at each.

    Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> [answer.level for answer in orchq.load().ask.levels()]
    ['student', 'orchestral', 'soloist']
    """
    instrument = None if on is None else self.names.instrument(on)
    answers = []
    for row in self.facts("levels"):
        opinions = (
            [
                each
                for each in compass(self, on=instrument.iri, level=row["level"])
                if each.highest and each.tuning is None
            ]
            if instrument
            else []
        )
        weighty = [each for each in opinions if each.basis != "memory"] or opinions
        tops = sorted(Pitch.parse(each.highest) for each in weighty if each.highest)
        grounds = tuple(evidence for each in opinions for evidence in each.evidence)
        highest = tops[-1].name if tops else None
        answers.append(
            LevelAnswer(local_name(row["level"]), row.get("means", ""), highest, grounds)
        )
    return self.answer("levels", {"on": instrument and instrument.label}, answers)
