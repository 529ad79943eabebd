"""Wishes for a sound, with answers that have to be near the top, and answers that must not appear.

The source stands beside each wish; where there is none it is common practice.
"""

import pytest

from orchq.errors import OrchqError

NEAR_THE_TOP = 4


def way(players="", playing="", contact=None, mute=None, vibrato=None, string=None):
    """What an answer has to hold; what is left empty may be anything."""
    return players, playing, contact, mute, vibrato, string


def fits(answer, wanted):
    players, playing, *rest = wanted
    found = (answer.contact, answer.mute, answer.vibrato, answer.string)
    return (
        players in answer.players
        and playing in answer.playing
        and all(want is None or want == have for want, have in zip(rest, found, strict=True))
    )


WISHES = [
    ("low expressive melody on the G string",
     {"like": "dark, expressive", "pitches": "G3 Bb3 A3 D4 C4", "at": "mf", "role": "melody"},
     [way("violins", "legato", string="G")]),
    ("cold and scary", {"like": "cold, scary", "pitches": "D4 A4", "at": "p"},
     [way("", "tremolo", contact="sul ponticello")]),
    ("radiant and high in late Romantic manner",
     {"like": "radiant", "pitches": "F6 A6 G6 C7", "at": "ff", "role": "melody"},
     [way("first and second violins in unison"), way("second violins an octave lower")]),
    ("airy accompaniment (Berlioz, djvu/15)",
     {"like": "airy", "pitches": "C6 E6 G6", "at": "pp", "role": "accompaniment"},
     [way("violins", "tremolo")]),
    ("warm inner voices",
     {"like": "warm", "pitches": "D4 E4 G4", "at": "mp", "role": "filling"},
     [way("violas", "legato")]),
    ("rich inner voices (Krehbiel, on the viola)",
     {"like": "rich", "pitches": "D4 E4 G4", "at": "mp", "role": "filling"},
     [way("violas", "legato")]),
    ("percussive (Berlioz, djvu/28, on col legno)",
     {"like": "percussive", "pitches": "C3 G3", "at": "mf", "role": "accompaniment"},
     [way("", "col legno battuto"), way("", "snap pizzicato")]),
    ("percussive and loud",
     {"like": "percussive", "pitches": "C2 G2", "at": "ff", "role": "bass line"},
     [way("cello", "snap pizzicato")]),
    ("distant", {"like": "distant", "pitches": "D5 G5 A5", "at": "ppp"},
     [way(mute="con sordino"), way(contact="flautando")]),
    ("stormy (Berlioz, djvu/15)", {"like": "stormy", "pitches": "E5 G5 A5", "at": "ff"},
     [way("violins", "tremolo")]),
    ("agitated on the low strings (Berlioz, violin)",
     {"like": "agitated, frightening", "pitches": "G3 Bb3", "at": "mf"},
     [way("", "tremolo")]),
    ("mysterious softness (Berlioz, violin: harmonics in parts, more so with mutes)",
     {"like": "mysterious, airy", "pitches": "A5 D6", "at": "pp", "role": "accompaniment"},
     [way("violins", "harmonic")]),
    ("sad and soft (Berlioz, djvu/32)", {"like": "sad, soft", "pitches": "D4 F4 A4", "at": "p"},
     [way(mute="con sordino")]),
    ("among the most expressive sounds (Berlioz, djvu/57)",
     {"like": "expressive, singing", "pitches": "D3 A3 C4 E4", "at": "mf", "only": "cello"},
     [way("cellos", "legato")]),
    ("grave bass (Berlioz, djvu/57; Rimsky-Korsakov, doubling in octaves, f)",
     {"like": "grave", "pitches": "E2 G2 C2", "at": "mf", "role": "bass line"},
     [way("cellos, double basses an octave lower"), way("cellos")]),
    ("rich and full (Rimsky-Korsakov, grouping in unison, c)",
     {"like": "rich, full", "pitches": "A3 C4 E4", "at": "f", "role": "melody"},
     [way("violas and cellos in unison")]),
    ("very expressive (Rimsky-Korsakov, doubling in octaves, e)",
     {"like": "expressive", "pitches": "D5 F5 A5", "at": "f", "role": "melody"},
     [way("violins, cellos an octave lower")]),
    ("full and very high (Rimsky-Korsakov, doubling in octaves, a)",
     {"like": "full", "pitches": "E6 G6 F6", "at": "f", "role": "melody"},
     [way("first violins, second violins an octave lower")]),
    ("severe, middle range (Rimsky-Korsakov, doubling in octaves, h)",
     {"like": "noble", "pitches": "C5 D5 F5", "at": "f", "role": "melody"},
     [way("both violins over violas and cellos")]),
    ("light and dry in quick notes",
     {"like": "light, dry", "pitches": "D5 E5 F5 G5", "at": "p", "tempo": 300},
     [way("violins", "spiccato")]),
    ("energetic (Berlioz, djvu/28, at the frog)",
     {"like": "energetic, robust", "pitches": "G3 D4 F4", "at": "f", "tempo": 120},
     [way("", "at the frog")]),
    ("delicate (Berlioz, djvu/28, at the point)",
     {"like": "delicate, light", "pitches": "D5 F5 E5", "at": "p", "tempo": 120},
     [way("", "at the point")]),
    ("melancholy (Berlioz, djvu/42)",
     {"like": "melancholy", "pitches": "G3 C4 D4", "at": "mf", "role": "melody"},
     [way("violas")]),
    ("metallic (Berlioz, djvu/28)", {"like": "metallic", "pitches": "D4 A4", "at": "mf"},
     [way(contact="sul ponticello")]),
    ("expressionless", {"like": "expressionless", "pitches": "D4 A4", "at": "p"},
     [way(vibrato="non vibrato")]),
    ("sweet and very soft (Berlioz, chapter 2, massed E strings)",
     {"like": "sweet, penetrating", "pitches": "E5 G5 B5", "at": "pp", "role": "melody"},
     [way("violins", "legato")]),
]  # fmt: skip


