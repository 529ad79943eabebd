"""Names of other standards that the graph uses, against the standards' own lists.

The lists in ``data/`` were cut from the standards' files: the XML schema of MusicXML 4.0 (W3C
Music Notation Community Group, 2021), its standard sounds, and the glyph names of SMuFL's
metadata. music21 (Cuthbert and others) is a second witness for tunings and sounds.
"""

import json
import re
from pathlib import Path

import pytest
from rdflib import RDF, SKOS, URIRef

DATA = Path(__file__).parent / "data"
MUSICXML = json.loads((DATA / "musicxml-4.0.json").read_text(encoding="utf-8"))
GLYPHS = json.loads((DATA / "smufl-glyphs.json").read_text(encoding="utf-8"))["glyphs"]
OQ = "https://w3id.org/orchq/"

INSTRUMENTS = [
    ("violin", "Violin"),
    ("viola", "Viola"),
    ("cello", "Violoncello"),
    ("double-bass", "Contrabass"),
]
"""Slug of the graph and class of music21."""

MEI_ARTICULATIONS = frozenset(
    {"acc", "dnbow", "fingernail", "harm", "lhpizz", "marc", "snap", "spicc", "stacc", "stacciss"}
    | {"ten", "upbow"}
)
"""Values of data.ARTICULATION that strings use, as read in the MEI source of 2024-10."""


def _graph_has(ontology, name):
    return {str(value) for value in ontology.objects(None, URIRef(OQ + name))}


def test_musicxml_elements_are_in_the_schema(ontology):
    known = set().union(*MUSICXML["children"].values())
    used = _graph_has(ontology, "musicxmlElement")
    assert len(used) > 50
    assert used - known == set()


@pytest.mark.parametrize(
    ("parent", "left_out"),
    [
        # what the graph says nothing about, and why
        (
            "technical",
            # a child with content that the readers take (string, fingering), a mark of wind or
            # plucked instruments that strings imitate, or one that several instruments share
            "arrow bend fingering hammer-on open other-technical pluck pull-off string",
        ),
        # breathing, jazz inflections and what is drawn by another program
        (
            "articulations",
            "breath-mark doit falloff other-articulation plop scoop",
        ),
        # the wavy line goes on a trill or a vibrato; the rest is rare in string parts
        (
            "ornaments",
            "accidental-mark haydn other-ornament schleifer shake wavy-line",
        ),
        # beyond the ten degrees, and silence
        ("dynamics", "fffff ffffff n other-dynamics ppppp pppppp"),
    ],
)
def test_every_mark_of_the_schema_is_known_or_left_out_on_purpose(ontology, parent, left_out):
    used = _graph_has(ontology, "musicxmlElement")
    assert set(MUSICXML["children"][parent]) - used == set(left_out.split())


@pytest.mark.parametrize(
    ("element", "directive"),
    [
        # MusicXML 4.0 schema, documentation of each element
        ("down-bow", "down-bow"),
        ("up-bow", "up-bow"),
        ("open-string", "open-string"),
        ("thumb-position", "thumb-position"),
        ("snap-pizzicato", "snap-pizzicato"),
        ("fingernails", "fingernail-pizzicato"),
        ("stopped", "left-hand-pizzicato"),  # the plus sign
        ("detached-legato", "portato"),
        ("staccato", "staccato"),
        ("staccatissimo", "staccatissimo"),
        ("spiccato", "staccatissimo"),  # the stroke sign, not the bouncing bow
        ("tenuto", "tenuto"),
        ("accent", "accent"),
        ("strong-accent", "strong-accent"),
        ("trill-mark", "trill"),
        ("tremolo", "tremolo-measured"),
        ("slide", "glissando"),
        ("harmonic", "natural-harmonic"),
        ("artificial", "artificial-harmonic"),
        ("double-tongue", "double-tongue"),
        ("fp", "fp"),
        ("mf", "mf"),
    ],
)
def test_elements_name_their_directives(ontology, element, directive):
    named = [
        s for s, o in ontology.subject_objects(URIRef(f"{OQ}musicxmlElement")) if str(o) == element
    ]
    assert named == [URIRef(OQ + directive)]


def test_smufl_glyphs_are_in_the_metadata(ontology):
    used = _graph_has(ontology, "smuflGlyph")
    assert len(used) > 80
    assert used - set(GLYPHS) == set()


