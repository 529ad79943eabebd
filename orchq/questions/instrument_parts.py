"""The question what the parts of instrument and bow are called, and what happens there."""

from collections import defaultdict

from msgspec import Struct

from orchq.evidence import Evidence
from orchq.knowledge import Instrument
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking, Row
from orchq.terms import OQ, SKOS

_CAUTION = "Players know what their instruments bear: ask before anything but the bow touches one."
_NAMES = (SKOS + "prefLabel", SKOS + "altLabel")


class PartAnswer(Struct, frozen=True):
    """A part or material with its names in four languages, the usual one first in each."""

    part: str
    kind: str
    part_of: str | None
    english: tuple[str, ...]
    german: tuple[str, ...]
    french: tuple[str, ...]
    italian: tuple[str, ...]
    techniques: tuple[str, ...]
    made_of: tuple[str, ...]
    evidence: tuple[Evidence, ...]


def parts(self: Asking, *, on: str | None = None, part: str | None = None) -> Answers[PartAnswer]:
    """Return the parts of instrument and bow, and the materials: names and what happens there.

    Raises ``OrchqError`` for an instrument or a part that is not known.

    >>> import orchq
    >>> [bridge] = orchq.load().ask.parts(part="Steg")
    >>> bridge.part, bridge.french, bridge.italian
    ('bridge', ('chevalet',), ('ponticello',))
    """
    instrument = None if on is None else self.names.instrument(on)
    described: dict[str, list[Row]] = defaultdict(list)
    for row in self.facts("parts"):
        described[row["part"]].append(row)
    wanted = None
    if part is not None:
        names = {name: iri for iri, rows in described.items() for name in _names(rows)}
        wanted = names[self.names.one_of("part", part, names)]
    answers = [
        _answer(self, iri, rows)
        for iri, rows in described.items()
        if wanted in (None, iri) and _is_on(rows, instrument)
    ]
    label = wanted and self.knowledge.label(wanted)
    remarks = [_CAUTION] if answers else ["The instrument has no such part."]
    parameters = {"on": instrument and instrument.label, "part": label}
    return self.answer("parts", parameters, answers, remarks)


def _answer(self: Asking, iri: str, rows: list[Row]) -> PartAnswer:
    def labels(name: str) -> tuple[str, ...]:
        return tuple(sorted(self.knowledge.label(each) for each in _values(rows, name)))

    def called(tag: str) -> tuple[str, ...]:
        names = [row for kind in _NAMES for row in rows if row["property"] == kind]
        return tuple(row["value"] for row in names if row["language"] == tag)

    return PartAnswer(
        self.knowledge.label(iri),
        self.knowledge.label(rows[0]["kind"]),
        next(iter(labels("isPartOf")), None),
        called("en"),
        called("de"),
        called("fr"),
        called("it"),
        labels("isPlaceOf"),
        labels("madeOf"),
        self.evidence_for(iri),
    )


def _names(rows: list[Row]) -> list[str]:
    return [row["value"] for row in rows if row["property"] in _NAMES]


def _values(rows: list[Row], name: str) -> list[str]:
    return [row["value"] for row in rows if row["property"] == OQ + name]


def _is_on(rows: list[Row], instrument: Instrument | None) -> bool:
    """Whether an instrument has the part; materials belong to no instrument alone."""
    holders = _values(rows, "foundOn")
    return (
        instrument is None or not holders or bool({instrument.iri, instrument.family} & {*holders})
    )
