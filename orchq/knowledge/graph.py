"""The loaded knowledge graph, as the layers above use it."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from functools import cached_property, lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Self

from msgspec.structs import replace
from pyoxigraph import NamedNode, Quad

from orchq.errors import OrchqError, UnknownTermError
from orchq.knowledge.computed import computed_quads, offered_techniques
from orchq.knowledge.data_files import core_files
from orchq.knowledge.deprecation import deprecated_terms, renewed
from orchq.knowledge.extensions import Extension, read_extension
from orchq.knowledge.facts import Facts
from orchq.knowledge.force import heard, limits_in_force
from orchq.knowledge.lexicon import InstrumentMatch, Lexicon, Reading
from orchq.knowledge.loading import (
    load_directives,
    load_doubt_grounds,
    load_dynamics,
    load_instruments,
    load_judged,
    load_ladder,
    load_limits,
    load_remedies,
    load_sources,
    load_techniques,
    load_yardsticks,
)
from orchq.knowledge.model import (
    Directive,
    Dynamic,
    Instrument,
    Limit,
    Remedy,
    Source,
    Technique,
)
from orchq.knowledge.overrides import abbreviated, overrides
from orchq.knowledge.store import read_triples
from orchq.knowledge.thesaurus import Thesaurus, load_thesaurus
from orchq.knowledge.weighing import Weighing, weigh
from orchq.terms import OQ, undeclared


class Knowledge:
    """Instruments, techniques, dynamics, terms, limits and sources of the graph.

    ``quads`` are all triples, asserted and computed, for those who query them; ``declared``
    are the IRIs of our vocabulary that some module declares, ``deprecated`` those that should no
    longer be written, with their replacements. The mappings are keyed by IRI. ``extensions`` hold
    the rules and questions of users beside it.
    """

    def __init__(self, quads: Sequence[Quad], extensions: Iterable[Extension] = ()) -> None:
        self.extensions = tuple(extensions)
        facts = Facts(quads)
        self.instruments: Mapping[str, Instrument] = MappingProxyType(load_instruments(facts))
        self.directives: Mapping[str, Directive] = MappingProxyType(load_directives(facts))
        self.techniques: Mapping[str, Technique] = MappingProxyType(load_techniques(facts))
        self.dynamics: Mapping[str, Dynamic] = MappingProxyType(load_dynamics(facts))
        self.remedies: Mapping[str, Remedy] = MappingProxyType(load_remedies(facts))
        self.doubt_grounds = load_doubt_grounds(facts)
        self.sources: Mapping[str, Source] = MappingProxyType(load_sources(facts))
        self.levels: Mapping[str, str] = MappingProxyType(
            {iri: facts.label(iri) for iri in facts.members("Level")}
        )
        self._judged = load_judged(facts)
        self.limits = load_limits(facts, dict(self.sources))
        self.yardsticks = load_yardsticks(facts)
        self.ladder = load_ladder(facts)
        self.quads: tuple[Quad, ...] = (
            *quads,
            *computed_quads(self.instruments.values(), self.techniques.values(), self.limits),
            *offered_techniques(facts),
        )
        self.declared = facts.declared()
        self.deprecated = deprecated_terms(quads)
        self._facts = facts
        self._limits_of_kind: dict[str, list[Limit]] = defaultdict(list)
        for limit in self.limits:
            self._limits_of_kind[limit.kind].append(limit)
        self._weighings: dict[tuple[str | None, ...], tuple[Weighing, ...]] = {}
        self._by_element = _index(self.directives, lambda directive: directive.elements)
        self._by_clef = {d.clef: d.iri for d in self.directives.values() if d.clef}
        self._by_glyph = _index(self.directives, lambda directive: directive.glyphs)

    @classmethod
    def of(cls, extensions: Iterable[Path | str] = (), *, allow_override: bool = False) -> Self:
        """Load the core with extensions beside it.

        An extension is a folder, a file, or the bare name of one that is shipped; deprecated
        terms of the core are read as their replacements. One that changes the core is accepted
        only with ``allow_override``. Raises ``OrchqError`` when the project's files are missing, no
        extension has that name, or one changes the core; ``UnknownTermError`` for a term of the
        core that does not exist; and ``ReadError`` when an extension cannot be read.
        """
        found = tuple(map(read_extension, extensions))
        if not found:
            return cls(_core())
        core = _core()
        found = tuple(_weighed(core, extension, allowed=allow_override) for extension in found)
        knowledge = cls(_joined(core, found), found)
        for extension in found:
            for iri in _own_namespace(extension.facts):
                if iri not in knowledge.declared:
                    message = undeclared(iri, knowledge.declared)
                    raise UnknownTermError(f"{extension.name}: {message}")
        return knowledge

    # What many questions never look at is loaded when it is.

    @cached_property
    def thesaurus(self) -> Thesaurus:
        """The words for how strings sound, and how near they are to each other."""
        return load_thesaurus(self._facts)

    @cached_property
    def _lexicon(self) -> Lexicon:
        return Lexicon(self._facts, self.directives, self.instruments)

    def label(self, iri: str) -> str:
        """The English label of any term of the graph."""
        return self._facts.label(iri)

    def judged(self, name: str) -> Decimal:
        """The judged number of this project with a name, such as ``narrowest-leap``.

        Raises ``OrchqError`` when the graph lacks it.
        """
        try:
            return self._judged[f"{OQ}judged-{name}"]
        except KeyError:
            raise OrchqError(f"the graph has no judged number {name!r}") from None

    def in_force(
        self,
        kind: str,
        instrument: Instrument,
        *,
        technique: str | None = None,
        level: str | None = None,
        trust: str | None = None,
    ) -> tuple[Limit, ...]:
        """The limits of a kind (local name of its class) to calculate with.

        See ``limits_in_force``.
        """
        return limits_in_force(
            self._limits_of_kind[kind],
            instrument,
            technique=technique,
            level=level,
            trust=trust,
        )

    def heard(
        self,
        kind: str,
        instrument: Instrument,
        *,
        technique: str | None = None,
        trust: str | None = None,
    ) -> tuple[Limit, ...]:
        """All limits of a kind (local name of its class) that apply, at any level."""
        groups = heard(self._limits_of_kind[kind], instrument, technique=technique, trust=trust)
        return tuple(limit for group in groups for limit in group)

    def weighings(
        self,
        kind: str,
        instrument: Instrument,
        *,
        technique: str | None = None,
        level: str | None = None,
        trust: str | None = None,
    ) -> tuple[Weighing, ...]:
        """Weigh the limits of a kind (local name of its class) together, on each yardstick.

        ``level`` is the IRI of the level of player, ``trust`` that of the source or basis to
        follow. There is one weighing for each figure and each thing the limits are about.
        """
        key = kind, instrument.iri, technique, level, trust
        if key not in self._weighings:
            groups = heard(self._limits_of_kind[kind], instrument, technique=technique, trust=trust)
            weighed = (
                Weighing(
                    yardstick,
                    group[0].topics,
                    weigh(group, yardstick, level, self.ladder, self.dynamics),
                )
                for group in groups
                for yardstick in self.yardsticks
                if yardstick.kind == kind
            )
            self._weighings[key] = tuple(each for each in weighed if each.zones)
        return self._weighings[key]

    def recognise(self, text: str) -> Reading:
        """Read printed words beside the staff."""
        return self._lexicon.recognise(text)

    def printed_words(self, directive: str, number: int | None = None) -> str:
        """How a directive (an IRI) is printed beside the staff, such as ``div. a 3``."""
        return self._lexicon.printed(directive, number)

    @property
    def printed_forms(self) -> Mapping[tuple[str, ...], str]:
        """The directive (an IRI) of every form of a term, split into words as they are read."""
        return self._lexicon.forms

    def instrument_named(
        self, name: str, abbreviation: str | None = None, sound: str | None = None
    ) -> InstrumentMatch:
        """Find the instrument of a part by its printed name, sound or abbreviation."""
        return self._lexicon.instrument_named(name, abbreviation, sound)

    def directive_for_element(self, element: str) -> str | None:
        """The directive that a MusicXML element prints."""
        return self._by_element.get(element)

    def directive_for_clef(self, clef: str) -> str | None:
        """The directive of a clef, given as sign and line (``G2``)."""
        return self._by_clef.get(clef)

    def directive_for_glyph(self, glyph: str) -> str | None:
        """The directive that a SMuFL glyph prints."""
        return self._by_glyph.get(glyph)


def _index(
    directives: Mapping[str, Directive], names: Callable[[Directive], tuple[str, ...]]
) -> dict[str, str]:
    index: dict[str, str] = {}
    for directive in directives.values():
        for name in names(directive):
            index.setdefault(name, directive.iri)
    return index


def load(extensions: Iterable[Path | str] = (), *, allow_override: bool = False) -> Knowledge:
    """Load the graph with extensions beside it; see ``Knowledge.of``.

    The core alone is loaded once in a process, as long as no file of it changes.
    """
    named = tuple(extensions)
    return Knowledge.of(named, allow_override=allow_override) if named else _alone(_state())


def read_graph(extensions: Iterable[Path | str] = ()) -> list[Quad]:
    """Read the asserted triples of the graph and of extensions; see ``Knowledge.of``."""
    return _joined(_core(), map(read_extension, extensions))


_State = tuple[tuple[Path, int, int], ...]
"""The files of the core, with the time of their last change and their size."""


def _state() -> _State:
    found = ((file, file.stat()) for file in core_files())
    return tuple((file, stat.st_mtime_ns, stat.st_size) for file, stat in found)


@lru_cache(maxsize=1)
def _alone(_: _State) -> Knowledge:
    return Knowledge.of()


@lru_cache(maxsize=1)
def _read(state: _State) -> tuple[Quad, ...]:
    return tuple(quad for file, *_ in state for quad in read_triples(file))


def _core() -> tuple[Quad, ...]:
    state = _state()
    if not state:
        raise OrchqError("the ontology files are missing from this installation")
    return _read(state)


def _joined(core: Sequence[Quad], extensions: Iterable[Extension]) -> list[Quad]:
    own = [quad for extension in extensions for quad in extension.facts]
    return [*core, *(renewed(own, deprecated_terms(core))[0] if own else ())]


def _weighed(core: Sequence[Quad], extension: Extension, *, allowed: bool) -> Extension:
    """The extension with what it changes. Raises ``OrchqError`` when that is not allowed."""
    changes = tuple(map(abbreviated, overrides(core, extension.facts)))
    if changes and not allowed:
        more = f" (and {len(changes) - 1} more)" if len(changes) > 1 else ""
        raise OrchqError(
            f"{extension.name}: changes the core: {changes[0]}{more}; orchq lint reports what is"
            " wrong, and check accepts it with --allow-override"
        )
    return replace(extension, changes=changes)


def _own_namespace(quads: Iterable[Quad]) -> Iterator[str]:
    for quad in quads:
        for node in (quad.predicate, quad.object):
            if isinstance(node, NamedNode) and node.value.startswith(OQ):
                yield node.value
