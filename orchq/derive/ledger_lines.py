"""Notes high above the staff in a row, where the players also read a higher clef."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.noteheads import is_harmonic
from orchq.derive.placed import Placed
from orchq.derive.staves import Staff
from orchq.score import Mark
from orchq.terms import oq

_LETTERS = "CDEFGAB"
_MIDDLE = {"G": "G4", "C": "C4", "F": "F3"}
"""The note on the line that a clef names."""
_TOP_LINE = 5


def ledger_quads(staff: Staff, clefs: Sequence[tuple[Mark, str]]) -> Iterator[Quad]:
    """Yield the first of each row of notes that stand on many ledger lines.

    ``clefs`` are the marks that print clefs, in time order, with their directives (IRIs). Under
    the highest clef that the players read, and in one that they do not, nothing is reported.
    """
    names = {iri: staff.knowledge.directives[iri].clef or "" for _, iri in clefs}
    read = staff.around.instrument.clefs
    highest = max(map(_bottom_line, read), default=0)
    lower = [
        (mark.onset, iri if names[iri] in read and _bottom_line(names[iri]) < highest else None)
        for mark, iri in clefs
    ]
    if not any(iri for _, iri in lower):
        return
    most = int(staff.knowledge.judged("ledger-lines"))
    fewest = int(staff.knowledge.judged("notes-on-ledger-lines"))
    raised = 7 * staff.around.instrument.octaves_above
    place = 0
    clef: str | None = None
    high: list[tuple[Placed, str | None]] = []
    for item in staff.placed:
        while place < len(lower) and lower[place][0] <= item.event.onset:
            clef = lower[place][1]
            place += 1
        if not item.event.grace and not is_harmonic(item, staff.knowledge):
            over = clef is not None and _ledgers(item, names[clef], raised) >= most
            high.append((item, clef if over else None))
    for under, row in groupby(high, key=lambda each: each[1]):
        items = [item for item, _ in row]
        attacked = [i for i in items if not all(note.tied_back for note in i.event.notes)]
        if under is not None and len(attacked) >= fewest:
            first = NamedNode(attacked[0].event.iri)
            yield Quad(first, oq("opensHighRow"), NamedNode(under))
            yield Quad(first, oq("notesInHighRow"), Literal(len(attacked)))


def _bottom_line(clef: str) -> int:
    """The lowest line of a staff as a step: seven to the octave, C0 being 0."""
    return _step(_MIDDLE[clef[0]]) - 2 * (int(clef[1]) - 1) if clef[0] in _MIDDLE else 0


def _ledgers(item: Placed, clef: str, raised: int) -> int:
    """How many ledger lines the highest note has above the staff."""
    top = max(_step(note.pitch.name) for note in item.event.notes) - raised
    return (top - _bottom_line(clef) - 2 * (_TOP_LINE - 1)) // 2


def _step(name: str) -> int:
    return _LETTERS.index(name[0]) + 7 * int(name.lstrip("ABCDEFG").lstrip("#b"))
