"""Graphs that a process keeps from one job to the next."""

from collections.abc import Sequence
from functools import lru_cache

from orchq.knowledge.data_files import shipped_extensions
from orchq.questions import Graph, load_graph
from orchq.settings import Settings


def kept_graph(settings: Settings | None, extensions: Sequence[str]) -> Graph:
    """The graph with these extensions and those of the settings.

    One with shipped extensions alone is kept; files of others may change between two jobs.
    Raises ``OrchqError`` as ``load_graph`` does.
    """
    own = settings.extensions if settings else ()
    every = (*map(str, own), *extensions)
    if all(each in shipped_extensions() for each in every):
        return _shipped(tuple(sorted(set(every))))
    return load_graph(every)


@lru_cache(maxsize=3)
def _shipped(extensions: tuple[str, ...]) -> Graph:
    return load_graph(extensions)
