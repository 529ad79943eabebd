"""Names in four languages, pitches in several spellings, and the nearest right ones."""

import pytest

from orchq.errors import OrchqError
from orchq.questions.pitch_names import parse_pitch, parse_pitches

OQ = "https://w3id.org/orchq/"


@pytest.mark.parametrize(
    ("text", "slug"),
    [
        ("violin", "violin"), ("Geige", "violin"), ("Violons", "violin"), ("violino", "violin"),
        ("alto", "viola"), ("Bratsche", "viola"), ("Vla.", "viola"), ("violoncelle", "cello"),
        ("VIOLONCELLO", "cello"), ("double bass", "double-bass"), ("double-bass", "double-bass"),
        ("Kontrabass", "double-bass"), ("contrebasse", "double-bass"), ("oq:viola", "viola"),
        (OQ + "cello", "cello"),
    ],
)  # fmt: skip
def test_instruments_in_four_languages(ask, text, slug):
    assert ask.names.instrument(text).slug == slug


@pytest.mark.parametrize(
    ("text", "slug"),
    [
        ("spiccato", "spiccato"), ("Spicc.", "spiccato"), ("martele", "martele"),
        ("martelé", "martele"), ("am Steg", "sul-ponticello"), ("sur la touche", "sul-tasto"),
        ("with mute", "con-sordino"), ("mit Dämpfer", "con-sordino"), ("pizz.", "pizzicato"),
        ("Flageolett", "harmonics"), ("natural harmonic", "natural-harmonic"),
        ("tremolo, unmeasured", "tremolo-unmeasured"), ("snap-pizzicato", "snap-pizzicato"),
    ],
)  # fmt: skip
def test_techniques_in_four_languages(ask, text, slug):
    assert ask.names.technique(text).slug == slug


@pytest.mark.parametrize(
    ("text", "slug"),
    [("ff", "ff"), ("fortissimo", "ff"), ("FF", "ff"), ("mezzo forte", "mf"), ("piano", "p")],
)
def test_dynamics_as_printed_and_in_words(ask, text, slug):
    assert ask.names.dynamic(text).slug == slug


@pytest.mark.parametrize("text", ["de", "DE", "German", "Deutsch"])
def test_languages(ask, text):
    assert ask.names.language(text) == "de"


@pytest.mark.parametrize(
    ("text", "slug"),
    [("berlioz", "berlioz"), ("Tavan", "tavan"), ("Klanner", "klanner"), ("small-1936",) * 2],
)
def test_sources(ask, text, slug):
    assert ask.names.source(text).slug == slug


@pytest.mark.parametrize(
    ("call", "near"),
    [
        (lambda ask: ask.dynamics(on="violin", technique="spicato"), "spiccato"),
        (lambda ask: ask.dynamics(on="violinn", technique="spiccato"), "violin"),
        (lambda ask: ask.colours(like="glasy"), "glassy"),
        (lambda ask: ask.compass(on="viola", level="studnt"), "student"),
        (lambda ask: ask.compass(on="viola", trust="berlio"), "berlioz"),
        (lambda ask: ask.terms(for_="sul ponticelo"), "sul ponticello"),
        (lambda ask: ask.question("tecniques", {}), "techniques"),
        (lambda ask: ask.question("compass", {"in": "viola"}), "it takes --on"),
        (lambda ask: ask.question("bow", {"on": "viola"}), "needs --at"),
    ],
)
def test_wrong_names_get_the_nearest_right_ones(ask, call, near):
    with pytest.raises(OrchqError, match=near):
        call(ask)


@pytest.mark.parametrize("text", ["double tongue", "ordinario", "div.", "pizz. arco", "spiccato x"])
def test_what_is_no_technique_of_strings_is_refused(ask, text):
    with pytest.raises(OrchqError):
        ask.names.technique(text)


def test_several_techniques_in_one_text(ask):
    found = ask.names.techniques("con sord. sul pont., trill")
    assert [each.slug for each in found] == ["con-sordino", "sul-ponticello", "trill"]


def test_what_was_understood_is_told(ask):
    answers = ask.techniques(on="Geige", at="fortissimo", pitch="a'")
    assert answers.parameters == {"on": "violin", "at": "ff", "pitch": "A4"}


@pytest.mark.parametrize(
    ("text", "midi"),
    [
        ("A4", 69), ("a4", 69), ("A#4", 70), ("Bb4", 70), ("B♭4", 70), ("B flat 4", 70),
        ("b-flat 4", 70), ("F sharp 5", 78), ("F##5", 79), ("Cx4", 62), ("Ebb4", 62),
        ("a'", 69), ("a\N{PRIME}", 69), ("a\N{RIGHT SINGLE QUOTATION MARK}", 69), ("bb'", 70),
        ("c''", 72), ("C,", 24), ("E,", 28), ("C-1", 0), ("69", 69), (69, 69), ("0", 0),
        ("127", 127), ("G9", 127), ("H4", 71),
    ],
)  # fmt: skip
def test_pitches(text, midi):
    # Helmholtz: c' is C4 (middle C), C is C2, C, is C1.
    assert parse_pitch(text).midi == midi


@pytest.mark.parametrize(
    "text",
    ["", "A", "bb", "H", "A4x", "A10", "G#9", "128", "-1", "4A", "A'", "c,", "A 4 4", "B flat",
     "\N{FULLWIDTH DIGIT FOUR}", "A\N{ARABIC-INDIC DIGIT FOUR}", "a" + "'" * 9],
)  # fmt: skip
def test_what_is_no_pitch_is_refused(text):
    with pytest.raises(OrchqError):
        parse_pitch(text)


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("G3 D4 B4", ["G3", "D4", "B4"]),
        ("G3-D4-B4", ["G3", "D4", "B4"]),
        ("G3,D4, B4", ["G3", "D4", "B4"]),
        ("g d' b flat 4", None),
        ("B flat 3 F sharp 4", ["Bb3", "F#4"]),
        ("55 62", ["G3", "D4"]),
        ("C-1 C0", ["C-1", "C0"]),
        ("c'-e'-g'", ["C4", "E4", "G4"]),
    ],
)
def test_several_pitches(text, names):
    if names is None:
        with pytest.raises(OrchqError, match="octave"):
            parse_pitches(text)
    else:
        assert [pitch.name for pitch in parse_pitches(text)] == names


def test_too_many_pitches_are_refused():
    with pytest.raises(OrchqError, match="too many"):
        parse_pitches("A4 " * 65)


@pytest.mark.long
def test_every_printed_form_of_the_graph_is_a_name(ask, graph):
    triples = [(quad.subject, quad.predicate.value, quad.object.value) for quad in graph.quads]
    named = {subject: iri for subject, predicate, iri in triples if predicate == OQ + "names"}
    predicates = {OQ + name for name in ("hasForm", "hasPlural", "hasAbbreviation")}
    refused, asked = [], 0
    for term, predicate, form in triples:
        directive = graph.directives.get(named.get(term, ""))
        # Words that stand in the name of a part alone are not asked about.
        if predicate in predicates and not (directive and "PartNameWord" in directive.kinds):
            asked += 1
            try:
                ask.names.printed(form)
            except OrchqError:
                refused.append(form)
    assert asked > 1000
    assert refused == []
