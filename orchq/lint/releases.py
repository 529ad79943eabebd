"""The terms of each version of the ontology: what was added, changed and removed between two.

A list stands in ``ontology/releases/`` for every version, one term a line: its short name, its
kinds, a digest of what is stated of it, and ``deprecated`` where it is. Lists of versions that
were published are kept as they are; that of the version in work is renewed.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from msgspec import Struct
from pyoxigraph import BlankNode, NamedNode, Quad

from orchq.errors import OrchqError
from orchq.knowledge import read_graph
from orchq.knowledge.data_files import data_directory, rule_files, shipped_extensions
from orchq.knowledge.deprecation import deprecated_terms
from orchq.knowledge.store import read_triples
from orchq.terms import DCTERMS, OQ, OWL, RDF_TYPE, SKOS

_NAMESPACES = {
    re.compile(re.escape(f"{OQ}rule/")): "rule:",
    re.compile(re.escape(OQ)): "oq:",
    re.compile(r"https://w3id\.org/orchq-extensions/([^#/]+)#"): r"\1:",
}
_ABOUT_THE_TEXT = (f"{OWL}deprecated", f"{DCTERMS}isReplacedBy", SKOS)
"""Predicates that do not change what a term means; of SKOS the definition does."""

_LINE = re.compile(r"(\S+:\S+) (\S+) ([0-9a-f]{8})( deprecated)?")


class Listed(Struct, frozen=True):
    """One term of a list; ``digest`` changes with what is stated of it."""

    kinds: str
    digest: str
    deprecated: bool


Terms = Mapping[str, Listed]
"""The terms of one version by their short names, such as ``oq:spiccato`` or ``rule:stop-hard``."""


class VersionDifference(Struct, frozen=True):
    """The difference between two versions, as sorted short names.

    ``gone`` was removed as the policy requires, after being deprecated; ``lost`` was not.
    """

    came: tuple[str, ...]
    changed: tuple[str, ...]
    deprecated: tuple[str, ...]
    gone: tuple[str, ...]
    lost: tuple[str, ...]


def compare(old: Terms, new: Terms) -> VersionDifference:
    """Return what was added, changed and removed from one version to a later one."""
    went = sorted(set(old) - set(new))
    both = sorted(set(old) & set(new))
    return VersionDifference(
        came=tuple(sorted(set(new) - set(old))),
        changed=tuple(n for n in both if _meaning(old[n]) != _meaning(new[n])),
        deprecated=tuple(n for n in both if new[n].deprecated and not old[n].deprecated),
        gone=tuple(name for name in went if old[name].deprecated),
        lost=tuple(name for name in went if not old[name].deprecated),
    )


def _meaning(term: Listed) -> tuple[str, str]:
    return term.kinds, term.digest


def present_terms() -> Terms:
    """The terms of the core, the rules and the shipped extensions as they are now."""
    files = (*rule_files(), *shipped_extensions().values())
    return terms_of([*read_graph(), *(quad for file in files for quad in read_triples(file))])


def terms_of(quads: Sequence[Quad]) -> Terms:
    """The terms that triples describe; heads of modules and shapes of rules are none."""
    rows: dict[str, list[Quad]] = defaultdict(list)
    for quad in quads:
        if isinstance(quad.subject, NamedNode):
            rows[quad.subject.value].append(quad)
    deprecated = deprecated_terms(quads)
    terms = {}
    for iri, row in rows.items():
        kinds = sorted(
            re.split(r"[/#:]", quad.object.value)[-1]
            for quad in row
            if quad.predicate == RDF_TYPE and isinstance(quad.object, NamedNode)
        )
        name = short_name(iri)
        if name and kinds and kinds != ["Ontology"] and ("rule:" not in name or kinds == ["Rule"]):
            terms[name] = Listed(",".join(kinds), _digest(row), iri in deprecated)
    return dict(sorted(terms.items()))


def short_name(iri: str) -> str:
    """The short name of a term of the project's namespaces; nothing for any other IRI.

    >>> short_name("https://w3id.org/orchq-extensions/mandolin#tuning")
    'mandolin:tuning'
    """
    for namespace, prefix in _NAMESPACES.items():
        if match := namespace.match(iri):
            local = iri[match.end() :]
            return match.expand(prefix) + local if local and "/" not in local else ""
    return ""


def _digest(row: Iterable[Quad]) -> str:
    statements = (
        f"{quad.predicate} {quad.object}"
        for quad in row
        if not isinstance(quad.object, BlankNode)
        and (
            quad.predicate.value == f"{SKOS}definition"
            or not quad.predicate.value.startswith(_ABOUT_THE_TEXT)
        )
    )
    return sha256("\n".join(sorted(statements)).encode()).hexdigest()[:8]


def written(terms: Terms) -> str:
    """The list of a version as a file holds it."""
    lines = (
        f"{name} {each.kinds} {each.digest}{' deprecated' if each.deprecated else ''}\n"
        for name, each in terms.items()
    )
    return "".join(lines)


def read_terms(path: Path) -> Terms:
    """Read the list of a version.

    Raises ``OrchqError`` naming file and line where a line is no term.
    """
    terms = {}
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        match = _LINE.fullmatch(line)
        if match is None:
            raise OrchqError(f"{path}:{number}: is no term of a release: name, kinds, digest")
        terms[match[1]] = Listed(match[2], match[3], match[4] is not None)
    return terms


@lru_cache(maxsize=1)
def releases() -> Mapping[str, Terms]:
    """The terms of every version, the first version first; the last may be still in work."""
    paths = (data_directory("ontology") / "releases").glob("*.txt")
    return {path.stem: read_terms(path) for path in sorted(paths, key=_order)}


def _order(path: Path) -> tuple[int, ...]:
    return tuple(map(int, re.findall(r"\d+", path.stem)))
