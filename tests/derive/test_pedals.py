"""Pedal settings and plans: worked examples, and every plan against all plans tried."""

from fractions import Fraction
from itertools import combinations, pairwise, product
from pathlib import Path

import music21
import pytest
from hypothesis import given
from hypothesis import strategies as st

import orchq
from orchq.derive.derivation import derive
from orchq.derive.pedals import (
    PluckedAttack,
    Sounding,
    plan,
    respelled,
    setting_text,
    settings_sounding,
    spellings,
)
from orchq.derive.pedals.planning import Clash, PedalMove, rushes
from orchq.notation import Pitch, parse_letters
from orchq.terms import oq

HARP_PART = Path(__file__).parents[1] / "extensions" / "data" / "harp.musicxml"
GRAPH = orchq.load(["harp"])
PEDALS = next(each.pedals for each in GRAPH.instruments.values() if each.slug == "harp")
BY_LETTER = {pedal.letter: pedal for pedal in PEDALS}
EVERY_SETTING = [dict(zip(BY_LETTER, each, strict=True)) for each in product((-1, 0, 1), repeat=7)]
SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def pitches(text):
    return [Pitch.parse(name) for name in text.split()]


def passage(text, length=1):
    """Chords divided by bars, each lasting until the next."""
    return [
        PluckedAttack(
            Fraction(length * place),
            tuple(
                Sounding(*pitch.spelling[:2], Fraction(length * (place + 1)))
                for pitch in pitches(chord)
            ),
        )
        for place, chord in enumerate(text.split("|"))
    ]


def sounds(setting):
    return {(SEMITONES[letter] + alteration) % 12 for letter, alteration in setting.items()}


# --------------------------------------------------------------------- worked examples


def test_the_change_in_the_handbook_of_lilypond():
    # LilyPond 2.24, Notation Reference 2.2.4, Harp pedals: under C sharp the setting
    # [D flat, C sharp, B | E sharp, F sharp, G, A flat], under the C natural after it [C natural].
    start = parse_letters("Db C# B | E# F# G Ab")
    found = plan(passage("C#5 | C5"), PEDALS, start)
    assert [(move.pedal.letter, move.after, move.gap) for move in found.moves] == [("C", 0, 1)]
    assert found.moves[0].pedal.foot == "left foot"
    assert setting_text(start, PEDALS) == "Db C# B | E# F# G Ab"
    assert [setting_text(each, PEDALS) for each in found.settings(2)] == [
        "Db C# B | E# F# G Ab",
        "Db C B | E# F# G Ab",
    ]


@pytest.mark.parametrize("sharps", range(-7, 8))
def test_a_major_scale_sets_the_pedals_as_its_signature(sharps):
    # music21 10.5.1, class KeySignature: which notes the signature alters.
    signature = music21.key.KeySignature(sharps)
    names = {pitch.step: round(pitch.alter) for pitch in signature.alteredPitches}
    scale = signature.asKey("major").pitches[:7]
    notes = " | ".join(pitch.name.replace("-", "b") + "4" for pitch in scale)
    found = plan(passage(notes), PEDALS)
    assert found.start == {letter: names.get(letter, 0) for letter in BY_LETTER}
    assert found.moves == found.clashes == ()


def test_the_flat_keys_have_every_pedal_up_and_the_sharp_one_every_pedal_down():
    # From memory: C flat major has all pedals up, C sharp major all down.
    up = plan(passage("Cb4 Db4 Eb4 Fb4 Gb4 Ab4 Bb4"), PEDALS).start
    assert setting_text(up, PEDALS) == "Db Cb Bb | Eb Fb Gb Ab"
    down = plan(passage("C#4 D#4 E#4 F#4 G#4 A#4 B#4"), PEDALS).start
    assert setting_text(down, PEDALS) == "D# C# B# | E# F# G# A#"


def test_the_diminished_seventh_fills_all_strings():
    # From memory, as every player has it: C flat doubles B, E sharp F, and G sharp A flat.
    found = settings_sounding(pitches("B3 D4 F4 Ab4"), PEDALS)
    assert [setting_text(each, PEDALS) for each in found] == ["D Cb B | E# F G# Ab"]