@pytest.mark.parametrize(("name", "asked", "expected"), WISHES, ids=[w[0] for w in WISHES])
def test_a_wish_has_its_answers_near_the_top(ask, name, asked, expected):
    found = ask.scoring(**asked)
    top = found[:NEAR_THE_TOP]
    for wanted in expected:
        assert any(fits(answer, wanted) for answer in top), [
            (a.score, a.players, a.string, a.playing, a.contact, a.mute, a.vibrato) for a in found
        ]
    assert all(answer.why and answer.evidence for answer in found)
    assert [answer.score for answer in found] == sorted((a.score for a in found), reverse=True)


@pytest.mark.parametrize(
    ("asked", "unwanted"),
    [
        ({"like": "soft", "pitches": "D4 A4", "at": "fff"}, way(mute="con sordino")),
        ({"like": "mysterious", "pitches": "D4 A4", "at": "fff"}, way(mute="con sordino")),
        ({"like": "pure", "pitches": "D5 A5", "at": "ff", "role": "melody"}, way("", "harmonic")),
        ({"like": "light", "pitches": "D4 E4 F4", "at": "p", "tempo": 50}, way("", "spiccato")),
        ({"like": "light", "pitches": "D4 E4 F4", "at": "p", "tempo": 50}, way("", "sautillé")),
        ({"like": "dark", "pitches": "G3 D4", "at": "mf"}, way(contact="sul ponticello")),
        ({"like": "singing", "pitches": "G3 D4", "at": "mf"}, way("", "pizzicato")),
        ({"like": "soft", "pitches": "D4 A4", "at": "p", "without": "con sordino"},
         way(mute="con sordino")),
        ({"like": "dark", "pitches": "C3 G3", "at": "mf"}, way("violin")),
    ],
)  # fmt: skip
def test_what_must_not_appear(ask, asked, unwanted):
    found = ask.scoring(**asked)
    assert not [answer for answer in found if fits(answer, unwanted)]
    assert found or found.remarks


def test_opposite_words_exclude_each_other(ask):
    found = ask.scoring(like="dark, bright", pitches="G3 D4")
    assert not found
    assert "opposites" in found.remarks[0]


def test_only_some_instruments(ask):
    found = ask.scoring(like="warm", pitches="D4 A4", at="mp", only="viola, cello")
    assert found
    assert not any("violin" in answer.players for answer in found)


def test_the_level_of_the_players_counts(ask):
    high = {"like": "radiant", "pitches": "F6 A6 C7 G6", "at": "f"}
    assert ask.scoring(**high)
    students = ask.scoring(**high, level="student")
    assert not any("artificial" not in a.playing for a in students)
    assert students or students.remarks


