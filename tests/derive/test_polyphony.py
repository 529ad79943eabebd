"""Several voices of one player, such as unaccompanied works print them: legal, so not condemned.

The passages are made here. Each voice has a string of its own, neighbouring strings in one
position of the hand; what begins together avoids the shapes that Tavan (Méthode pratique
d'orchestration symphonique, djvu/9-10) calls difficult, seconds and diminished fifths. Lengths
are nominal: a note may be written on while its string is needed again.
"""

from collections.abc import Iterator
from fractions import Fraction
from itertools import product
from random import Random

import pytest

from orchq.notation import Pitch
from orchq.rules.checking import check_score
from orchq.score import Event, Mark, Note, Part, Score
from orchq.terms import oq

from .conftest import KNOWLEDGE

STRINGS = {"violin": (76, 69, 62, 55), "viola": (69, 62, 55, 48), "cello": (57, 50, 43, 36)}
LENGTHS = (Fraction(1, 2), Fraction(1), Fraction(1), Fraction(2))
MEASURES, BEATS = 40, 4


def _event(voice: int, onset: Fraction, length: Fraction, midi: int) -> Event:
    iri = f"x:e{onset}.{voice}"
    measure = int(onset // BEATS)
    return Event(
        iri=iri,
        measure_index=measure,
        measure_number=str(measure + 1),
        offset=onset % BEATS,
        onset=onset,
        duration=length,
        notes=(Note(f"{iri}.n", Pitch.from_midi(midi)),),
        voice=str(voice),
    )


def _check(instrument: str, events: list[Event], tempo: int = 72) -> list[tuple[str, str]]:
    mark = Mark(iri="x:m", measure_index=0, measure_number="1", offset=Fraction(0),
                onset=Fraction(0), directives=(), tempo=Fraction(tempo))  # fmt: skip
    part = Part(
        iri="x:p",
        id="P1",
        index=0,
        name=instrument,
        instrument=oq(instrument).value,
        section=False,
        events=tuple(sorted(events, key=lambda event: (event.onset, event.voice))),
        marks=(mark,),
    )
    report = check_score(Score("x:score", "", (part,)), KNOWLEDGE, file="polyphony")
    return [(finding.rule, finding.severity) for finding in report.findings]


def _may_begin_together(heights: dict[int, int]) -> bool:
    """Whether stops on neighbouring strings, by string from the highest, are usual shapes."""
    for string, height in heights.items():
        above = heights.get(string - 1)
        if not height or not above:
            continue
        apart = height - above
        if apart == 1 or not -5 <= apart <= 4:
            return False
    return len(heights) < 3 or 0 in heights.values()


def _polyphony(
    rng: Random, opens: tuple[int, ...], voices: int, step: int, *, crossing: bool
) -> Iterator[Event]:
    """Voices with their own rhythms, each on its own string, in one position for each measure."""
    lowest = rng.randint(0, len(opens) - voices)
    strings = range(lowest, lowest + voices)
    for measure in range(MEASURES):
        position = rng.randint(1, 4)
        rhythms = {string: list(_rhythm(rng)) for string in strings}
        onsets = sorted({onset for rhythm in rhythms.values() for onset, _ in rhythm})
        for onset in onsets:
            starting = {s: dict(rhythms[s])[onset] for s in strings if onset in dict(rhythms[s])}
            if len(starting) == 2 and max(starting) - min(starting) == 2:
                del starting[max(starting)]  # the bow does not skip a string
            choices = [0, *range(position, position + 2 * step + 2)]
            shapes = [
                shape
                for heights in product(choices, repeat=len(starting))
                if _may_begin_together(shape := dict(zip(starting, heights, strict=True)))
            ]
            shape = rng.choice(shapes)
            for string, height in shape.items():
                # Alone, a voice may come down to the string below, whatever is held there.
                down = crossing and len(shape) == 1 and string + 1 in strings
                opened = opens[string + 1] if down and rng.random() < 0.5 else opens[string]
                at = Fraction(measure * BEATS + onset)
                yield _event(string, at, starting[string], opened + height)


def _rhythm(rng: Random) -> Iterator[tuple[Fraction, Fraction]]:
    at = Fraction(0)
    while at < BEATS:
        length = min(rng.choice(LENGTHS), BEATS - at)
        yield at, length
        at += length


@pytest.mark.parametrize("instrument", STRINGS)
@pytest.mark.parametrize("voices", [2, 3])
@pytest.mark.parametrize("crossing", [False, True])
def test_polyphony_on_neighbouring_strings_is_not_condemned(
    instrument: str, voices: int, *, crossing: bool
) -> None:
    notes = hard = left = 0
    for seed in range(2):
        rng = Random(f"{instrument} {voices} {seed}")  # noqa: S311 - music, no secrets
        step = 1 if instrument == "cello" else 2
        events = list(_polyphony(rng, STRINGS[instrument], voices, step, crossing=crossing))
        found = _check(instrument, events)
        assert [each for each in found if each[1] == "violation"] == []
        assert ("stop-impossible", "warning") not in found
        notes += len(events)
        hard += sum(rule == "stop-hard" for rule, _ in found)
        left += found.count(("stop-impossible", "info"))
    assert notes > 400
    assert crossing or not left  # a held note that is struck and left is good to know
    assert hard <= notes / 300
