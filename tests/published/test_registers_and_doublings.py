"""What the handbooks that were read say of registers, doubling and balance is in the graph.

Each row names the source, the place in it, words of the statement and what the graph calls it.
Rimsky-Korsakov: Principles of Orchestration, chapters I and II. Berlioz: Treatise, scans djvu and
quoted copies. Krehbiel: How to Listen to Music. Britannica, 14th edition.
"""

import pytest

import orchq

ASK = orchq.load().ask

REGISTERS = [
    ("violin", "open strings of the violin", {"full"}),  # Berlioz, djvu/11
    ("violin", "massed E strings of the violins, very soft", {"sweet", "penetrating"}),  # chapter 2
    ("violin", "middle of the upper violin strings", {"stormy", "violent"}),  # Berlioz, djvu/15
    ("violin", "high E string of divided violins", {"airy", "angelic"}),  # Berlioz, djvu/15
    ("violin", "tremolo of many violins on the lower strings", {"agitated", "frightening"}),
    ("viola", "low strings of the viola", {"biting"}),  # Berlioz, djvu/42
    ("viola", "high notes of the viola", {"sad", "passionate"}),  # Berlioz, djvu/42
    ("viola", "whole compass of the viola", {"melancholy"}),  # Berlioz, djvu/42
    ("viola", "body of the viola's tone", {"rich"}),  # Krehbiel
    ("cello", "upper cello strings in unison", {"expressive"}),  # Berlioz, djvu/57
    ("cello", "low strings of the cello", {"smooth", "grave"}),  # Berlioz, djvu/57
    ("double bass", "bowed tone of the double bass", {"powerful", "rough"}),  # Britannica
]

DOUBLINGS = [
    # Rimsky-Korsakov, chapter II, grouping in unison, a to d
    ("first and second violins in unison", {"powerful", "rich"}),
    ("violins and violas in unison", {"full", "rich"}),
    ("violas and cellos in unison", {"rich", "full"}),
    ("violins and cellos in unison", {"full"}),
    # The same, doubling in octaves, a, b, e to h
    ("first violins an octave above the seconds", {"full", "expressive"}),
    ("one violin section divided in octaves", {"weak"}),
    ("violins an octave above cellos", {"expressive"}),
    ("cellos an octave above double basses", set()),
    ("violas an octave above double basses", set()),
    ("both violins an octave above violas and cellos", {"grave"}),
]

BALANCE = [
    # Rimsky-Korsakov, chapter I, comparison of resonance
    "strings against wind",
    "brass, horns and woodwind",
    "plucked and struck strings are covered",
    "strings with woodwind and with brass",
    # The same, chapters I A, I C and II
    "large and small string sections",
    "by desks or by players",
    "pizzicato has little expression",
    "melodies of violas are doubled",
    # Berlioz, the violin
    "tremolo of many violins, low",
    "violins in harmonics",
    # Berlioz and Strauss, the violoncello
    "very high notes of the cello",
]

STATED = """
SELECT ?label ?basis ?locator ?effect WHERE {
    ?note skos:prefLabel ?label ; oq:statement ?says ; oq:hasBasis ?basis ; oq:locator ?locator .
    OPTIONAL { ?note oq:hasEffect ?effect }
}"""


@pytest.fixture(scope="module")
def stated():
    found = {}
    for row in ASK.select(STATED):
        found.setdefault(row["label"], set()).add(row.get("effect"))
        assert row["basis"].endswith(("published", "attested", "derived"))
    return found


@pytest.mark.parametrize(("on", "register", "character"), REGISTERS)
def test_a_published_register_is_in_the_graph(on, register, character):
    [found] = [each for each in ASK.registers(on=on) if each.register == register]
    assert character <= set(found.character)
    assert found.evidence[0].basis == "published"


@pytest.mark.parametrize(("label", "effect"), DOUBLINGS)
def test_a_published_doubling_is_in_the_graph(stated, label, effect):
    assert effect <= stated[label]


@pytest.mark.parametrize("label", BALANCE)
def test_what_is_published_on_balance_is_in_the_graph(stated, label):
    assert label in stated