@pytest.mark.parametrize(
    ("directive", "codepoints"),
    [
        # SMuFL, glyphnames.json
        ("down-bow", "U+E610 U+E611"),
        ("up-bow", "U+E612 U+E613"),
        ("natural-harmonic", "U+E614"),
        ("half-harmonic", "U+E615"),
        ("con-sordino", "U+E616"),
        ("senza-sordino", "U+E617"),
        ("bow-on-bridge", "U+E619"),
        ("ricochet", "U+E620 U+E621"),
        ("fouette", "U+E622"),
        ("thumb-position", "U+E624 U+E625"),
        ("snap-pizzicato", "U+E630 U+E631"),
        ("buzz-pizzicato", "U+E632"),
        ("left-hand-pizzicato", "U+E633"),
        ("portato", "U+E4B2"),
        ("artificial-harmonic", "U+E0DD"),
        ("trill", "U+E566"),
    ],
)
def test_glyphs_have_the_codepoints_of_the_standard(ontology, directive, codepoints):
    names = ontology.objects(URIRef(OQ + directive), URIRef(f"{OQ}smuflGlyph"))
    assert {GLYPHS[str(name)] for name in names} == set(codepoints.split())


def test_sul_ponticello_does_not_borrow_the_sign_for_bowing_behind_the_bridge(ontology):
    glyphs = ontology.subjects(URIRef(f"{OQ}smuflGlyph"))
    assert URIRef(f"{OQ}sul-ponticello") not in set(glyphs)


def test_mei_values_are_articulations(ontology):
    words = {word for value in _graph_has(ontology, "meiValue") for word in value.split()}
    assert words == MEI_ARTICULATIONS


def test_sounds_are_in_the_standard_list(ontology):
    used = _graph_has(ontology, "musicxmlSound")
    assert used <= set(MUSICXML["sounds"])
    assert used >= {f"strings.{name}" for name in ("violin", "viola", "cello", "contrabass")}


@pytest.fixture(scope="module")
def music21_instruments():
    from music21 import instrument  # noqa: PLC0415 - heavy

    return {slug: getattr(instrument, name)() for slug, name in INSTRUMENTS}


@pytest.mark.parametrize("slug", [slug for slug, _ in INSTRUMENTS])
def test_instruments_agree_with_music21(ontology, value, music21_instruments, slug):
    """music21: stringPitches sound; lowestNote of the contrabass is written pitch."""
    other = music21_instruments[slug]
    assert value(slug, "musicxmlSound") == other.instrumentSound
    assert int(value(slug, "generalMidiProgram")) == other.midiProgram
    tuning = value(slug, "hasStandardTuning")
    strings = {
        int(value(str(s).removeprefix(OQ), "stringNumber")): value(
            str(s).removeprefix(OQ), "openPitch"
        )
        for s in ontology.objects(URIRef(OQ + tuning), URIRef(f"{OQ}hasString"))
    }
    lowest_first = [strings[number] for number in sorted(strings, reverse=True)]
    assert lowest_first == [pitch.nameWithOctave for pitch in other.stringPitches]
    octaves = int(value(slug, "soundsOctavesAbove"))
    written = other.lowestNote.transpose(12 * octaves).nameWithOctave
    assert lowest_first[0] == written


def test_every_compass_begins_on_an_open_string(ontology, members, value):
    """No published compass goes below the lowest string of its instrument or its tuning."""
    for limit in members("CompassLimit"):
        name = str(limit).removeprefix(OQ)
        lowest = ontology.value(limit, URIRef(f"{OQ}lowestPitch"))
        tuning = ontology.value(limit, URIRef(f"{OQ}withTuning"))
        if lowest is None:
            continue
        if tuning is None:
            tuning = URIRef(OQ + value(value(name, "onInstrument"), "hasStandardTuning"))
        strings = ontology.objects(tuning, URIRef(f"{OQ}hasString"))
        open_pitches = {str(ontology.value(s, URIRef(f"{OQ}openPitch"))) for s in strings}
        assert str(lowest) in open_pitches, name


def test_alignments_lead_to_the_vocabularies_named(ontology):
    """Wikidata and MIMO identifiers as those vocabularies state them, read 2025-08."""
    exact = {
        (str(s).removeprefix(OQ), str(o)) for s, o in ontology.subject_objects(SKOS.exactMatch)
    }
    for slug, wikidata, mimo in [
        ("violin", "Q8355", "3573"),
        ("viola", "Q80284", "3561"),
        ("cello", "Q8371", "3582"),
        ("double-bass", "Q80019", "3111"),
    ]:
        assert (slug, f"http://www.wikidata.org/entity/{wikidata}") in exact
        assert (slug, f"http://www.mimo-db.eu/InstrumentsKeywords/{mimo}") in exact
    instruments = set(ontology.subjects(RDF.type, URIRef(f"{OQ}Instrument")))
    matched = {*ontology.subjects(SKOS.exactMatch), *ontology.subjects(SKOS.closeMatch)}
    assert instruments <= matched  # test_alignments.py has the others


def test_codepoints_are_private_use():
    assert all(re.fullmatch(r"U\+[EF][0-9A-F]{3}", code) for code in GLYPHS.values())
