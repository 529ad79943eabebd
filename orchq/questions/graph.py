"""The graph with its questions: ``graph.ask.techniques(on="violin", at="ff")``."""

from collections.abc import Iterable, Mapping
from functools import cached_property, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from orchq.errors import OrchqError
from orchq.lazily import lazily
from orchq.questions.answers import Answer, Answers
from orchq.questions.asking import Asking
from orchq.questions.head import Question, catalogue, question, question_names
from orchq.questions.open_graph import OpenGraph

if TYPE_CHECKING:
    from orchq.questions import (
        authorities,
        bowing,
        grips,
        instrument_parts,
        kinds,
        likely_fingering,
        own_questions,
        places,
        playing,
        practising,
        printing,
        scoring,
        sound_words,
        sounding,
        words,
    )
    from orchq.questions import examples as shown
    from orchq.questions import pedals as pedalling
    from orchq.questions import players as playing_by
else:
    authorities, bowing, grips = lazily("orchq.questions", "authorities", "bowing", "grips")
    instrument_parts, kinds = lazily("orchq.questions", "instrument_parts", "kinds")
    likely_fingering, own_questions = lazily("orchq.questions", "likely_fingering", "own_questions")
    places, playing, practising, printing = lazily(
        "orchq.questions", "places", "playing", "practising", "printing"
    )
    scoring, sound_words = lazily("orchq.questions", "scoring", "sound_words")
    sounding, words = lazily("orchq.questions", "sounding", "words")
    shown, pedalling, playing_by = lazily("orchq.questions", "examples", "pedals", "players")


class Ask(Asking):
    """Every question as a typed function; ``orchq ask --list`` shows them all.

    All take names in any language of the graph, and pitches as A4, a', Bb4 or MIDI numbers.
    ``level`` (``student``, ``orchestral``, ``soloist``) chooses the player, ``trust`` a source
    to follow where sources disagree.
    """

    bow = bowing.bow
    changes = bowing.changes
    colours = sound_words.colours
    compass = places.compass
    divisi = playing_by.divisi
    dynamics = playing.dynamics
    encoding = words.encoding
    examples = shown.examples
    excludes = playing.excludes
    exercises = practising.exercises
    fingering = likely_fingering.fingering
    harmonics = grips.harmonics
    instruments = kinds.instruments
    levels = authorities.levels
    mute = bowing.mute
    notation = printing.notation
    one_string = places.one_string
    parts = instrument_parts.parts
    pedals = pedalling.pedals
    players = playing_by.players
    prints = words.prints
    rates = playing.rates
    registers = places.registers
    replace_harmonic = grips.replace_harmonic
    scoring = scoring.scoring
    section = playing_by.section
    softest = playing.softest
    sounds = sounding.sounds
    sources = authorities.sources
    stops = grips.stops
    stringing = kinds.stringing
    strings = places.strings
    techniques = playing.techniques
    terms = words.terms
    transfer = playing_by.transfer

    def question(self, name: str, parameters: Mapping[str, Any]) -> Answers[Answer]:
        """Ask a question by its name, with parameters by their names on the command line.

        Raises ``OrchqError`` naming the nearest valid ones, and what is missing.
        """
        asked = self.asked(name)
        known = {each.name: each for each in asked.parameters}
        known |= {each.keyword: each for each in asked.parameters}
        given: dict[str, Any] = {}
        for key, value in parameters.items():
            if key not in known:
                takes = ", ".join(f"--{each.name}" for each in asked.parameters) or "nothing"
                raise OrchqError(f"the question {asked.name} has no --{key}; it takes {takes}")
            given[known[key].keyword] = value
        missing = [each for each in asked.parameters if each.required and each.keyword not in given]
        if missing:
            wanted = ", ".join(f"--{each.name} ({each.meaning})" for each in missing)
            raise OrchqError(f"the question {asked.name} needs {wanted}")
        if asked.origin:
            return own_questions.answered(self, asked, given)
        answers: Answers[Answer] = getattr(self, asked.method)(**given)
        return answers

    @cached_property
    def own(self) -> Mapping[str, Question]:
        """The questions of extensions by name.

        Raises ``OrchqError`` naming file and line when one of them is wrong.
        """
        if not any(extension.questions for extension in self.knowledge.extensions):
            return {}
        return own_questions.own_questions(self.knowledge.extensions)

    def asked(self, name: str) -> Question:
        """The question of this name.

        Raises ``OrchqError`` naming the nearest ones when there is none.
        """
        core, plain = question_names(), str(name).strip().casefold()
        if plain in core:
            return question(plain)
        return self.own[self.names.one_of("question", name, (*core, *self.own))]

    def catalogue(self) -> tuple[Question, ...]:
        """All questions by name, those of extensions last."""
        return (*catalogue(), *(self.own[name] for name in sorted(self.own)))


class Graph(OpenGraph):
    """The knowledge graph with its questions."""

    @cached_property
    def ask(self) -> Ask:
        """The questions to this graph."""
        return Ask(self)


def load_graph(extensions: Iterable[Path | str] = (), *, allow_override: bool = False) -> Graph:
    """Load the graph with its questions; see ``orchq.knowledge.Knowledge.of``.

    Without extensions the same graph is returned every time.
    """
    given = tuple(extensions)
    return Graph.of(given, allow_override=allow_override) if given else _packaged()


@lru_cache(maxsize=1)
def _packaged() -> Graph:
    return Graph.of()
