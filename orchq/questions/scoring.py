"""The question how a line can be scored so that it sounds as wished."""

import re
from collections.abc import Iterable

from msgspec import Struct

from orchq.errors import OrchqError
from orchq.evidence import Evidence
from orchq.questions.answers import Answers
from orchq.questions.asked_line import AskedLine, line_of_pitches, line_of_score
from orchq.questions.asking import Asking
from orchq.questions.bowing import tempo_of
from orchq.questions.scoring_facts import scoring_facts
from orchq.questions.scoring_way import Way, Wish
from orchq.questions.scoring_ways import Ways
from orchq.questions.sound_words import word_for_sound

_MOST = 10
_BETWEEN = re.compile(r"\s*(?:,|;|\band\b)\s*")
_CAUTION = "A way to begin with, and no judgement of music: the players know their instruments."


class ScoringAnswer(Struct, frozen=True):
    """One way to score the line; what is empty is as usual."""

    score: float
    players: str
    string: str | None
    playing: str
    contact: str | None
    mute: str | None
    vibrato: str | None
    difficulty: str | None
    why: tuple[str, ...]
    against: tuple[str, ...]
    evidence: tuple[Evidence, ...]


def scoring(
    self: Asking,
    *,
    like: str | None = None,
    pitches: str | None = None,
    from_: str | None = None,
    part: str | None = None,
    measures: str | None = None,
    at: str | None = None,
    tempo: str | float | None = None,
    role: str | None = None,
    without: str | None = None,
    only: str | None = None,
    level: str | None = None,
    trust: str | None = None,
) -> Answers[ScoringAnswer]:
    """Return ways to score a line so that it sounds as wished, the best first.

    The line is given by sounding pitches, taken as quarter notes, or by measures of a part of a
    score. Raises ``OrchqError`` for an unknown name, and for a line that is given twice.

    >>> import orchq
    >>> found = orchq.load().ask.scoring(like="dark, singing", pitches="G3 A3 Bb3 D4", at="mf")
    >>> any("G" == answer.string and "violin" in answer.players for answer in found)
    True
    """
    words = _words(self, like)
    clash = _opposites(self, words)
    number = tempo_of(tempo)
    line = _line(self, pitches, from_, part, measures, number)
    dynamic = None if at is None else self.names.dynamic(at)
    facts = scoring_facts(self)
    roles = {self.knowledge.label(iri): iri for iri in facts.roles}
    asked_role = None if role is None else self.names.one_of("role", role.replace("-", " "), roles)
    avoided = () if without is None else self.names.techniques(without)
    instruments = () if only is None else self.names.instruments(only)
    stand = self.standpoint(level, trust)
    wish = Wish(
        words,
        dynamic,
        None if asked_role is None else roles[asked_role],
        frozenset(each.iri for each in avoided),
        frozenset(each.iri for each in instruments),
        stand,
    )
    remarks = [_CAUTION]
    answers: list[ScoringAnswer] = []
    if line is None:
        remarks = ["No line is given: --pitches, or --from a score with --part and --measures."]
    elif clash is not None:
        remarks = [f"{clash[0]} and {clash[1]} are opposites: no one sound is both."]
    else:
        answers = [_answer(self, way) for way in Ways(self, facts, line, wish).best(_MOST)]
        if not answers:
            remarks = ["No way of playing that the graph knows fits all of this."]
    parameters = {
        "like": ", ".join(words) or None,
        "pitches": pitches and line and " ".join(each.name for each in line.pitches),
        "from_": from_,
        "part": line.part.name if from_ and line else part,
        "measures": measures,
        "at": dynamic and dynamic.label,
        "tempo": number,
        "role": asked_role,
        "without": ", ".join(each.label for each in avoided) or None,
        "only": ", ".join(each.label for each in instruments) or None,
        **stand.shown,
    }
    return self.answer("scoring", parameters, answers, remarks)


def _opposites(asking: Asking, words: Iterable[str]) -> tuple[str, str] | None:
    """Two words of a wish that cannot be true of one sound, or ``None``."""
    given = list(words)
    for place, one in enumerate(given):
        for other in given[place + 1 :]:
            if asking.knowledge.thesaurus.nearness(one, other) == "opposite":
                return one, other
    return None


def _words(self: Asking, like: str | None) -> tuple[str, ...]:
    """The words of the wish as the thesaurus calls them."""
    asked = [each for each in _BETWEEN.split(like.strip()) if each] if like else []
    found = []
    for each in asked:
        word = word_for_sound(self, each)
        concept = self.knowledge.thesaurus.named(word)
        found.append(concept.label if concept else word)
    return tuple(dict.fromkeys(found))


def _line(
    self: Asking,
    pitches: str | None,
    file: str | None,
    part: str | None,
    measures: str | None,
    tempo: float | None,
) -> AskedLine | None:
    if pitches is not None and file is not None:
        raise OrchqError("a line is given by --pitches or by --from a score, and not by both")
    if file is not None:
        return line_of_score(file, part, measures, tempo, self.knowledge)
    return None if pitches is None else line_of_pitches(pitches, tempo, self.knowledge)


def _answer(self: Asking, way: Way) -> ScoringAnswer:
    strings = way.place.instrument.standard.strings
    called = next((each.name for each in strings if each.number == way.place.called), None)
    aside = ("ContactPoint", "Muting", "VibratoStage")
    contact, mute, vibrato = map(way.of_kind, aside)
    grounds = [each for iri in dict.fromkeys(way.grounds) for each in self.evidence_for(iri)]
    playing = [each.label for each in way.techniques if not each.kinds.intersection(aside)]
    return ScoringAnswer(
        way.score,
        way.grouping.label,
        called,
        ", ".join(playing) or "arco",
        contact,
        mute,
        vibrato,
        None if way.difficulty is None else way.difficulty.label,
        tuple(dict.fromkeys(way.why)),
        tuple(dict.fromkeys(way.against)),
        tuple(dict.fromkeys((*grounds, *way.evidence))),
    )