def test_the_hand_of_the_players_counts(ask):
    """Wide leaps at a high tempo are harder for students than they are used to."""
    leaps = {"like": "energetic", "pitches": "G3 E5 A3 F5 B3 G5 C4 A5", "at": "f", "tempo": 200}
    best = {level: ask.scoring(**leaps, level=level)[0] for level in ("student", "soloist")}
    assert any("left hand" in each for each in best["student"].against)
    assert not any("left hand" in each for each in best["soloist"].against)
    assert best["student"].score < best["soloist"].score


def test_a_line_may_come_from_a_score(ask, tmp_path):
    demo = orchq_demo()
    score = tmp_path / "demo.musicxml"
    score.write_bytes(demo.read_bytes())
    found = ask.scoring(like="warm", from_=str(score), part="Violas", measures="1-4")
    assert found
    assert found.parameters["part"] == "Violas"
    for wrong in ({"part": "Kazoo"}, {"measures": "9999"}):
        with pytest.raises(OrchqError):
            ask.scoring(like="warm", from_=str(score), **wrong)


def orchq_demo():
    from importlib.resources import files  # noqa: PLC0415 - one test needs it

    return files("orchq") / "demo" / "lantern-street.musicxml"


def test_a_line_is_given_once(ask):
    with pytest.raises(OrchqError, match="line"):
        ask.scoring(like="warm", pitches="G3", from_="x.musicxml")
    found = ask.scoring(like="warm")
    assert not found
    assert "No line" in found.remarks[0]


def test_every_weight_is_a_rule_of_the_graph(graph):
    """Each rule has words and a basis, and without wishes only limits and roles rank."""
    rules = [each for each in graph.ask.facts("scoring") if each["kind"].endswith("ScoringRule")]
    assert len(rules) >= 16
    for rule in rules:
        [evidence] = graph.ask.evidence_for(rule["thing"])
        assert evidence.basis == "judgement"
        assert len(evidence.statement) > 20


def on_string(found, string):
    return [answer for answer in found if answer.string == string]


@pytest.mark.parametrize(
    ("like", "pitches", "only", "register"),
    [
        # One note beyond: it is still a line of that string.
        ("warm", "D4 E4 F4 G4 C4", "violin", "D string of the violin"),
        ("sweet", "A4 B4 C5 D5 G4", "violin", "A string of the violin"),
        ("dark", "C3 D3 Eb3 F3 G3 F3 D3", "viola", "C string of the viola"),
        ("veiled", "D3 F3 G3 E3 A3", "cello", "D string of the cello"),
    ],
)
def test_a_line_lies_on_the_string_that_most_of_it_takes(ask, like, pitches, only, register):
    found = ask.scoring(like=like, pitches=pitches, only=only, at="mf")
    unasked = [answer for answer in found if answer.string is None]
    assert any(f"{like}: {register}" in answer.why for answer in unasked)


def test_half_a_line_makes_no_register(ask):
    """Two notes on the G string and two on the D string are of neither."""
    found = ask.scoring(like="warm", pitches="A3 B3 E4 F4", only="violin", at="mf")
    unasked = [answer for answer in found if answer.string is None]
    assert unasked
    assert not any("D string of the violin" in reason for each in unasked for reason in each.why)


def test_a_line_for_a_lower_string_is_proposed_there(ask):
    """The theme lies on the D and A strings in first position, and is called for on the G string,
    where it is within an octave and a fifth, as in the air arranged for that string (common
    practice); three octaves above it nobody plays it there.
    """
    theme = ask.scoring(like="dark, singing", pitches="D4 E4 F4 A4 G4", at="mf", only="violin")
    assert on_string(theme[:3], "G")
    above = ask.scoring(like="dark, singing", pitches="D6 E6 F6", at="mf", only="violin")
    assert not on_string(above, "G")


def test_a_string_is_not_called_for_where_no_other_has_the_notes(ask):
    """Below the open D string there is only the G string."""
    low = ask.scoring(like="dark", pitches="G3 A3 Bb3 C4", at="mf", only="violin")
    assert low
    assert not on_string(low, "G")


def test_a_string_is_called_for_its_own_sound_only(ask):
    """The A string is clear, and nobody asks for it to be brilliant; whatever string the many
    violins of Berlioz's tremolo take, it agitates.
    """
    loud = ask.scoring(like="brilliant", pitches="D5 F#5 A5 D6", at="ff", role="melody")
    assert loud
    assert not on_string(loud, "A")
    low = ask.scoring(like="agitated", pitches="A4 Bb4 A4 G4", at="p", only="violin")
    assert low
    assert not [answer for answer in low if answer.string]
