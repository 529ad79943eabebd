"""Figures of the graph against the sources, retyped from the sources' rows.

Each row names its source and the place in it; a row without source is memory or common practice
and says so.
"""

import pytest
from rdflib import URIRef

OQ = "https://w3id.org/orchq/"

COMPASS = [
    # instrument, level, lowest, usual highest, highest, source, locator
    ("violin", "orchestral", "G3", None, "C7", "berlioz", "djvu/11"),
    ("violin", "orchestral", "G3", "G6", "C7", "tavan", "djvu/14"),
    ("violin", None, "G3", None, "C7", "collier", "page 228"),
    ("violin", "soloist", "G3", None, "G7", "abjad", "default range"),
    ("viola", "orchestral", "C3", None, "C6", "berlioz", "djvu/42"),
    ("viola", "soloist", "C3", None, "D6", "abjad", "default range"),
    ("viola", "soloist", "C3", None, "E6", "spiegato", "page"),
    ("cello", "orchestral", "C2", None, "G5", "berlioz", "djvu/49"),
    ("cello", "soloist", "C2", None, "G5", "abjad", "default range"),
    ("cello", "soloist", "C2", None, "E6", "dummies-handbook", "page"),
    ("double-bass", "orchestral", "E1", None, "A3", "berlioz", "djvu/61"),
]

TECHNIQUE_COMPASS = [
    ("pizzicato", "C6", "tavan", "djvu/14"),
    ("natural-harmonic", "E7", "tavan", "djvu/17"),
    ("artificial-harmonic", "E7", "tavan", "djvu/17"),
    ("artificial-harmonic", "G7", "berlioz", "djvu/29"),
]

SECTIONS = [
    # ensemble's part of the name, (first, second, viola, cello, bass), source
    ("string-orchestra-chapter", (16, 14, 12, 10, 8), "string-orchestra-chapter"),
    ("gehrkens", (18, 16, 14, 12, 10), "gehrkens"),
    (
        "royal-philharmonic",
        ((12, 16), (10, 14), (8, 12), (6, 10), (4, 8)),
        "royal-philharmonic",
    ),
    ("string-orchestra-minimum", (4, 3, 2, 2, 1), "wikipedia-string-orchestra"),
    ("string-orchestra-maximum", (6, 5, 4, 4, 2), "wikipedia-string-orchestra"),
    ("opera-comique-berlioz", (9, 8, 6, 7, 6), "berlioz"),
    ("light-music-tavan", ((6, 8), (4, 5), (3, 4), (1, 3), (2, 3)), "tavan"),
    ("rimsky-korsakov-full", (16, 14, 12, 10, (8, 10)), "rimsky-korsakov"),
    ("rimsky-korsakov-medium", (12, 10, 8, 6, (4, 6)), "rimsky-korsakov"),
    ("rimsky-korsakov-small", (8, 6, 4, 3, (2, 3)), "rimsky-korsakov"),
]
ROLES = ("first-violins", "second-violins", "violas", "cellos", "double-basses")

