"""Measure how many of the printed words that ask for a way of playing are recognised.

    python tests/benchmarks/words.py [FOLDER ...]

Reads the string parts of every ``.mxl`` below the folders, without folders those in the corpus of
music21, and counts by occurrence: each directive for technique, string, players or their end
that was read in words, and each text that looks as if it asked for one and was not read. Then it
lists what was not read: first those, then all other words (tempo, expression, titles,
rehearsing). What looks technical is told by the stems below, which were chosen by looking
through all words that were unknown in 117 quartets and orchestral movements and in that corpus.
"""

import re
import sys
from collections import Counter
from pathlib import Path

from quartet_corpus import scores

import orchq
from orchq.knowledge import Knowledge
from orchq.terms import slug_of

CALLS = frozenset({"StringCall", "PlayerCall", "TuningCall", "Cancellation"})
STEMS = re.compile(
    r"""\b(?:
        pizz | arco | arch | punt | point | talon | tall | legn | bois | holz |
        legat | ligat | lié | stac | spicc | detach | martel | saltat | jete | ricoch | ondul |
        trem | bisb | arpeg | gliss | port[ao] | vibr | flaut | flag | harmon | armon |
        sord | sourd | mute | muta | dampf | pont | chevalet | steg | tast | touche | griff |
        sul | sulla | sur | sopra | cord | chord | sait | string | nat | ord | posi | lage |
        div | get[eh] | unis | solo | soli | tutt | alle | pult | desk | leggi |
        [1-4](?:ta|za|da|ma|e|re|rd|th|nd|st)\b
    )""",
    re.VERBOSE,
)
"""Beginnings of words that name a way of playing, in four languages."""
STRINGS = re.compile(r"[1-4] ?e ?\.?C\.?")
"""An abbreviation that names a string; numerals alone are movements, but for one or two."""
TITLES = re.compile(r"[1-9]?da volta|alla danza|seconda|tutta")
"""What begins like a word for playing and is none."""
FIGURES = re.compile(r"=\s*\d|^[\W\d]+$")
"""Metronome marks, counts and figures."""


def asks(directive: str, knowledge: Knowledge) -> bool:
    """Whether a directive asks for a way of playing, or for its end."""
    known = knowledge.directives[directive]
    return directive in knowledge.techniques or not CALLS.isdisjoint(known.kinds)


def printed(knowledge: Knowledge) -> Counter[str]:
    """The texts of the marks of all string parts, with how often each stands there."""
    texts: Counter[str] = Counter()
    for file in scores([Path(each) for each in sys.argv[1:]]):
        try:
            score = orchq.read(file, knowledge)
        except orchq.OrchqError as error:
            print(f"failed: {error}")
            continue
        for part in score.parts:
            if part.instrument is not None:
                texts.update(mark.text for mark in part.marks if mark.text)
    return texts


def tally(texts: Counter[str], knowledge: Knowledge) -> tuple[Counter[str], ...]:
    """Directives for playing that were read, texts that look technical and were not, and others."""
    read: Counter[str] = Counter()
    missed: Counter[str] = Counter()
    other: Counter[str] = Counter()
    for text, count in texts.items():
        if FIGURES.search(text):
            continue
        reading = knowledge.recognise(text)
        for directive in reading.directives:
            if asks(directive, knowledge):
                read[slug_of(directive)] += count
        if reading.unknown:
            looks = STEMS.search(reading.unknown) and not TITLES.search(reading.unknown)
            (missed if looks or STRINGS.fullmatch(text) else other)[text] += count
    return read, missed, other


def main() -> None:
    """Read all and print what came out."""
    knowledge = orchq.load()
    texts = printed(knowledge)
    read, missed, other = tally(texts, knowledge)
    print(f"{len(texts)} different texts, {texts.total()} marks with text")
    print(f"words for ways of playing: {read.total()} read, {missed.total()} not,", end=" ")
    print(f"{100 * read.total() / max(read.total() + missed.total(), 1):.2f}% recognised")
    for title, found in (("not read", missed), ("other words not read", other), ("read", read)):
        print(f"\n{title}: {found.total()}")
        for text, count in found.most_common():
            print(f"  {count:>5}  {text}")


if __name__ == "__main__":
    main()
