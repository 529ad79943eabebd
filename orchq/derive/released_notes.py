"""Notes of one voice that the hand has to leave when another voice moves."""

from collections.abc import Callable, Collection, Iterator, Sequence
from itertools import combinations

from pyoxigraph import Literal, NamedNode, Quad

from orchq.derive.hand import Grade, Playing, Stop, StopSolver
from orchq.derive.sonorities import Sonority
from orchq.score import Note
from orchq.terms import RDF_TYPE, oq


def released(
    sonority: Sonority,
    solver: StopSolver,
    playing_of: Callable[[Stop], Playing],
    left: Collection[str],
) -> tuple[Note, ...]:
    """Return the held notes that must be left when these begin: as few as possible, low ones first.

    In several voices of one player lengths are nominal: a note that the hand cannot hold is struck
    and left. ``left`` are notes (IRIs) that it has left already. Where the notes that begin cannot
    be taken even by themselves, none is left.
    """

    def can_be_taken(kept: Sequence[Note]) -> bool:
        midis = [note.pitch.midi for note in (*sonority.notes, *kept)]
        return playing_of(solver.solve(midis)).grade is not Grade.IMPOSSIBLE

    held = [note for note in sonority.held if note.iri not in left]
    if not held or not can_be_taken(()):
        return ()
    leavings = (gone for count in range(len(held)) for gone in combinations(held, count))
    return next(
        (gone for gone in leavings if can_be_taken([note for note in held if note not in gone])),
        tuple(held),
    )


def release_quads(sonority: Sonority, gone: Sequence[Note]) -> Iterator[Quad]:
    """Yield the triples of notes that are left when a sonority begins."""
    node = NamedNode(f"{sonority.event.iri}.release")
    yield Quad(node, RDF_TYPE, oq("Release"))
    yield Quad(node, oq("atEvent"), NamedNode(sonority.event.iri))
    yield Quad(node, oq("leavesNotes"), Literal(_names(gone)))
    yield Quad(node, oq("leavesThemFor"), Literal(_names(sonority.notes)))


def _names(notes: Sequence[Note]) -> str:
    return "-".join(note.pitch.name for note in notes)