FIGURES = [
    # limit, property, value, source, locator
    ("hand-violin-tavan", "spanSemitones", "5", "tavan", "djvu/8-9"),
    ("hand-violin-extended-tavan", "spanSemitones", "6", "tavan", "djvu/9"),
    ("hand-violin-wide-tavan", "spanSemitones", "7", "tavan", "djvu/9"),
    ("hand-viola-berlioz", "spanSemitones", "5", "berlioz", "djvu/42"),
    ("hand-cello-closed", "spanSemitones", "3", "cello-companion", "page"),
    ("hand-cello-extended", "spanSemitones", "4", "cello-companion", "page"),
    ("hand-cello-thumb-broadley", "spansFingers", "T-3", "broadley", "XII"),
    ("hand-double-bass-simandl", "spanSemitones", "2", "american-school-of-double-bass", "Simandl"),
    ("hand-double-bass-chromatic", "spanSemitones", "3", "dalla-torre", "article"),
    ("hand-double-bass-chromatic", "fromSemitone", "5", "dalla-torre", "article"),
    ("string-length-violin-klanner", "shortestMillimetres", "325.0", "klanner", "interview"),
    ("string-length-violin-klanner", "longestMillimetres", "328.0", "klanner", "interview"),
    ("string-length-viola-klanner", "shortestMillimetres", "370.0", "klanner", "interview"),
    ("string-length-viola-klanner", "longestMillimetres", "380.0", "klanner", "interview"),
    ("string-length-cello-klanner", "longestMillimetres", "700.0", "klanner", "interview"),
    (
        "string-length-double-bass-three-quarter-klanner",
        "longestMillimetres",
        "1060.0",
        "klanner",
        "interview",
    ),
    (
        "string-length-double-bass-full-klanner",
        "longestMillimetres",
        "1100.0",
        "klanner",
        "interview",
    ),
    ("stops-double-bass-berlioz", "mostNotes", "3", "berlioz", "djvu/62"),
    ("stops-double-bass-berlioz", "mostStopped", "1", "berlioz", "djvu/62"),
    ("stops-violin-tavan", "mostSustained", "2", "tavan", "djvu/13"),
    ("stops-pizzicato-berlioz", "mostNotes", "4", "berlioz", "djvu/36"),
    ("stops-family-rimsky-korsakov", "mostSustained", "2", "rimsky-korsakov", "III"),
    ("dynamics-pizzicato-rimsky-korsakov", "softest", "pp", "rimsky-korsakov", "I C"),
    ("dynamics-pizzicato-rimsky-korsakov", "loudest", "ff", "rimsky-korsakov", "I C"),
    ("dynamics-tremolo-berlioz", "loudest", "fff", "berlioz", "djvu/15"),
    ("compass-double-bass-five-strings", "lowestPitch", "B0", "wikipedia-double-bass", "fifth"),
    ("compass-double-bass-c-extension", "lowestPitch", "C1", "wikipedia-double-bass", "ext"),
    ("compass-double-bass-three-strings-berlioz", "lowestPitch", "G1", "berlioz", "djvu/61"),
    (
        "available-double-bass-artificial-harmonics-berlioz",
        "isAvailable",
        "false",
        "berlioz",
        "djvu/62",
    ),
    (
        "available-double-bass-artificial-harmonics-britannica",
        "isAvailable",
        "true",
        "britannica-14",
        "Double Bass",
    ),
    # converted from the printed figure at an assumed tempo: derived
    # Eight notes in a measure of 2/2 at half note 80: 8 / 1.5 s = 5.333, which must not be beyond.
    ("rate-cello-pizzicato-scale-berlioz", "fastestRate", "5.34", "berlioz", "djvu/60"),
    ("rate-cello-pizzicato-arpeggio-berlioz", "fastestRate", "5.6", "berlioz", "djvu/60"),
    ("rate-double-bass-rebound-tremolo-berlioz", "slowestRate", "14.0", "berlioz", "djvu/62"),
    ("rate-double-bass-rebound-tremolo-berlioz", "fastestRate", "17.0", "berlioz", "djvu/62"),
    ("change-mute-on-berlioz", "shortestSeconds", "4.4", "berlioz", "djvu/32"),
    ("change-mute-on-berlioz", "longestSeconds", "5.5", "berlioz", "djvu/32"),
]

