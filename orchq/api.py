"""The public verbs about scores: read, check, export; and the catalogue of rules."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from pathlib import Path
from time import perf_counter
from typing import TYPE_CHECKING

from pyoxigraph import NamedNode, Quad, RdfFormat, Store, serialize

from orchq.derive import derive
from orchq.errors import OrchqError, ReadError
from orchq.excerpt import (
    check_terms,
    read_excerpt_quads,
    score_from_quads,
    score_quads,
    seated,
    seated_quads,
)
from orchq.knowledge import Knowledge, load
from orchq.knowledge.deprecation import deprecation, renewed
from orchq.knowledge.store import TRIPLE_SUFFIXES
from orchq.lazily import lazily
from orchq.readers import read_score
from orchq.rules.catalogue import RuleInfo
from orchq.rules.checking import check_score, rules_of, structure_files
from orchq.rules.finding import FileReport
from orchq.rules.structure import structure_faults
from orchq.score import Score
from orchq.terms import OQ, PREFIXES, RDF_TYPE, oq

if TYPE_CHECKING:  # most scores of masters need no advice
    from orchq import advice as remedying
else:
    (remedying,) = lazily("orchq", "advice")

_FORMATS = {
    "turtle": RdfFormat.TURTLE,
    "nt": RdfFormat.N_TRIPLES,
    "jsonld": RdfFormat.JSON_LD,
}


def read(path: Path | str, knowledge: Knowledge | None = None) -> Score:
    """Read a score in MusicXML (``.musicxml``, ``.xml``, ``.mxl``) or excerpt triples.

    Raises ``ReadError`` when the file cannot be read and ``UnknownTermError`` for a term of
    our vocabulary that does not exist.
    """
    return _read(Path(path), knowledge or load())[0]


def check(
    path: Path | str,
    *,
    knowledge: Knowledge | None = None,
    level: str | None = None,
    trust: str | None = None,
    rules: Collection[str] | None = None,
    engine: str = "fast",
    players: Mapping[str, int] | None = None,
    advice: bool = True,
) -> FileReport:
    """Check a score or excerpt and return its findings.

    ``level`` (``student``, ``orchestral``, ``soloist``) chooses the player; without it sections
    are orchestral and single players soloists. ``trust`` follows one source of the graph where
    it speaks. ``rules`` are slugs of the rules to run. ``engine`` is ``fast`` or ``pyshacl``.
    ``players`` gives numbers of players by part, 1 for a solo part, whatever the score says.
    With ``advice`` violations and warnings come with what can be written instead, tried out.
    """
    knowledge = knowledge or load()
    started = perf_counter()
    score, asserted = _read(Path(path), knowledge)
    if players:
        score = seated(score, players)
        asserted = None if asserted is None else list(seated_quads(asserted, score))
    level = _named("level", level, knowledge.levels)
    trust = _named("source", trust, knowledge.sources)
    read_seconds = perf_counter() - started
    derivation = derive(score, knowledge, level=level, trust=trust)
    report = check_score(
        score,
        knowledge,
        file=str(path),
        asserted=asserted,
        level=level,
        trust=trust,
        rules=rules,
        engine=engine,
        read_seconds=read_seconds,
        derivation=derivation,
    )
    if not advice or all(finding.severity == "info" for finding in report.findings):
        return report
    bench = remedying.Workbench(
        score, knowledge, level=level, trust=trust, rules=rules, staves=derivation.staves
    )
    return remedying.advise(report, bench)


def export(
    path: Path | str,
    knowledge: Knowledge | None = None,
    format: str = "turtle",  # noqa: A002 - the word users know
) -> str:
    """Return a score as triples of the excerpt vocabulary.

    ``format`` is ``turtle``, ``nt`` or ``jsonld``.
    """
    if format not in _FORMATS:
        raise OrchqError(f"there is no format {format!r}; there are {', '.join(_FORMATS)}")
    score, asserted = _read(Path(path), knowledge or load())
    quads = score_quads(score) if asserted is None else asserted
    prefixes = {name: PREFIXES[name] for name in ("oq", "rdfs", "xsd")}
    base, mark, _ = score.parts[0].iri.partition("#") if score.parts else ("", "", "")
    if mark:
        prefixes["score"] = base + mark
    data = serialize((quad.triple for quad in quads), format=_FORMATS[format], prefixes=prefixes)
    assert data is not None
    return data.decode()


def catalogue(knowledge: Knowledge | None = None) -> tuple[RuleInfo, ...]:
    """The rules, each with what it says of itself."""
    return rules_of(knowledge or load())[0]


def demo_path() -> Path:
    """The packaged demo: a short piece for string orchestra with planted mistakes."""
    return Path(__file__).parent / "demo" / "lantern-street.musicxml"


def _read(path: Path, knowledge: Knowledge) -> tuple[Score, Sequence[Quad] | None]:
    """Read a file; its triples come along where it is made of them."""
    if path.suffix.lower() in TRIPLE_SUFFIXES:
        return _read_triples(path, knowledge)
    return read_score(path, knowledge), None


def _read_triples(path: Path, knowledge: Knowledge) -> tuple[Score, Sequence[Quad]]:
    quads, old = renewed(read_excerpt_quads(path), knowledge.deprecated)
    rules = {rule.iri for rule in catalogue(knowledge)}
    check_terms(quads, knowledge.declared | rules, path)
    store = Store()
    store.bulk_extend((*knowledge.quads, *quads))
    store.extend(Quad(NamedNode(rule), RDF_TYPE, oq("Rule")) for rule in rules)
    faults = sorted(
        {(fault.node, fault.message) for fault in structure_faults(store, structure_files())}
    )
    if faults:
        node, message = faults[0]
        more = f" (and {len(faults) - 1} more faults)" if len(faults) > 1 else ""
        raise ReadError(f"{path}: {node}: {message}{more}")
    score = score_from_quads(quads, path)
    remarks = tuple(deprecation(iri, knowledge.deprecated) for iri in old)
    return (replace(score, remarks=remarks) if remarks else score), quads


def _named(kind: str, name: str | None, known: Iterable[str]) -> str | None:
    """Resolve a slug or IRI of a level or source."""
    if name is None:
        return None
    iri = name if name.startswith(OQ) else OQ + name
    if iri in known:
        return iri
    near = get_close_matches(name, [item.removeprefix(OQ) for item in known], n=2)
    hint = f"; did you mean {' or '.join(near)}?" if near else ""
    raise OrchqError(f"there is no {kind} called {name!r}{hint}")
