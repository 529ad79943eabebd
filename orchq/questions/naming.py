"""Resolves what a user types to terms of the graph, by names in any of its languages.

Nothing a user types gets past this module: what is not found is refused with the nearest names,
and what is found is passed on as an IRI of the graph.
"""

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from functools import cached_property

from orchq.errors import OrchqError, hint, nearest
from orchq.knowledge import Directive, Dynamic, Instrument, Knowledge, Source, Technique
from orchq.knowledge.lexicon import words_of
from orchq.knowledge.shipped_names import shipped_with
from orchq.terms import OQ, local_name

LANGUAGES: Mapping[str, str] = {"it": "Italian", "fr": "French", "de": "German", "en": "English"}
"""The languages that the graph has terms in, by their tags."""

LONGEST_NAME = 200
"""Characters of the longest name that is looked up."""

_IN_NO_NAME = frozenset('"<>{}|^\\`$;%*=?@')
_UNSEEN = frozenset({"Cc", "Cf", "Co", "Cs", "Zl", "Zp"})
_BECOMES = re.compile(r"\bto\b", re.IGNORECASE)
_NATIVE = {"italiano": "it", "français": "fr", "deutsch": "de", "english": "en"}

_Worded = dict[tuple[str, ...], list[str]]


class Names:
    """Finds the terms of a graph by what people call them.

    Every method raises ``OrchqError``, with the nearest valid names, when there is none.
    """

    def __init__(self, knowledge: Knowledge, forms: Callable[[], Iterable[tuple[str, str]]]):
        """``forms`` gives all printed forms of the graph with the IRI that each names."""
        self._knowledge = knowledge
        self._forms = forms
        # With the labels themselves, so that no others can come to have their identity.
        self._words: dict[int, tuple[_Worded, _Worded, Mapping[str, str]]] = {}

    def instrument(self, text: str) -> Instrument:
        """An instrument by slug, label, IRI or printed name."""
        instruments = self._knowledge.instruments
        iri = self._by_name(text, self._instruments)
        if iri is None:
            iri = self._knowledge.instrument_named(_checked(text)).instrument
        if iri is None or iri not in instruments:
            extension = shipped_with(text)
            if extension is not None:
                raise OrchqError(
                    f"{text!r} is an instrument of a shipped extension: add --with {extension}"
                )
            raise self._unknown("instrument", text, instruments)
        return instruments[iri]

    def instruments(self, text: str) -> tuple[Instrument, ...]:
        """Several instruments, divided by commas."""
        names = filter(None, (each.strip() for each in _checked(text).split(",")))
        found = tuple(dict.fromkeys(map(self.instrument, names)))
        if not found:
            raise OrchqError("no instrument is given")
        return found

    def technique(self, text: str) -> Technique:
        """A technique by slug, label, IRI or printed term."""
        return self._knowledge.techniques[self._directive("technique", text, self._techniques)]

    def techniques(self, text: str) -> tuple[Technique, ...]:
        """Several techniques, divided by commas or printed one after another."""
        found = self._several("technique", text, self._techniques)
        if not found:
            raise OrchqError("no technique is given")
        return tuple(dict.fromkeys(self._knowledge.techniques[iri] for iri in found))

    def change(self, text: str) -> tuple[Directive, Directive]:
        """Two ways of playing, one after the other: "pizz. arco", or "senza sord. to con sord."."""
        ways = self._several("directive", _BECOMES.sub(",", _checked(text)), self._directives)
        if len(ways) != 2:
            raise OrchqError(f"a change leads from one way of playing to another, not {text!r}")
        return self._knowledge.directives[ways[0]], self._knowledge.directives[ways[1]]

    def directive(self, text: str) -> Directive:
        """Anything a printed word can ask for, by slug, label, IRI or printed term."""
        return self._knowledge.directives[self._directive("directive", text, self._directives)]

    def directives(self, text: str) -> tuple[Directive, ...]:
        """Several directives, divided by commas or printed one after another."""
        found = self._several("directive", text, self._directives)
        if not found:
            raise OrchqError("no directive is given")
        return tuple(self._knowledge.directives[iri] for iri in dict.fromkeys(found))

    def dynamic(self, text: str) -> Dynamic:
        """A degree of loudness as printed or in words: ff, fortissimo."""
        return self._knowledge.dynamics[self._directive("dynamic", text, self._dynamics)]

    def printed(self, text: str) -> Instrument | Directive:
        """A directive or an instrument: whatever terms of the graph name."""
        try:
            return self.directive(text)
        except OrchqError:
            match = self._knowledge.instrument_named(_checked(text)).instrument
            iri = self._by_name(text, self._instruments) or match
            if iri is None:
                raise
            return self._knowledge.instruments[iri]

    def source(self, text: str) -> Source:
        """A source by slug, label, IRI, or words that only one label has."""
        sources = self._knowledge.sources
        iri = self._fitting(text, self._sources)
        if iri is None:
            raise self._unknown("source", text, sources)
        return sources[iri]

    def composer(self, text: str, names: Mapping[str, str]) -> str:
        """The IRI of a composer by name or surname, among those given with their names."""
        iri = self._fitting(text, names)
        if iri is None:
            raise OrchqError(f"no composer is called {text!r}; {hint(text, names.values())}")
        return iri

    def level(self, text: str) -> str:
        """The IRI of a level of player."""
        return self._listed("level", text, self._knowledge.levels)

    def language(self, text: str) -> str:
        """The tag of a language, by its tag or its name in English or its own."""
        names = {name.casefold(): tag for tag, name in LANGUAGES.items()} | _NATIVE
        wanted = _checked(text).strip().casefold()
        if wanted not in LANGUAGES and wanted not in names:
            known = ", ".join(f"{tag} ({name})" for tag, name in LANGUAGES.items())
            raise OrchqError(f"no language is called {text!r}; the graph has terms in {known}")
        return names.get(wanted, wanted)

    def one_of(self, kind: str, text: str, known: Iterable[str]) -> str:
        """One of some words, whatever its case."""
        words = {word.casefold(): word for word in known}
        found = words.get(_checked(text).strip().casefold())
        if found is None:
            raise OrchqError(f"no {kind} is called {text!r}; {hint(text, words)}")
        return found

    def known(self, kind: str) -> tuple[str, ...]:
        """The names that a parameter of this kind accepts, where they can be listed."""
        knowledge = self._knowledge
        if kind in ("instrument", "instruments"):
            return tuple(sorted(each.label for each in knowledge.instruments.values()))
        if kind in ("technique", "techniques"):
            return tuple(sorted(self._techniques.values()))
        if kind == "dynamic":
            return tuple(each.label for each in knowledge.dynamics.values())
        if kind == "level":
            return tuple(sorted(map(local_name, knowledge.levels)))
        if kind == "source":
            return tuple(sorted(map(local_name, knowledge.sources)))
        return tuple(LANGUAGES) if kind == "language" else ()

    # ------------------------------------------------------------------ looking up

    @cached_property
    def _all_forms(self) -> tuple[tuple[str, str], ...]:
        return tuple(self._forms())

    @cached_property
    def _techniques(self) -> dict[str, str]:
        """Techniques of strings; those of other instruments are known but not offered."""
        return {
            each.iri: each.label
            for each in self._knowledge.techniques.values()
            if "ForeignTechnique" not in each.kinds
        }

    @cached_property
    def _instruments(self) -> dict[str, str]:
        return {each.iri: each.label for each in self._knowledge.instruments.values()}

    @cached_property
    def _dynamics(self) -> dict[str, str]:
        return {each.iri: each.label for each in self._knowledge.dynamics.values()}

    @cached_property
    def _sources(self) -> dict[str, str]:
        return {each.iri: each.label for each in self._knowledge.sources.values()}

    @cached_property
    def _directives(self) -> dict[str, str]:
        return {each.iri: each.label for each in self._knowledge.directives.values()}

    def _directive(self, kind: str, text: str, allowed: Mapping[str, str]) -> str:
        iri = self._by_name(text, allowed)
        if iri is not None:
            return iri
        other = self._by_name(text, self._directives)
        if other is not None:
            raise self._of_another_kind(kind, other)
        reading = self._knowledge.recognise(_checked(text))
        if len(reading.directives) == 1 and not reading.unknown and reading.number is None:
            iri = reading.directives[0]
            if iri in allowed:
                return iri
            raise self._of_another_kind(kind, iri)
        raise self._unknown(kind, text, allowed)

    def _several(self, kind: str, text: str, allowed: Mapping[str, str]) -> list[str]:
        """The IRIs of what is named, divided by commas or printed one after another."""
        found: list[str] = []
        for part in filter(None, (part.strip() for part in _checked(text).split(","))):
            reading = self._knowledge.recognise(part)
            if self._by_name(part, allowed) or len(reading.directives) < 2:
                found.append(self._directive(kind, part, allowed))
            elif reading.unknown:
                raise self._unknown(kind, reading.unknown, allowed)
            else:
                found.extend(self._directive(kind, iri, allowed) for iri in reading.directives)
        return found

    def _of_another_kind(self, kind: str, iri: str) -> OrchqError:
        whose = " of strings" if kind == "technique" else ""
        return OrchqError(f"{self._knowledge.label(iri)} is no {kind}{whose}")

    def _fitting(self, text: str, labels: Mapping[str, str]) -> str | None:
        """The IRI that the text names, or the only one whose label has all words of the text."""
        iri = self._by_name(text, labels)
        if iri is None:
            wanted = set(words_of(text))
            fitting = [key for key, label in labels.items() if wanted <= set(words_of(label))]
            iri = fitting[0] if wanted and len(fitting) == 1 else None
        return iri

    def _by_name(self, text: str, labels: Mapping[str, str]) -> str | None:
        """The IRI among those labelled whose slug, label or self the text is."""
        plain = _checked(text).strip()
        for iri in (plain, OQ + plain, OQ + plain.removeprefix("oq:")):
            if iri in labels:
                return iri
        words = words_of(plain)
        if not words:
            return None
        for names in self._worded(labels):
            same = names.get(words, ())
            if same:
                return same[0] if len(same) == 1 else None
        return None

    def _worded(self, labels: Mapping[str, str]) -> tuple[_Worded, _Worded]:
        """What is called so, by the words of labels and of local names."""
        key = id(labels)
        if key not in self._words:
            by_label: _Worded = {}
            by_slug: _Worded = {}
            for iri, label in labels.items():
                by_label.setdefault(words_of(label), []).append(iri)
                by_slug.setdefault(words_of(local_name(iri)), []).append(iri)
            self._words[key] = by_label, by_slug, labels
        return self._words[key][:2]

    def _listed(self, kind: str, text: str, labels: Mapping[str, str]) -> str:
        iri = self._by_name(text, labels)
        if iri is None:
            raise self._unknown(kind, text, labels)
        return iri

    def _unknown(self, kind: str, text: str, allowed: Iterable[str]) -> OrchqError:
        """An error that names what is nearest, among labels first and then among all forms."""
        iris = set(allowed)
        labels = {self._knowledge.label(iri): iri for iri in iris}
        slugs = {local_name(iri).replace("-", " "): iri for iri in iris}
        forms = {form: iri for form, iri in self._all_forms if iri in iris}
        plain = {" ".join(words_of(name)): name for name in (*forms, *slugs, *labels)}
        near = nearest(" ".join(words_of(text)), plain, alike=0.65)
        named = labels | slugs | forms
        names: dict[str, str] = {}
        for name in near:
            iri = named[plain[name]]
            label = self._knowledge.label(iri)
            own = label if " ".join(words_of(label)) in near else plain[name]
            names.setdefault(iri, own)
        if names:
            shown = " or ".join(names.values())
            return OrchqError(f"no {kind} is called {text!r}; did you mean {shown}?")
        return OrchqError(f"no {kind} is called {text!r}; {hint(text, labels)}")


def _checked(text: str) -> str:
    if not isinstance(text, str):
        raise OrchqError(f"a name is text, not {text!r}")
    if len(text) > LONGEST_NAME:
        raise OrchqError(f"a name of {len(text)} characters is longer than any that is known")
    if _IN_NO_NAME & set(text) or any(unicodedata.category(sign) in _UNSEEN for sign in text):
        raise OrchqError(f"{text!r} is not a name: it has a character that no name has")
    return text