READ_TERMS = [
    # term printed, language, directive, source, locator
    ("arco", "it", "arco", "tavan", "djvu/14"),
    ("sur le chevalet", "fr", "sul-ponticello", "berlioz", "djvu/28"),
    ("sur la touche", "fr", "sul-tasto", "berlioz", "djvu/28"),
    ("à la pointe", "fr", "punta-d-arco", "berlioz", "djvu/28"),
    ("avec le talon", "fr", "al-tallone", "berlioz", "djvu/28"),
    ("détaché", "fr", "detache", "berlioz", "djvu/27"),
    ("mettez les sourdines", "fr", "con-sordino", "berlioz", "djvu/32"),
    ("ôtez les sourdines", "fr", "senza-sordino", "berlioz", "djvu/32"),
    ("Dämpfer auf", "de", "con-sordino", "wikipedia-mute", "directions"),
    ("via sordini", "it", "senza-sordino", "wikipedia-mute", "directions"),
    ("corde à vide", "fr", "open-string", "berlioz", "djvu/11"),
    ("sons harmoniques", "fr", "harmonics", "tavan", "djvu/17"),
    ("divisi", "it", "divisi", "tavan", "djvu/14"),
    ("all'unisono", "it", "unison", "tavan", "djvu/14"),
    ("pupitre", "fr", "desk", "berlioz", "djvu/63"),
    ("4me corde", "fr", "on-string-4", "tavan", "violin"),
    ("tirez", "fr", "down-bow", "berlioz", "djvu/28"),
    ("poussez", "fr", "up-bow", "berlioz", "djvu/28"),
    ("gettato", "it", "ricochet", "smufl", "stringsJeteAbove"),
    ("Bratsche", "de", "viola", "mimo", "keywords"),
    ("Contrebasse", "fr", "double-bass", "mimo", "keywords"),
]

COMMON_PRACTICE_ENVELOPES = [
    # what the trade says; no source
    ("spiccato", "p", "mp"),
    ("sul-ponticello", "pp", "ff"),
    ("sul-tasto", None, "f"),
    ("natural-harmonic", "pp", "mf"),
    ("artificial-harmonic", "pp", "mf"),
    ("pizzicato", "pp", "f"),
    ("snap-pizzicato", "mf", "ff"),
]


def _name(node):
    return None if node is None else str(node).removeprefix(OQ)


@pytest.fixture
def row(ontology):
    """A function from a limit and names of properties to their values, None where absent."""

    def values(limit, *names):
        return tuple(_name(ontology.value(limit, URIRef(OQ + name))) for name in names)

    return values


@pytest.mark.parametrize("expected", COMPASS)
def test_compass(expected, members, row):
    names = ("onInstrument", "forLevel", "lowestPitch", "usualHighestPitch", "highestPitch")
    found = [
        limit
        for limit in members("CompassLimit")
        if row(limit, *names) == expected[:5]
        and row(limit, "accordingTo", "hasBasis", "limitsTechnique", "withTuning")
        == (expected[5], "published", None, None)
        and expected[6] in row(limit, "locator")[0]
    ]
    assert len(found) == 1


@pytest.mark.parametrize("expected", TECHNIQUE_COMPASS)
def test_compass_of_a_technique_on_the_violin(expected, members, row):
    names = (
        "limitsTechnique",
        "highestPitch",
        "accordingTo",
        "locator",
        "onInstrument",
        "forLevel",
    )
    wanted = (*expected, "violin", None)
    assert [row(limit, *names) for limit in members("CompassLimit")].count(wanted) == 1


@pytest.mark.parametrize(("ensemble", "sizes", "source"), SECTIONS)
def test_section_sizes(ensemble, sizes, source, row):
    for role, size in zip(ROLES, sizes, strict=True):
        limit = URIRef(f"{OQ}limit-section-{role}-{ensemble}")
        fewest, most = size if isinstance(size, tuple) else (size, size)
        assert row(limit, "forRole", "fewest", "most", "accordingTo", "hasBasis") == (
            role,
            str(fewest),
            str(most),
            source,
            "published",
        )


@pytest.mark.parametrize(("limit", "name", "expected", "source", "locator"), FIGURES)
def test_figures(limit, name, expected, source, locator, row):
    found, by, place = row(URIRef(f"{OQ}limit-{limit}"), name, "accordingTo", "locator")
    assert (found, by) == (expected, source)
    assert locator in place


@pytest.mark.parametrize(("form", "language", "directive", "source", "locator"), READ_TERMS)
def test_terms_that_were_read(form, language, directive, source, locator, ontology, row):
    terms = {
        term
        for name in ("hasForm", "hasAbbreviation")
        for term, literal in ontology.subject_objects(URIRef(OQ + name))
        if (str(literal), literal.language) == (form, language)
    }
    assert {row(term, "names", "accordingTo", "hasBasis") for term in terms} == {
        (directive, source, "published")
    }
    assert all(locator in row(term, "locator")[0] for term in terms)