def test_c_and_c_flat_cannot_sound_together():
    found = plan(passage("C4 Cb5"), PEDALS)
    assert found.clashes == (Clash(0, "C", (-1, 0), ()),)
    assert [each.name for each in respelled(pitches("C4 Cb5"), PEDALS)] == ["C4", "B4"]


def test_what_no_spelling_sets():
    # Arithmetic: with G and A natural no pedal is left for G sharp; C to E have B sharp, F flat.
    assert respelled(pitches("G4 G#4 A4"), PEDALS) is None
    found = respelled(pitches("C4 Db4 D4 D#4 E4"), PEDALS)
    assert [each.name for each in found] == ["B#3", "C#4", "D4", "Eb4", "Fb4"]


def test_every_pitch_but_d_g_and_a_has_two_strings():
    # Arithmetic: no letter within a tone of D, G or A has a sharp or flat that gives them.
    counts = {
        Pitch.from_midi(midi).name[:-1]: len(list(spellings(Pitch.from_midi(midi), PEDALS)))
        for midi in range(60, 72)
    }
    assert {name for name, count in counts.items() if count == 1} == {"D", "G", "A"}
    assert set(counts.values()) == {1, 2}


def test_a_held_note_binds_its_pedal():
    held = [
        PluckedAttack(Fraction(0), (Sounding("C", 0, Fraction(2)),)),
        PluckedAttack(Fraction(1), (Sounding("C", 1, Fraction(2)),)),
        PluckedAttack(Fraction(2), (Sounding("C", -1, Fraction(3)),)),
    ]
    assert plan(held, PEDALS).clashes == (Clash(1, "C", (1,), (0,)),)


def test_both_feet_move_at_once_and_one_foot_not():
    """C and E lie under different feet, C and D under one; 0.2 s for two is 0.1 s for each."""
    apart = plan(passage("C4 E4 | C#4 Eb4"), PEDALS)
    (left, right) = rushes(apart.moves, [Fraction(0), Fraction(1, 5)], Fraction(1))
    assert (len(left.moves), left.each, right.each) == (1, Fraction(1, 5), Fraction(1, 5))
    together = plan(passage("C4 D4 | C#4 D#4"), PEDALS)
    (both,) = rushes(together.moves, [Fraction(0), Fraction(1, 5)], Fraction(1))
    assert both.each == Fraction(1, 10)


def test_changes_are_late_and_by_turns():
    # C is free since the first chord, D and B since the second; there is a gap for each.
    found = plan(passage("C4 D4 B4 | D4 B4 | E4 | F4 | G4 | C#4 D#4 Bb4"), PEDALS)
    assert {move.gap for move in found.moves} == {3, 4, 5}
    alone = plan(passage("C4 | E4 | F4 | C#4"), PEDALS)
    assert [move.gap for move in alone.moves] == [3]


def test_the_ways_out_of_a_part():
    # Arithmetic: B2 is C flat 3, B4 is C flat 5, and G5 is F double sharp 5.
    derivation = derive(orchq.read(HARP_PART, GRAPH), GRAPH)
    said = {
        name: {quad.object.value for quad in derivation.quads if quad.predicate == oq(name)}
        for name in ("wayOut", "pedalsSaid", "spansStrings")
    }
    assert said["wayOut"] == {"write Cb3 as B2", "write F##5 as G5"}
    assert "D flat, C flat with the left foot (or write Cb5 as B4)" in said["pedalsSaid"]
    assert said["spansStrings"] == {"17"}


# ------------------------------------------------------------------------- properties

LETTERS = st.sampled_from("DCBEFGA")
NOTES = st.tuples(LETTERS, st.integers(-1, 1))
CHORDS = st.lists(
    st.lists(NOTES, min_size=1, max_size=4, unique_by=lambda note: note[0]), min_size=1, max_size=7
)
LENGTHS = st.lists(st.sampled_from([Fraction(1, 4), Fraction(1, 2), Fraction(1)]), min_size=7)


