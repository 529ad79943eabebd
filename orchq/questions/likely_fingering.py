"""The question how a line lies in the left hand."""

from itertools import pairwise

from msgspec import Struct

from orchq.derive import path
from orchq.evidence import Evidence
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking
from orchq.questions.grips import GripNote
from orchq.questions.judging import Hands
from orchq.questions.pitch_names import parse_pitches

_MOST = 4
_CAUTION = (
    "Players choose differently for the sound; their word and the teacher's come before this one."
)


class FingeringAnswer(Struct, frozen=True):
    """One way to finger a line.

    ``cost`` includes the charge for differing from other ways that are nearly as good, so that the
    first answer has the least; ``because`` names the greatest of the other costs.
    """

    fingering: tuple[GripNote, ...]
    positions: tuple[float, ...]
    shifts: int
    cost: float
    because: tuple[str, ...]
    evidence: tuple[Evidence, ...]


def fingering(
    self: Asking,
    *,
    on: str,
    notes: str,
    level: str | None = None,
    trust: str | None = None,
) -> Answers[FingeringAnswer]:
    """Return how notes one after another are fingered, the likeliest way first.

    They are taken as quarter notes at a moderate tempo. Where a note is on no string there are no
    answers, only a remark. Raises ``OrchqError`` for an unknown name, or where the graph lacks a
    hand frame for the instrument.

    >>> import orchq
    >>> best = orchq.load().ask.fingering(on="violin", notes="G3 A3 B3 C4")[0]
    >>> " ".join(str(note) for note in best.fingering)
    'G3 G0 A3 G1 B3 G2 C4 G3'
    """
    instrument, pitches = self.names.instrument(on), parse_pitches(notes)
    stand = self.standpoint(level, trust)
    model = Hands(self, stand).model(instrument)
    weights = path.path_weights(self.knowledge, instrument)
    search = path.PathSearch(model, weights)
    steps = path.plain_steps([pitch.midi for pitch in pitches], weights)
    parameters = {
        "on": instrument.label,
        "notes": " ".join(pitch.name for pitch in pitches),
        **stand.shown,
    }
    beyond = [
        f"{pitch} is on no string of the {instrument.label}."
        for pitch, step in zip(pitches, steps, strict=True)
        if search.table.of(step.demand) is None
    ]
    if beyond:
        return self.answer("fingering", parameters, [], beyond)
    strings = instrument.standard.strings
    fitted = self.evidence_for(path.weight_iri("shift"))
    answers = []
    for cost, way in search.alternatives(steps, _MOST):
        rows = [search.postures(step).rows[row] for step, row in zip(steps, way, strict=True)]
        placed = tuple(
            GripNote(
                pitch.name,
                note.string + 1,
                strings[note.string].name,
                path.finger_name(note.finger) if note.height else None,
                note.height,
                round(search.table.board.stop_mm[note.height], 1),
            )
            for pitch, row in zip(pitches, rows, strict=True)
            for note in row.taken
        )
        positions = tuple(
            search.table.board.position(row.place) if row.taken[0].height else 0.0 for row in rows
        )
        stood = [position for position in positions if position]
        total: dict[str, float] = {}
        for reasons in search.reasons(steps, way):
            for name, amount in reasons.items():
                total[name] = total.get(name, 0.0) + amount
        dear = sorted((name for name in total if total[name] > 0), key=lambda n: -total[n])[:3]
        answers.append(
            FingeringAnswer(
                placed,
                positions,
                sum(one != other for one, other in pairwise(stood)),
                round(cost, 2),
                tuple(self.knowledge.label(path.cost_iri(name)) for name in dear),
                fitted,
            )
        )
    return self.answer("fingering", parameters, answers, [_CAUTION])