@pytest.mark.parametrize(("technique", "softest", "loudest"), COMMON_PRACTICE_ENVELOPES)
def test_common_practice_envelopes(technique, softest, loudest, members, row):
    names = ("limitsTechnique", "softest", "loudest", "hasBasis", "inFamily", "accordingTo")
    wanted = (technique, softest, loudest, "common-practice", "bowed-strings", None)
    assert [row(limit, *names) for limit in members("DynamicEnvelope")].count(wanted) == 1


def test_common_practice_of_the_violin(members, row):
    compass = ("onInstrument", "lowestPitch", "highestPitch", "hasBasis")
    assert ("violin", "G3", "A7", "common-practice") in {
        row(limit, *compass) for limit in members("CompassLimit")
    }
    envelope = ("onInstrument", "limitsTechnique", "softest", "loudest", "hasBasis")
    assert ("violin", None, "ppp", "ff", "common-practice") in {
        row(limit, *envelope) for limit in members("DynamicEnvelope")
    }
    sizes = {
        row(limit, "forRole", "fewest", "most", "hasBasis") for limit in members("SectionSize")
    }
    assert ("first-violins", "6", "16", "common-practice") in sizes
    assert ("second-violins", "4", "14", "common-practice") in sizes
    high = URIRef(f"{OQ}violin-high-register")
    assert row(high, "lowestPitch", "isMainlySolo", "hasBasis") == ("F6", "true", "common-practice")
    low = URIRef(f"{OQ}violin-low-register")
    assert row(low, "lowestPitch", "highestPitch") == ("G3", "G4")
    typical = URIRef(f"{OQ}violin-typical-region")
    assert row(typical, "lowestPitch") == ("D4",)


def test_vibrato_stages_rise(row):
    rising = "non-vibrato poco-vibrato ordinary-vibrato vibrato-espressivo molto-vibrato"
    ranks = [row(URIRef(OQ + stage), "rank")[0] for stage in rising.split()]
    assert ranks == ["0", "1", "2", "3", "4"]


@pytest.mark.parametrize(
    ("technique", "colours"),
    [
        # common practice; glassy and cold lead to sul ponticello
        ("sul-ponticello", {"bright", "glassy", "thin", "cold"}),
        ("sul-tasto", {"soft", "warm"}),
        ("non-vibrato", {"flat", "expressionless"}),
    ],
)
def test_colours(technique, colours, ontology):
    found = {str(o) for o in ontology.objects(URIRef(OQ + technique), URIRef(f"{OQ}hasColour"))}
    assert colours <= found


@pytest.mark.parametrize(
    ("tuning", "pitches"),
    [
        # Berlioz djvu/11, 42, 49, 61; the solo tuning from memory; B0 and C1 from web copies
        ("violin-standard-tuning", "E5 A4 D4 G3"),
        ("viola-standard-tuning", "A4 D4 G3 C3"),
        ("cello-standard-tuning", "A3 D3 G2 C2"),
        ("double-bass-standard-tuning", "G2 D2 A1 E1"),
        ("double-bass-five-string-tuning", "G2 D2 A1 E1 B0"),
        ("double-bass-five-string-c-tuning", "G2 D2 A1 E1 C1"),
        ("double-bass-c-extension-tuning", "G2 D2 A1 C1"),
        ("double-bass-solo-tuning", "A2 E2 B1 F#1"),
        ("double-bass-three-string-fifths-tuning", "A2 D2 G1"),
        ("double-bass-three-string-fourths-tuning", "G2 D2 A1"),
    ],
)
def test_tunings(tuning, pitches, ontology, row):
    strings = ontology.objects(URIRef(OQ + tuning), URIRef(f"{OQ}hasString"))
    found = dict(row(string, "stringNumber", "openPitch") for string in strings)
    assert [found[str(number)] for number in range(1, len(found) + 1)] == pitches.split()
