"""Answers about stops and fingerings as pictures of the fingerboard."""

from collections.abc import Callable, Mapping, Sequence

from orchq.derive.hand import hand_model
from orchq.errors import OrchqError
from orchq.questions import Answer, Answers, Graph
from orchq.questions.grips import GripNote, StopAnswer
from orchq.questions.likely_fingering import FingeringAnswer
from orchq.report.answer_report import as_asked
from orchq.report.fingerboard import BoardNote, BoardPicture, fingerboard_svg


def board_svg(answers: Answers[Answer], graph: Graph) -> str:
    """Draw the answers to a question of ``ON_BOARD`` as an SVG document.

    Raises ``OrchqError`` where no hand takes the notes.
    """
    pictures = _pictures(answers)
    if not pictures:
        raise OrchqError("no hand takes these notes together: there is nothing to draw")
    instrument = graph.ask.names.instrument(str(answers.parameters["on"]))
    model = hand_model(graph.ask.knowledge, instrument)
    title = f"{answers.question}: {as_asked(answers)}"
    return fingerboard_svg(model, instrument.standard.strings, pictures, title, alone=True)


def lies_on_board(answers: Answers[Answer]) -> bool:
    """Whether there is something to draw on a fingerboard."""
    return answers.question in ON_BOARD and bool(_pictures(answers))


def _pictures(answers: Answers[Answer]) -> list[BoardPicture]:
    draw = ON_BOARD[answers.question]
    return [picture for answer in answers for picture in draw(answer)]


def _stop_pictures(answer: Answer) -> list[BoardPicture]:
    """One for each fingering, with the manners in which it serves."""
    assert isinstance(answer, StopAnswer)
    manners: dict[tuple[GripNote, ...], list[str]] = {}
    for name in ("struck", "broken", "plucked"):
        grip = getattr(answer, name)
        if grip.fingering:
            manners.setdefault(grip.fingering, []).append(f"{name}: {grip.grade}")
    return [BoardPicture(", ".join(words), _places(notes)) for notes, words in manners.items()]


def _line_pictures(answer: Answer) -> list[BoardPicture]:
    assert isinstance(answer, FingeringAnswer)
    shifts = "1 shift" if answer.shifts == 1 else f"{answer.shifts} shifts"
    return [
        BoardPicture(f"{shifts}, cost {answer.cost:g}", _places(answer.fingering), in_order=True)
    ]


def _places(notes: Sequence[GripNote]) -> list[BoardNote]:
    return [BoardNote(note.string, note.semitones, note.pitch, note.finger) for note in notes]


ON_BOARD: Mapping[str, Callable[[Answer], list[BoardPicture]]] = {
    "fingering": _line_pictures,
    "stops": _stop_pictures,
}
"""The questions whose answers are drawn on a fingerboard."""
