"""Words for sound: what is near to what, and what excludes what."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

import orchq
from orchq.knowledge import load

THESAURUS = load().thesaurus
LABELS = sorted(word.label for word in THESAURUS.words.values())
words = st.sampled_from(LABELS)


@pytest.mark.parametrize(
    ("asked", "found", "nearness"),
    [
        # Common practice.
        ("dark", "sombre", "same"),
        ("Dark", "GRAVE", "narrower"),
        ("grave", "dark", "broader"),
        ("warm", "mellow", "same"),
        ("bright", "dark", "opposite"),
        ("brilliant", "grave", "opposite"),
        ("singing", "dry", "opposite"),
        ("frightening", "cold", "related"),
        ("scary", "icy", "related"),
        ("sad", "metallic", None),
        ("made up", "made up", "same"),
        ("made up", "dark", None),
    ],
)
def test_how_near_one_word_is_to_another(asked, found, nearness):
    assert THESAURUS.nearness(asked, found) == nearness


@given(words, words)
def test_nearness_goes_both_ways(one, other):
    turned = {"narrower": "broader", "broader": "narrower"}
    there, back = THESAURUS.nearness(one, other), THESAURUS.nearness(other, one)
    assert back == turned.get(there, there)


@given(words)
def test_no_word_contradicts_what_is_above_it(label):
    word = THESAURUS.named(label)
    above = [THESAURUS.words[iri].label for iri in word.broader]
    assert all(THESAURUS.nearness(label, each) == "broader" for each in above)


def test_every_word_has_a_place():
    for word in THESAURUS.words.values():
        assert word.broader or word.opposites or word.related, word.label


def test_every_description_uses_words_that_are_known():
    ask = orchq.load().ask
    found = [answer for label in LABELS for answer in ask.colours(like=label)]
    described = {answer.what for answer in found if answer.fit != "suggested"}
    knowledge = load()
    registers = {r.label for each in knowledge.instruments.values() for r in each.registers}
    coloured = {each.label for each in knowledge.techniques.values() if each.colours}
    assert described == registers | coloured
