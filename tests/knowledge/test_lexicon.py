"""Printed words and names of parts are read through the graph, in four languages."""

import pytest

from orchq import load
from orchq.knowledge.lexicon import words_of
from orchq.terms import local_name

KNOWLEDGE = load()


def _read(text: str) -> tuple[list[str], int | None, str]:
    reading = KNOWLEDGE.recognise(text)
    return [local_name(iri) for iri in reading.directives], reading.number, reading.unknown


@pytest.mark.parametrize(
    ("text", "directives", "number"),
    [
        ("pizz.", ["pizzicato"], None),
        ("PIZZICATO", ["pizzicato"], None),
        ("arco", ["arco"], None),
        ("con sord.", ["con-sordino"], None),
        ("mit Dämpfer", ["con-sordino"], None),
        ("ôtez les sourdines", ["senza-sordino"], None),
        ("take off mute", ["senza-sordino"], None),
        ("am Steg", ["sul-ponticello"], None),
        ("sur la touche", ["sul-tasto"], None),
        ("sul G", ["on-g-string"], None),
        ("IVa corda", ["on-string-4"], None),
        ("div. a 3", ["divisi"], 3),
        ("div. in 4", ["divisi"], 4),
        ("1 solo", ["solo"], 1),
        ("pizz. e cresc.", ["pizzicato", "crescendo"], None),
        ("p dolce", ["p", "expression-dolce"], None),
        ("f non ligato", ["f", "non-legato"], None),
        ("pp sempre legatiss.", ["pp", "expression-sempre", "legato"], None),
        ("col punto d'arco", ["punta-d-arco"], None),
        ("pp légèrement et detachées", ["pp", "expression-leggiero", "detache"], None),
        ("arpeg.", ["arpeggiate"], None),
        ("sul' una corda", ["on-one-string"], None),
        ("sopra un corda", ["on-one-string"], None),
        ("2 e C.", ["on-string-2"], None),
        ("3 e .C", ["on-string-3"], None),
        ("3rd corde", ["on-string-3"], None),
        ("corda C", ["on-c-string"], None),
        ("m.v.", ["expression-mezza-voce"], None),
        ("f espress. (ma non solo)", ["f", "expression-espressivo", "expression-degree"], None),
        ("agitato non cresc.", ["expression-agitato", "expression-unchanged"], None),
        ("senza cresc.", ["expression-unchanged"], None),
        ("string. il tempo.", ["tempo-accelerando"], None),
        ("un poco più slentando", ["tempo-ritardando"], None),
        ("vibrato", ["ordinary-vibrato"], None),
        ("vibrato normale", ["ordinary-vibrato"], None),
        ("poco vibr.", ["poco-vibrato"], None),
        ("ondeggiando", ["ondule"], None),
        ("con sord. uno leggio dopo l'altro", ["con-sordino", "desk-by-desk"], None),
    ],
)
def test_reads_words(text: str, directives: list[str], number: int | None) -> None:
    found, figure, _ = _read(text)
    assert (found, figure) == (directives, number)


@pytest.mark.parametrize(
    "text",
    [
        "zarzuela",
        "F♯",
        "G to A♭",
        "III.",
        "IV",
        "",
        "M.D.C.",
        "M. D. C. senza replica",
        "N.B. In this edition the staccato dots of the source are given as printed, for f and p.",
    ],
)
def test_does_not_guess(text: str) -> None:
    assert _read(text)[0] == []


def test_the_longest_term_wins() -> None:
    assert _read("senza sordino")[0] == ["senza-sordino"]
    assert _read("col legno tratto")[0] == ["col-legno-tratto"]


@pytest.mark.parametrize(
    ("name", "instrument", "section"),
    [
        ("Violin I", "violin", False),
        ("1st Violin", "violin", False),
        ("Violini II", "violin", True),
        ("Geigen", "violin", True),
        ("Bratsche", "viola", False),
        ("Altos", "viola", True),
        ("Vc.", "cello", False),
        ("Violoncelli", "cello", True),
        ("Contrebasses", "double-bass", True),
        ("Kontrabass", "double-bass", False),
    ],
)
def test_names_of_parts(name: str, instrument: str, section: bool) -> None:
    match = KNOWLEDGE.instrument_named(name)
    assert match.instrument is not None
    assert (local_name(match.instrument), match.section) == (instrument, section)


@pytest.mark.parametrize("name", ["Viola d'amore", "Violone", "Bass Clarinet", "Viola da gamba"])
def test_relatives_are_not_mistaken(name: str) -> None:
    assert KNOWLEDGE.instrument_named(name).instrument is None


def test_the_sound_helps_where_the_name_does_not() -> None:
    match = KNOWLEDGE.instrument_named("MusicXML Part", None, "strings.viola")
    assert match.instrument == "https://w3id.org/orchq/viola"


def test_words_lose_case_accents_and_points() -> None:
    assert words_of("Più  p, sulla IV.") == ("piu", "p", "sulla", "iv")
