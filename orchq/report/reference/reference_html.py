"""The reference pages put together: one look, a page each for words, rules, limits, vocabulary."""

from collections.abc import Iterable, Mapping
from itertools import pairwise
from pathlib import Path
from typing import Any

from pyoxigraph import NamedNode

from orchq.errors import OrchqError
from orchq.knowledge.data_files import core_files
from orchq.knowledge.extensions import fact_files
from orchq.knowledge.store import read_triples
from orchq.lint.releases import VersionDifference, compare, releases
from orchq.questions import load_graph
from orchq.questions.naming import LANGUAGES
from orchq.report.reference.glossary import glossary
from orchq.report.reference.limits import statements
from orchq.report.reference.rule_entries import rule_entries
from orchq.report.reference.term_links import TermLinks
from orchq.report.reference.vocabulary import ONTOLOGY, Vocabulary
from orchq.report.web import document
from orchq.terms import OQ, RDF_TYPE

_HERE = Path(__file__).parent
_TITLES = {
    "index": "Reference",
    "vocabulary": "Vocabulary",
    "rules": "Rules",
    "glossary": "Glossary",
    "limits": "Limits by source",
}


def reference_pages(extensions: Iterable[Path | str] = ()) -> Mapping[str, str]:
    """Return the pages as HTML documents by their file names.

    Every extension gets a page of its own, called like its file. The documents link to each other
    and fetch nothing. Raises ``OrchqError`` when Jinja2 is not installed, and as ``load_graph``
    does for extensions, and when an extension is called like another page.
    """
    paths = tuple(extensions)
    graph = load_graph(paths)
    files = _by_page(file for each in paths for file in fact_files(each))
    names = TermLinks(graph, _own_terms(files))
    vocabulary = Vocabulary(graph, names)
    core = [vocabulary.module(path, "vocabulary") for path in core_files()]
    modules = sorted(
        (module for module in core if module.entries), key=lambda module: not module.defines
    )
    added = {page: vocabulary.module(path, page) for page, path in files.items()}
    titles = _TITLES | {page: module.label for page, module in added.items()}
    content: dict[str, dict[str, Any]] = {
        "index": {"history": _history()},
        "vocabulary": {"modules": modules},
        "rules": {"rules": rule_entries(graph, names)},
        "glossary": {"chapters": glossary(graph, names), "languages": LANGUAGES},
        "limits": {"statings": statements(graph, names)},
    }
    content |= {page: {"modules": [module]} for page, module in added.items()}
    return {
        f"{page}.html": document(
            _HERE / f"{page if page in _TITLES else 'vocabulary'}.html.jinja",
            look="reference",
            page=page,
            title=title,
            titles=titles,
            **content[page],
        )
        for page, title in titles.items()
    }


def _by_page(paths: Iterable[Path]) -> dict[str, Path]:
    """Extension files by the names of their pages."""
    files: dict[str, Path] = {}
    for path in paths:
        if path.stem in files or path.stem in _TITLES:
            raise OrchqError(f"{path}: there is a page called {path.stem} already")
        files[path.stem] = path
    return files


def _own_terms(files: Mapping[str, Path]) -> dict[str, str]:
    """The IRIs that extensions describe, each with the name of its page."""
    return {
        quad.subject.value: page
        for page, path in files.items()
        for quad in read_triples(path)
        if quad.predicate == RDF_TYPE
        and quad.object != ONTOLOGY
        and isinstance(quad.subject, NamedNode)
        and not quad.subject.value.startswith(OQ)
    }


def _history() -> list[tuple[str, int, VersionDifference | None]]:
    """Every version with the number of its terms and what it changed, the last first."""
    lists = list(releases().items())
    first = [(version, len(terms), None) for version, terms in lists[:1]]
    later = [
        (version, len(terms), compare(before, terms))
        for (_, before), (version, terms) in pairwise(lists)
    ]
    return [*reversed(later), *first]
