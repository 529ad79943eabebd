"""The question which instruments there are, and of which kinds."""

from dataclasses import dataclass

from orchq.questions.answers import Answers
from orchq.questions.asking import Asking
from orchq.rules.finding import Evidence


@dataclass(frozen=True, slots=True)
class InstrumentAnswer:
    """An instrument; ``kinds`` follow from what it is said to be, as a reasoner infers them."""

    instrument: str
    kinds: tuple[str, ...]
    strings: tuple[str, ...]
    family: str
    evidence: tuple[Evidence, ...]


def instruments(self: Asking, *, kind: str | None = None) -> Answers[InstrumentAnswer]:
    """Tell which instruments there are, the highest first, or those of a kind alone.

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
            self.said(instrument.standard.iri),
        )
        for instrument in self.instruments_on(None)
        if wanted is None or wanted in kinds.get(instrument.iri, ())
    ]
    remarks = () if answers else (f"The graph holds no instrument of this kind: {wanted}.",)
    return self.answer("instruments", {"kind": wanted}, answers, remarks)


def _name(label: str) -> str:
    """The word for a kind: "bowed" of the bowed instrument."""
    return label.replace("instrument", "").strip().removeprefix("with ")
