"""Which words string parts print, and what the graph makes of them."""

from bisect import bisect_left
from collections.abc import Iterable, Iterator
from functools import lru_cache

from orchq.knowledge import Knowledge
from orchq.knowledge.lexicon import words_of
from orchq.readers.printed_text import NOTE_VALUES
from orchq.score import Mark
from orchq.survey.rows import WordRow
from orchq.survey.surveyed import At, SurveyedStaff
from orchq.terms import slug_of

_PLAYING = frozenset({"StringCall", "PlayerCall", "Cancellation"})
_LOUDNESS = frozenset({"Dynamic", "DynamicAccent"})
_SHORTEST = 3
"""Letters of a word that shows by itself what a text is about: articles have fewer."""
_ROMAN = frozenset("ivx")
"""Letters of the figures that count strings, and movements as well."""


def word_rows(staves: Iterable[SurveyedStaff]) -> Iterator[WordRow]:
    """Yield the texts of a work in the order in which they come up.

    Figures, metronome marks and signs of loudness are no words.
    """
    first: dict[str, tuple[At, Mark, Knowledge]] = {}
    counts: dict[str, int] = {}
    for staff in staves:
        onsets = [item.event.onset for item in staff.placed]
        number = staff.placed[0].event.staff
        for mark in staff.part.marks:
            if mark.staff not in (None, number) or not _is_worded(mark):
                continue
            if mark.text not in first:
                place = min(bisect_left(onsets, mark.onset), len(onsets) - 1)
                at = staff.at_mark(mark, staff.placed[place].in_force)
                first[mark.text] = at, mark, staff.knowledge
            counts[mark.text] = counts.get(mark.text, 0) + 1
    for text, (at, mark, knowledge) in first.items():
        unknown = knowledge.recognise(text).unknown
        kinds = _kinds(mark, knowledge)
        if kinds and kinds <= _LOUDNESS and not unknown:
            continue
        yield WordRow(
            *at,
            text=text,
            directives="; ".join(map(slug_of, mark.directives)),
            unknown=unknown,
            count=counts[text],
            technique_words=_asks_for_playing(mark, unknown, knowledge),
        )


def _is_worded(mark: Mark) -> bool:
    """Whether a mark prints words; readers write metronome marks as value and figure."""
    metronome = mark.tempo is not None and mark.text.partition(" = ")[0].rstrip(".") in NOTE_VALUES
    return not metronome and any(map(str.isalpha, mark.text))


def _kinds(mark: Mark, knowledge: Knowledge) -> set[str]:
    known = knowledge.directives
    return {kind for iri in mark.directives if iri in known for kind in known[iri].kinds}


def _asks_for_playing(mark: Mark, unknown: str, knowledge: Knowledge) -> bool:
    """Whether a text is about playing, by what is known of it and else by the words it uses."""
    if any(iri in knowledge.techniques for iri in mark.directives):
        return True
    if not _PLAYING.isdisjoint(_kinds(mark, knowledge)):
        return True
    return not _words_for_playing(knowledge).isdisjoint(words_of(unknown))


@lru_cache(maxsize=8)
def _words_for_playing(knowledge: Knowledge) -> frozenset[str]:
    """Words of the graph's terms for playing that no term for anything else uses."""
    playing: set[str] = set()
    other: set[str] = set()
    for form, iri in knowledge.printed_forms.items():
        about = iri in knowledge.techniques or _PLAYING & knowledge.directives[iri].kinds
        (playing if about else other).update(form)
    return frozenset(
        word for word in playing - other if len(word) >= _SHORTEST and not _ROMAN.issuperset(word)
    )
