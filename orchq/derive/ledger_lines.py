"""Notes high above the staff in a row, where the players also read a higher clef."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.noteheads import is_harmonic
from orchq.derive.placed import Placed
from orchq.derive.staves import Staff
from orchq.notation import ledger_lines_above, middle_line
from orchq.score import Mark
from orchq.terms import oq


def ledger_quads(staff: Staff, clefs: Sequence[tuple[Mark, str]]) -> Iterator[Quad]:
    """Yield the first of each row of notes that stand on many ledger lines.

    ``clefs`` are the marks that print clefs, in time order, with their directives (IRIs). Under
    the highest clef that the players read, and in one that they do not, nothing is reported.
    """
    names = {iri: staff.knowledge.directives[iri].clef or "" for _, iri in clefs}
    read = staff.around.instrument.clefs
    highest = max(map(_height, read), default=0)
    lower = [
        (mark.onset, iri if names[iri] in read and _height(names[iri]) < highest else None)
        for mark, iri in clefs
    ]
    if not any(iri for _, iri in lower):
        return
    most = int(staff.knowledge.judged("ledger-lines"))
    fewest = int(staff.knowledge.judged("notes-on-ledger-lines"))
    octaves_above = staff.around.instrument.octaves_above
    place = 0
    clef: str | None = None
    high: list[tuple[Placed, str | None]] = []
    for item in staff.placed:
        while place < len(lower) and lower[place][0] <= item.event.onset:
            clef = lower[place][1]
            place += 1
        if not item.event.grace and not is_harmonic(item, staff.knowledge):
            over = clef is not None and _ledgers(item, names[clef], octaves_above) >= most
            high.append((item, clef if over else None))
    for under, row in groupby(high, key=lambda each: each[1]):
        items = [item for item, _ in row]
        attacked = [i for i in items if not all(note.tied_back for note in i.event.notes)]
        if under is not None and len(attacked) >= fewest:
            first = NamedNode(attacked[0].event.iri)
            yield Quad(first, oq("opensHighRow"), NamedNode(under))
            yield Quad(first, oq("notesInHighRow"), Literal(len(attacked)))


def _height(clef: str) -> int:
    """How high a clef lies, by its middle line."""
    return middle_line(clef) or 0


def _ledgers(item: Placed, clef: str, octaves_above: int) -> int:
    """How many ledger lines the highest note has above the staff."""
    lines = (
        ledger_lines_above(note.pitch, clef, octaves_above=octaves_above)
        for note in item.event.notes
    )
    return max(lines)
