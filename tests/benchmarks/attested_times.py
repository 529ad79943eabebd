"""Measure in open scores how quick changes, runs and leaps are: the figures called attested.

    python tests/benchmarks/attested_times.py FOLDER [FOLDER ...]

Reads every ``.mxl`` below the folders; the folder right below each is taken for the composer.
For each kind of place it prints how many there are, in how many scores and by how many
composers, and the figure that at least five places by at least three composers reach: that
is what the graph calls attested. Tempi are the files' own, and the slow end of the usual band
where only a word is printed.

The graph's figures come from OpenScore String Quartets (github.com/OpenScore/StringQuartets, commit
2c723a5b, 2026-08-10) and Hauptstimme (github.com/MarkGotham/Hauptstimme, commit 8f677853,
2026-07-15), 117 scores, CC0; the string works in the corpus of music21 were kept apart, to
count alarms on.
"""

import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from pyoxigraph import NamedNode, Quad

import orchq
from orchq.derive.derivation import derive
from orchq.errors import OrchqError
from orchq.terms import RDF_TYPE, local_name, oq, slug_of

SOURCE = "https://example.org/measure#measuring"
PLACES, COMPOSERS = 5, 3
FIGURES = {
    oq("secondsAtHand"): "seconds",
    oq("notesPerSecond"): "notes a second",
    oq("stopsPerSecond"): "stops a second",
    oq("travelSpeed"): "mm a second",
}
SAID_OF = (oq("changesInto"), oq("playsStroke"))


@dataclass(frozen=True, slots=True)
class Place:
    """One place: where it is, and how quick."""

    composer: str
    score: str
    figure: Decimal


def measured(quads: tuple[Quad, ...]) -> Iterator[tuple[str, str, Decimal]]:
    """Kind, node and figure of every derived fact that has one."""
    kinds = {q.subject: local_name(q.object.value) for q in quads if q.predicate == RDF_TYPE}
    said = {q.subject: slug_of(q.object.value) for q in quads if q.predicate in SAID_OF}
    for quad in quads:
        if quad.predicate in FIGURES:
            assert isinstance(quad.subject, NamedNode)
            kind = f"{kinds[quad.subject]} {said.get(quad.subject, '')}".strip()
            yield (
                f"{kind}, {FIGURES[quad.predicate]}",
                quad.subject.value,
                Decimal(quad.object.value),
            )


def attested(places: list[Place], *, least: bool) -> Decimal | None:
    """The figure that enough places by enough composers reach; the least is sought for times."""
    ranked = sorted(places, key=lambda place: place.figure, reverse=not least)
    composers: set[str] = set()
    for count, place in enumerate(ranked, start=1):
        composers.add(place.composer)
        if count >= PLACES and len(composers) >= COMPOSERS:
            return place.figure
    return None


def main() -> None:
    """Measure and print."""
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    knowledge = orchq.load([Path(__file__).with_name("attested-times.ttl")])
    found: dict[str, list[Place]] = defaultdict(list)
    for folder in map(Path, sys.argv[1:]):
        for file in sorted(folder.rglob("*.mxl")):
            composer = file.relative_to(folder).parts[0].partition(",")[0].casefold()
            try:
                score = orchq.read(file, knowledge)
            except OrchqError as error:
                print(f"left out: {error}", file=sys.stderr)
                continue
            names = {part.iri: slug_of(part.instrument or "?") for part in score.parts}
            for kind, node, figure in measured(derive(score, knowledge, trust=SOURCE).quads):
                part = next(name for iri, name in names.items() if node.startswith(iri + "."))
                for key in (kind, f"{kind} ({part})"):
                    found[key].append(Place(composer, file.stem, figure))
    print("places  scores  composers  attested  quickest  what")
    for kind, places in sorted(found.items()):
        least = "seconds" in kind
        figure = attested(places, least=least)
        quickest = (min if least else max)(place.figure for place in places)
        print(
            f"{len(places):>6}  {len({p.score for p in places}):>6}"
            f"  {len({p.composer for p in places}):>9}"
            f"  {'-' if figure is None else f'{figure:.2f}':>8}  {quickest:>8.2f}  {kind}"
        )


if __name__ == "__main__":
    main()
