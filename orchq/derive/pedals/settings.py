"""Settings of pedals at one moment: their pitches, and other spellings of the same pitches."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby, product

from orchq.knowledge import Pedal
from orchq.notation import Pitch, letter_name

Setting = Mapping[str, int]
"""The alteration in semitones that the pedal of each letter is set to."""

_IN_WORDS = {-1: "flat", 0: "natural", 1: "sharp"}


def setting_text(setting: Setting, pedals: Sequence[Pedal]) -> str:
    """A setting as harpists print it: from the left, a bar between the feet."""
    sides = groupby(pedals, key=lambda pedal: pedal.foot)
    return " | ".join(
        " ".join(letter_name(pedal.letter, setting[pedal.letter]) for pedal in side)
        for _, side in sides
    )


def position_in_words(letter: str, alteration: int) -> str:
    """A letter with its position, such as ``C sharp``."""
    return f"{letter} {_IN_WORDS[alteration]}"


def spellings(pitch: Pitch, pedals: Iterable[Pedal]) -> Iterator[Pitch]:
    """Every way in which the pedals have strings for a pitch, its own spelling first.

    >>> from orchq.knowledge import Pedal
    >>> both = [Pedal("", letter, "", (-1, 0, 1)) for letter in "BC"]
    >>> [each.name for each in spellings(Pitch.parse("C4"), both)]
    ['C4', 'B#3']
    """
    _, _, octave = pitch.spelling
    found = [
        each
        for pedal in pedals
        for alteration in pedal.alterations
        for near in (octave - 1, octave, octave + 1)
        if (each := Pitch.spelled(pedal.letter, alteration, near)).midi == pitch.midi
    ]
    return iter(sorted(found, key=lambda each: (each.name != pitch.name, each.name)))


def respelled(pitches: Iterable[Pitch], pedals: Sequence[Pedal]) -> tuple[Pitch, ...] | None:
    """The pitches spelled so that no pedal stands in two positions, as few changed as possible.

    ``None`` where no spelling allows all of them. Pitches are sorted from the lowest up.
    """
    wanted = sorted(set(pitches))
    ways = [tuple(spellings(pitch, pedals)) for pitch in wanted]
    return min(_settable(ways, {}), key=lambda chosen: _changes(chosen, wanted), default=None)


def _settable(ways: Sequence[Sequence[Pitch]], held: Setting) -> Iterator[tuple[Pitch, ...]]:
    if not ways:
        yield ()
        return
    for pitch in ways[0]:
        letter, alteration, _ = pitch.spelling
        if held.get(letter, alteration) == alteration:
            for rest in _settable(ways[1:], {**held, letter: alteration}):
                yield (pitch, *rest)


def _changes(chosen: Sequence[Pitch], wanted: Sequence[Pitch]) -> tuple[int, int]:
    """How many are respelled, and with how many signs."""
    new = [one for one, other in zip(chosen, wanted, strict=True) if one.name != other.name]
    return len(new), sum(abs(pitch.spelling[1]) for pitch in new)


def settings_sounding(pitches: Iterable[Pitch], pedals: Sequence[Pedal]) -> list[dict[str, int]]:
    """Every setting in which all strings together sound these pitches, in any octave, and no other.

    A glissando over all strings then sounds the chord. Settings that keep most of the printed
    spelling come first.
    """
    given = list(pitches)
    wanted = {pitch.midi % 12 for pitch in given}
    spelled = {(letter, alteration) for letter, alteration, _ in (p.spelling for p in given)}
    choices = [
        [(pedal.letter, a) for a in pedal.alterations if _sounds(pedal.letter, a) in wanted]
        for pedal in pedals
    ]
    found = [
        setting
        for setting in map(dict, product(*choices))
        if {_sounds(letter, a) for letter, a in setting.items()} == wanted
    ]
    return sorted(
        found,
        key=lambda each: (-len(spelled & each.items()), sum(map(abs, each.values()))),
    )


def _sounds(letter: str, alteration: int) -> int:
    return Pitch.spelled(letter, alteration, 4).midi % 12