def attacks_of(chords, lengths):
    onset, made = Fraction(0), []
    for chord, length in zip(chords, lengths, strict=False):
        made.append(PluckedAttack(onset, tuple(Sounding(*note, onset + length) for note in chord)))
        onset += length
    return made


def cost(gaps, lengths):
    """What a plan of one foot costs: the square of the moves in a gap over its length."""
    return sum(Fraction(gaps.count(gap) ** 2) / lengths[gap] for gap in set(gaps))


@given(CHORDS, LENGTHS)
def test_every_note_is_set_when_it_sounds_and_no_plan_crowds_less(chords, lengths):
    attacks = attacks_of(chords, lengths)
    found = plan(attacks, PEDALS)
    assert found.clashes == ()
    for attack, setting in zip(attacks, found.settings(len(attacks)), strict=True):
        assert all(setting[note.letter] == note.alteration for note in attack.notes)
    gaps = [Fraction(1), *(after.onset - before.onset for before, after in pairwise(attacks))]
    for foot in ("left foot", "right foot"):
        moves = [move for move in found.moves if move.pedal.foot == foot]
        assert all(move.earliest <= move.gap <= move.latest for move in moves)
        windows = [range(move.earliest, move.latest + 1) for move in moves]
        if len(moves) <= 6:
            least = min(cost(list(each), gaps) for each in product(*windows))
            assert cost([move.gap for move in moves], gaps) == least


@given(CHORDS)
def test_no_setting_needs_fewer_moves(chords):
    """Each pedal moves as often as its letter changes its sign, and only then."""
    attacks = attacks_of(chords, [Fraction(1)] * len(chords))
    for letter in BY_LETTER:
        signs = [sign for chord in chords for name, sign in chord if name == letter]
        moves = [move for move in plan(attacks, PEDALS).moves if move.pedal.letter == letter]
        assert len(moves) == sum(one != other for one, other in pairwise(signs))


MOVES = st.lists(
    st.tuples(st.sampled_from("DCB"), st.integers(0, 5), st.integers(0, 3)), min_size=1, max_size=5
)


@given(MOVES, LENGTHS)
def test_the_time_for_each_is_that_of_the_worst_stretch(windows, lengths):
    """Against all sets of moves: those within a stretch share it."""
    moves = [
        PedalMove(BY_LETTER[letter], 0, 1, first, min(first + more, 6), first)
        for letter, first, more in windows
    ]
    gaps = lengths[:7]
    told = {rush.attack: rush.each for rush in rushes(moves, gaps, Fraction(100))}
    for attack in {move.latest for move in moves}:
        inside = [move for move in moves if move.latest <= attack]
        some = [s for count in range(1, len(inside) + 1) for s in combinations(inside, count)]
        stretches = [
            sum(gaps[min(move.earliest for move in each) : attack + 1], Fraction(0)) / len(each)
            for each in some
            if any(move.latest == attack for move in each)
        ]
        assert told.pop(attack) == min(stretches)
    assert not told


@given(st.lists(st.integers(48, 72), min_size=1, max_size=6, unique=True))
def test_respelling_finds_a_setting_where_there_is_one(midis):
    """Against all 2187 settings: one of them sounds every pitch, or there is no spelling."""
    wanted = {midi % 12 for midi in midis}
    found = respelled(map(Pitch.from_midi, midis), PEDALS)
    assert (found is not None) == any(wanted <= sounds(setting) for setting in EVERY_SETTING)
    if found is not None:
        assert [pitch.midi for pitch in found] == sorted(midis)
        setting = dict(pitch.spelling[:2] for pitch in found)
        assert all(setting[letter] == sign for letter, sign, _ in (p.spelling for p in found))


@given(st.lists(st.integers(60, 71), min_size=3, max_size=7, unique=True))
def test_glissando_settings_are_all_there_are(midis):
    wanted = {midi % 12 for midi in midis}
    found = settings_sounding(map(Pitch.from_midi, midis), PEDALS)
    assert sorted(map(sorted, map(dict.items, found))) == sorted(
        sorted(setting.items()) for setting in EVERY_SETTING if sounds(setting) == wanted
    )
