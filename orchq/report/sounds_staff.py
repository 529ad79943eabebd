"""What is printed above what is heard, note by note on two staves."""

from collections.abc import Sequence

from orchq.knowledge import Instrument
from orchq.notation import Pitch
from orchq.questions.sounding import CIRCLE, DIAMOND, OVER_NOTE, SoundsAnswer
from orchq.report.engraved.few_notes import (
    StaffDef,
    clef,
    engraved,
    height,
    measures,
    note,
    score,
    words,
)

_BASS_BELOW = 57  # A3
_OTTAVA_ABOVE = ((103, 2), (91, 1))
"""Above G7 what is heard is drawn two octaves lower, above G6 one, with the sign for it."""
_WHOLE = {"dur": "1"}
_DIAMOND = {"head.shape": "diamond", "head.fill": "void"}


def sounds_svg(answers: Sequence[SoundsAnswer], instrument: Instrument) -> str:
    """Engrave each meaning of a notation in a measure of its own: printed, and heard."""
    printed = [tuple(map(Pitch.parse, each.notes)) for each in answers]
    read = [
        min(instrument.clefs or ("G2",), key=lambda name: abs(height(each[-1], name)))
        for each in printed
    ]
    heard = ["F4" if Pitch.parse(each.heard).midi < _BASS_BELOW else "G2" for each in answers]
    contents = [
        _measure(index, answer, notes, (read, heard))
        for index, (answer, notes) in enumerate(zip(answers, printed, strict=True))
    ]
    staves = StaffDef("printed", read[0]), StaffDef("heard", heard[0])
    return engraved(score(staves, measures(contents)))


def _measure(
    index: int, answer: SoundsAnswer, notes: Sequence[Pitch], clefs: Sequence[Sequence[str]]
) -> str:
    before = [
        clef(each[index]) if index and each[index] != each[index - 1] else "" for each in clefs
    ]
    heard = Pitch.parse(answer.heard)
    octaves = next((down for above, down in _OTTAVA_ABOVE if heard.midi > above), 0)
    name = f"h{index}"
    sounding = note(heard.octaves_up(-octaves), _WHOLE | {"xml:id": name})
    said = [words(f"{answer.string} string", 1)] if answer.string else []
    if answer.heard_cents:
        said.append(words(f"{answer.heard_cents:+d} cents", 2, "below"))
    if octaves:
        dis = 8 if octaves == 1 else 15
        said.append(
            f'<octave staff="2" startid="#{name}" endid="#{name}" dis="{dis}" dis.place="above"/>'
        )
    staves = (before[0] + _printed(answer, notes), before[1] + sounding)
    return "".join(
        f'<staff n="{number}"><layer n="1">{each}</layer></staff>'
        for number, each in enumerate(staves, start=1)
    ) + "".join(said)


def _printed(answer: SoundsAnswer, notes: Sequence[Pitch]) -> str:
    if answer.printed == OVER_NOTE:
        base, touched = notes
        return f'<chord dur="1">{note(base, {})}{note(touched, _DIAMOND)}</chord>'
    if answer.printed == DIAMOND:
        return note(notes[0], _WHOLE | _DIAMOND)
    circle = '<artic artic="harm"/>' if answer.printed == CIRCLE else ""
    return note(notes[0], _WHOLE, circle)
