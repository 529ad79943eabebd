"""Parts of instrument and bow: what they are called, and which techniques happen there."""

import pytest

from orchq.errors import OrchqError
from orchq.knowledge import load


@pytest.mark.parametrize(
    ("word", "part", "techniques"),
    [
        # Common practice: every word below is that of players, makers and scores.
        ("bridge", "bridge", {"sul ponticello", "bow on the bridge", "bow behind the bridge"}),
        ("Steg", "bridge", {"sul ponticello", "con sordino"}),
        ("Saitenhalter", "tailpiece", {"bow on the tailpiece"}),
        ("Frosch", "frog", {"at the frog"}),
        ("talon", "frog", {"at the frog"}),
        ("punta", "tip", {"at the point"}),
        ("touche", "fingerboard", {"sul tasto"}),
        ("wood of the bow", "stick", {"col legno battuto", "col legno tratto"}),
        ("Korpus", "body", {"knock on the body"}),
        ("âme", "sound post", set()),
        ("colophane", "rosin", set()),
    ],
)
def test_a_part_is_found_in_four_languages(ask, word, part, techniques):
    [found] = ask.parts(part=word)
    assert found.part == part
    assert techniques <= set(found.techniques)
    assert found.evidence


def test_instruments_have_their_own_parts(ask):
    """Violins have chin rests, cellos and double basses stand on endpins; all have bows."""
    named = {on: {each.part for each in ask.parts(on=on)} for on in ("violin", "cello")}
    assert "chin rest" in named["violin"] - named["cello"]
    assert "endpin" in named["cello"] - named["violin"]
    assert {"bridge", "frog", "gut", "sound post"} <= named["violin"] & named["cello"]
    assert "fine tuner" not in {each.part for each in ask.parts(on="double bass")}


def test_a_string_is_made_of_something(ask):
    [string] = ask.parts(part="string")
    assert set(string.made_of) == {"gut", "steel", "synthetic core", "wound string"}
    [table] = ask.parts(part="belly")
    assert (table.part, table.part_of, table.german) == ("table", "body", ("Decke",))


def test_a_part_an_instrument_lacks(ask):
    found = ask.parts(part="endpin", on="violin")
    assert not found
    assert found.remarks
    with pytest.raises(OrchqError, match="did you mean bridge"):
        ask.parts(part="brigde")


@pytest.mark.parametrize(
    ("printed", "label"),
    [
        ("am Frosch", "at the frog"),
        ("an der Spitze", "at the point"),
        ("auf dem Saitenhalter", "bow on the tailpiece"),
        ("hinter dem Steg", "bow behind the bridge"),
        ("on the body", "knock on the body"),
        ("auf den Korpus klopfen", "knock on the body"),
        ("frapper sur la caisse", "knock on the body"),
        ("battere sulla cassa", "knock on the body"),
    ],
)
def test_words_on_the_page_name_what_happens_there(printed, label):
    knowledge = load()
    reading = knowledge.recognise(printed)
    assert [knowledge.label(each) for each in reading.directives] == [label]
    assert not reading.unknown
