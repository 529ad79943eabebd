"""Questions which instruments there are, of which kinds, and how they are strung."""

from collections.abc import Sequence

from msgspec import Struct

from orchq.derive.hand import highest_stop
from orchq.evidence import Evidence
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking, Row


class InstrumentAnswer(Struct, frozen=True):
    """An instrument; ``kinds`` follow from its description, as a reasoner infers them."""

    instrument: str
    kinds: tuple[str, ...]
    strings: tuple[str, ...]
    family: str
    evidence: tuple[Evidence, ...]


class StringingAnswer(Struct, frozen=True):
    """A tuning; ``strings`` and ``courses`` go by number, ``along`` by number among their like.

    ``courses`` is empty where every string is single.
    """

    tuning: str
    strings: tuple[str, ...]
    courses: tuple[str, ...]
    along: tuple[str, ...]
    reentrant: bool
    frets: int | None
    evidence: tuple[Evidence, ...]


def instruments(self: Asking, *, kind: str | None = None) -> Answers[InstrumentAnswer]:
    """Return which instruments there are, the highest first, or those of a kind alone.

    Raises ``OrchqError`` for a kind that no class defines.

    >>> import orchq
    >>> [answer.instrument for answer in orchq.load().ask.instruments(kind="fretless")]
    ['violin', 'viola', 'cello', 'double bass']
    """
    rows = self.facts("instruments")
    names = {row["kind"]: _name(row["label"]) for row in rows}
    wanted = None if kind is None else self.names.one_of("kind", kind.lower(), names.values())
    kinds: dict[str, list[str]] = {}
    for row in rows:
        if "instrument" in row:
            kinds.setdefault(row["instrument"], []).append(names[row["kind"]])
    answers = [
        InstrumentAnswer(
            instrument.label,
            tuple(kinds.get(instrument.iri, ())),
            tuple(string.pitch.name for string in instrument.standard.strings),
            self.knowledge.label(instrument.family),
            self.evidence_for(instrument.standard.iri),
        )
        for instrument in self.instruments_on(None)
        if wanted is None or wanted in kinds.get(instrument.iri, ())
    ]
    remarks = () if answers else (f"The graph has no instrument of this kind: {wanted}.",)
    return self.answer("instruments", {"kind": wanted}, answers, remarks)


def _name(label: str) -> str:
    """The word for a kind: "bowed" of the bowed instrument."""
    return label.replace("instrument", "").strip().removeprefix("with ")


def stringing(self: Asking, *, on: str) -> Answers[StringingAnswer]:
    """Return how an instrument is strung: strings, courses, sympathetic strings and frets.

    Raises ``OrchqError`` for an unknown name.

    >>> import orchq
    >>> [answer.strings for answer in orchq.load().ask.stringing(on="viola")]
    [('A4', 'D4', 'G3', 'C3')]
    """
    instrument = self.names.instrument(on)
    tunings: dict[str, list[Row]] = {}
    for row in self.facts("stringing", on=instrument.iri):
        tunings.setdefault(row["tuning"], []).append(row)
    ends = highest_stop(self.knowledge, instrument)[1] if instrument.frets else ()
    answers = []
    for tuning, rows in tunings.items():
        played: dict[str, list[Row]] = {}
        for row in rows:
            if "along" not in row:
                played.setdefault(row["number"], []).append(row)
        single = all("many" not in same[0] for same in played.values())
        answers.append(
            StringingAnswer(
                rows[0]["label"],
                tuple(same[0]["pitch"] for same in played.values()),
                () if single else tuple(map(_course, played.values())),
                tuple(row["pitch"] for row in rows if "along" in row),
                rows[0].get("reentrant") == "true",
                int(rows[0]["frets"]) if "frets" in rows[0] else None,
                (*self.evidence_for(tuning), *self.evidence(ends)),
            )
        )
    return self.answer("stringing", {"on": instrument.label}, answers)


def _course(rows: Sequence[Row]) -> str:
    """How many strings a course has, and what else sounds in it; a string by itself is one."""
    others = " and ".join(row["other"] for row in rows if "other" in row)
    return rows[0].get("many", "1") + (f" with {others}" if others else "")
