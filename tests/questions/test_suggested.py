"""Words of character that no description uses: what brings them out, and what is near others."""

import pytest

from orchq.errors import OrchqError


def found_for(ask, word, **asked):
    return [(each.what, each.fit) for each in ask.colours(like=word, **asked)]


@pytest.mark.parametrize(
    ("word", "ways"),
    [
        # Common practice of composers for strings.
        ("ghostly", {"artificial harmonics", "tremolo at the bridge"}),
        ("playful", {"pizzicato", "spiccato"}),
        ("menacing", {"tremolo", "separate bows at the frog", "low strings of the cello"}),
        ("bleak", {"legato without vibrato"}),
        ("hollow", {"natural harmonics", "over the fingerboard without vibrato"}),
        ("rustic", {"open string", "open strings of the violin"}),
        ("wooden", {"col legno battuto"}),
        ("lonely", {"solo violin", "solo viola", "solo cello"}),
        ("hymn-like", {"violas divided in two", "cellos divided in three or four"}),
        ("sighing", {"legato with slides"}),
        ("brutal", {"snap pizzicato"}),
    ],
)
def test_what_brings_a_word_out(ask, word, ways):
    suggested = {what for what, fit in found_for(ask, word) if fit == "suggested"}
    assert ways <= suggested


def test_a_suggestion_says_why(ask):
    [answer] = [each for each in ask.colours(like="rustic") if each.what == "open string"]
    assert "fiddler" in answer.evidence[-1].statement


def test_a_suggestion_holds_on_the_instruments_that_have_it(ask):
    lonely = {what for what, fit in found_for(ask, "lonely", on="viola") if fit == "suggested"}
    assert "solo viola" in lonely
    assert not lonely & {"solo violin", "solo cello"}


def test_a_suggestion_answers_its_own_word_only(ask):
    """Slurs can be languid, and are not thereby the opposite of energetic."""
    assert ("legato", "suggested") in found_for(ask, "languid")
    assert "legato" not in dict(found_for(ask, "energetic"))
    loud = ask.scoring(like="strong", pitches="G3 D4", at="f")
    assert not any("dying away" in reason for each in loud for reason in each.why)


@pytest.mark.parametrize(
    ("word", "near"),
    [
        ("giocoso", "playful"),  # printed words, by what they mean
        ("dolente", "sad"),
        ("misterioso", "mysterious"),
        ("menace", "menacing"),  # of one stem
        ("insects", "swarming"),
        ("fiddlers", "rustic"),  # in the reason of a suggestion
        ("gostly", "ghostly"),  # misspelt
    ],
)
def test_an_unknown_word_has_near_ones(ask, word, near):
    for question in (
        lambda: ask.colours(like=word),
        lambda: ask.scoring(like=f"warm, {word}", pitches="G3"),
    ):
        with pytest.raises(OrchqError) as failure:
            question()
        assert near in str(failure.value).split("did you mean ")[1]


def test_a_word_that_only_looks_alike_is_no_meaning(ask):
    """Nothing that is joyless is joyful."""
    with pytest.raises(OrchqError, match="none is known to be near it in meaning"):
        ask.colours(like="joyless")


def test_a_word_with_nothing_near_it_is_called_unknown(ask):
    with pytest.raises(OrchqError, match="known are"):
        ask.colours(like="zzzz")


WISHES = [
    ("ghostly", {"pitches": "D5 G5 A5", "at": "p"},
     lambda a: "artificial" in a.playing or a.contact == "sul ponticello"),
    ("menacing", {"pitches": "C2 Eb2 D2", "at": "mf"},
     lambda a: "cellos" in a.players and a.playing.startswith(("tremolo", "at the frog"))),
    ("playful", {"pitches": "D5 E5 F5 D5", "at": "mf"},
     lambda a: "violins" in a.players and a.playing in ("pizzicato", "spiccato", "ricochet")),
    ("bleak", {"pitches": "D4 F4 A4", "at": "p"}, lambda a: a.vibrato == "non vibrato"),
    ("lonely", {"pitches": "G4 A4 Bb4", "at": "pp"}, lambda a: a.players.startswith("solo")),
    ("sighing", {"pitches": "A4 G4 F4 E4", "at": "p", "role": "melody"},
     lambda a: "portamento" in a.playing or a.vibrato == "vibrato espressivo"),
]  # fmt: skip


@pytest.mark.parametrize(("word", "asked", "wanted"), WISHES, ids=[each[0] for each in WISHES])
def test_a_suggestion_leads_the_ways_to_score_a_line(ask, word, asked, wanted):
    found = ask.scoring(like=word, **asked)
    assert any(wanted(answer) for answer in found[:3])
    assert any("suggestion-" in each.limit for each in found[0].evidence)
