"""Key signatures and the tempo they are read in."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator

from pyoxigraph import Literal, NamedNode, Quad

from orchq.knowledge import Knowledge
from orchq.score import Part, Score
from orchq.terms import RDF_TYPE, oq


def key_quads(score: Score, part: Part, knowledge: Knowledge) -> Iterator[Quad]:
    """Yield the event of a part at which a key signature takes effect, and its tempo.

    Tempo words are printed in whichever part stands on top, so those of all parts count.
    """
    words = sorted(
        (mark.onset, iri)
        for each in score.parts
        for mark in each.marks
        for iri in mark.directives
        if "TempoWord" in knowledge.directives[iri].kinds
    )
    events = [event for event in part.events if not event.cue]
    for mark in part.marks:
        if mark.signature is None:
            continue
        place = bisect_left(events, mark.onset, key=lambda event: event.onset)
        if place == len(events):
            continue
        event = NamedNode(events[place].iri)
        yield Quad(event, RDF_TYPE, oq("KeyedEvent"))
        yield Quad(event, oq("readsSignature"), Literal(mark.signature))
        yield Quad(event, oq("printsSignature"), Literal(_in_words(mark.signature)))
        before = bisect_right(words, events[place].onset, key=lambda word: word[0])
        if before:
            yield Quad(event, oq("underTempoWord"), NamedNode(words[before - 1][1]))


def _in_words(signature: int) -> str:
    """A key signature in words: the number of sharps or flats."""
    if signature == 0:
        return "no sharps or flats"
    kind = "sharp" if signature > 0 else "flat"
    count = abs(signature)
    return f"{count} {kind}" if count == 1 else f"{count} {kind}s"
