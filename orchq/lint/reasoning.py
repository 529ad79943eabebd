"""Proves an ontology consistent and its classes satisfiable, or finds the axioms that forbid it."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

from msgspec import Struct
from pyoxigraph import NamedNode, Quad

from orchq.errors import OrchqError
from orchq.lint.axioms import Axiom, parted
from orchq.lint.reasoner import classified, first_contradiction, java
from orchq.terms import OQ, OWL, RDF_TYPE

_TRIED_AT_ONCE = 16
_MEMBER = NamedNode("urn:x-orchq:member")

Search = Callable[[Iterable[Sequence[Axiom]]], int | None]
"""Returns which of several lists of axioms is the first that contradicts itself."""


class Proof(Struct, frozen=True):
    """What the reasoner found.

    ``contradiction`` holds axioms that cannot be true together and of which none can be left
    out, those of the extension first; it is empty when the ontology is consistent.
    ``unsatisfiable`` are classes that can have no member; ``inferred`` maps each instrument's IRI
    to the kinds of instrument that it belongs to.
    """

    contradiction: tuple[Axiom, ...]
    unsatisfiable: tuple[str, ...]
    inferred: dict[str, frozenset[str]]

    @property
    def consistent(self) -> bool:
        """Whether all statements can be true together."""
        return not self.contradiction


def prove(core: Sequence[Quad], extension: Sequence[Quad] = ()) -> Proof:
    """Ask the reasoner about the core with an extension.

    Raises ``OrchqError`` when there is no Java or the reasoner itself fails.
    """
    declarations, axioms = parted([*core, *extension])
    world = classified([*declarations, *_quads(axioms)], java())
    if world is None:
        return Proof(_explained(core, extension), (), {})
    impossible = sorted(kind.iri for kind in world.inconsistent_classes() if kind.name != "Nothing")
    return Proof((), tuple(impossible), _inferred(world))


def why_impossible(core: Sequence[Quad], extension: Sequence[Quad], iri: str) -> tuple[Axiom, ...]:
    """The axioms that leave a class without a possible member, none of which can be left out.

    Raises like ``prove``.
    """
    return _explained(core, extension, [Quad(_MEMBER, RDF_TYPE, NamedNode(iri))])


def _inferred(world: Any) -> dict[str, frozenset[str]]:
    kinds = world[f"{OQ}Instrument"]
    found: dict[str, set[str]] = {}
    for kind in kinds.subclasses():
        for instrument in kind.instances():
            found.setdefault(instrument.iri, set()).add(kind.iri)
    return {iri: frozenset(kinds) for iri, kinds in found.items()}


# --------------------------------------------------------------------- what contradicts


def _explained(
    core: Sequence[Quad], extension: Sequence[Quad], given: Sequence[Quad] = ()
) -> tuple[Axiom, ...]:
    program = java()
    declarations, _ = parted([*core, *extension])
    declared: dict[object, Quad] = {quad.subject: quad for quad in declarations}
    _, added = parted(extension)
    about = {node.value for quad in given for node in (quad.object,) if isinstance(node, NamedNode)}

    def whole(trial: Iterable[Axiom]) -> list[Quad]:
        """Axioms with the declarations of what they mention, and what is given."""
        quads = [*given, *(quad for axiom in trial for quad in axiom.quads)]
        nodes = dict.fromkeys(n for q in quads for n in (q.subject, q.predicate, q.object))
        return [*quads, *(declared[node] for node in nodes if node in declared)]

    def search(trials: Iterable[Sequence[Axiom]]) -> int | None:
        return first_contradiction(map(whole, trials), program)

    for known in (_speaking_of(core, [*extension, *given]), core):
        _, axioms = parted(known)
        found = smallest(axioms, added, search, about)
        if found is not None:
            return tuple(sorted(found, key=lambda axiom: axiom not in added))
    raise OrchqError("the reasoner contradicts itself: it found a fault and no longer finds it")


def smallest(
    core: Sequence[Axiom], added: Sequence[Axiom], search: Search, about: Iterable[str] = ()
) -> list[Axiom] | None:
    """Axioms that contradict each other and of which none can be left out.

    The shortest beginning of a list that contradicts itself ends with an axiom that is needed.
    What stands before it is searched again, what mentions the same things or ``about`` first,
    until what was found contradicts itself. ``None`` when not even all axioms do.
    """
    left, kept = [*core, *added], list[Axiom]()
    lengths = sorted({len(core), *_between(len(core), len(left)), len(left)})
    while (end := _shortest(left, kept, lengths, search)) != 0:
        if end is None:
            return None
        kept.append(left[end - 1])
        left = _nearest_first(left[: end - 1], {*about, *(n for each in kept for n in each.names)})
        lengths = sorted({0, *(2**power for power in range(len(left).bit_length())), len(left)})
    return kept


def _shortest(
    left: Sequence[Axiom], kept: Sequence[Axiom], lengths: Sequence[int], search: Search
) -> int | None:
    """The length of the shortest beginning that contradicts itself with what is kept."""
    low, high = -1, len(left) + 1
    while lengths:
        found = search([*kept, *left[:length]] for length in lengths)
        if found is None:
            low = lengths[-1]
        else:
            low, high = lengths[found - 1] if found else low, lengths[found]
        lengths = _between(low, high)
    return high if high <= len(left) else None


def _between(low: int, high: int) -> range:
    """Some numbers between two others, evenly spaced; all of them if there are few."""
    step = -(-(high - low) // (_TRIED_AT_ONCE + 1)) or 1
    return range(low + step, high, step)


def _nearest_first(axioms: Sequence[Axiom], names: set[str]) -> list[Axiom]:
    """Axioms that mention these names, then those that share a name with them, and so on."""
    ordered, left = list[Axiom](), list(axioms)
    while near := [axiom for axiom in left if not names.isdisjoint(axiom.names)]:
        ordered += near
        left = [axiom for axiom in left if names.isdisjoint(axiom.names)]
        names = names.union(*(axiom.names for axiom in near))
    return ordered + left


def _speaking_of(core: Sequence[Quad], part: Sequence[Quad]) -> list[Quad]:
    """The core's classes and properties, and the individuals that a part mentions."""
    spoken = {node for quad in part for node in (quad.subject, quad.object)}
    schema = {
        quad.subject
        for quad in core
        if quad.predicate == RDF_TYPE and getattr(quad.object, "value", "").startswith(OWL)
    }
    return [
        quad
        for quad in core
        if quad.subject in schema
        or not isinstance(quad.subject, NamedNode)
        or quad.subject in spoken
    ]


def _quads(axioms: Iterable[Axiom]) -> Iterator[Quad]:
    return (quad for axiom in axioms for quad in axiom.quads)
