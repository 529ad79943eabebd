"""What the graph must hold, and how its techniques and terms fit together."""

import re
import unicodedata
from collections import defaultdict

import pytest
from rdflib import RDF, SKOS, URIRef

from orchq.knowledge.data_files import core_files

OQ = "https://w3id.org/orchq/"
FORMS = ("hasForm", "hasAbbreviation", "hasPlural")


def _oq(name):
    return URIRef(OQ + name)


def _words(text):
    """Words without case, accents and punctuation, as a reader compares them."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    return tuple(re.findall(r"[^\W_]+", "".join(c for c in plain if not unicodedata.combining(c))))


@pytest.fixture(scope="session")
def printed(ontology, members):
    """The words of every form with what they name, instruments and directives apart."""
    instruments = members("Instrument")
    names: dict[tuple[bool, tuple[str, ...]], set[URIRef]] = defaultdict(set)
    for prop in FORMS:
        for term, form in ontology.subject_objects(_oq(prop)):
            named = ontology.value(term, _oq("names"))
            names[named in instruments, _words(str(form))].add(named)
    return names


def test_printed_words_name_one_thing_across_languages(printed):
    assert {words: names for words, names in printed.items() if len(names) > 1} == {}
    assert all(words for _, words in printed)


def test_there_are_enough_techniques_and_ten_dynamics(members, ontology):
    foreign = members("ForeignTechnique")
    assert len(members("Technique") - foreign) >= 60
    ranks = {int(ontology.value(dynamic, _oq("rank"))) for dynamic in members("Dynamic")}
    assert ranks == set(range(1, 11))


@pytest.mark.parametrize("slug", ["violin", "viola", "cello", "double-bass"])
def test_instruments_have_names_plurals_and_abbreviations(slug, ontology):
    for prop, languages in (
        ("hasForm", {"it", "fr", "de", "en"}),
        ("hasPlural", {"it", "fr", "de", "en"}),
        ("hasAbbreviation", {"it", "en"}),
    ):
        found = {
            form.language
            for term in ontology.subjects(_oq("names"), _oq(slug))
            for form in ontology.objects(term, _oq(prop))
        }
        assert languages <= found, prop


@pytest.mark.parametrize(
    ("words", "directive"),
    [
        # as scores print them; from memory where test_published_values has no source
        ("pizz.", "pizzicato"),
        ("con sord.", "con-sordino"),
        ("senza sord.", "senza-sordino"),
        ("ohne Dämpfer", "senza-sordino"),
        ("take off mutes", "senza-sordino"),
        ("sourdine", "con-sordino"),
        ("am Steg", "sul-ponticello"),
        ("sul pont.", "sul-ponticello"),
        ("sul G", "on-g-string"),
        ("sul Sol", "on-g-string"),
        ("G-Saite", "on-g-string"),
        ("IVa corda", "on-string-4"),
        ("4a corda", "on-string-4"),
        ("sur la 4e corde", "on-string-4"),
        ("una corda", "on-one-string"),
        ("geteilt", "divisi"),
        ("get.", "divisi"),
        ("divisés", "divisi"),
        ("zusammen", "unison"),
        ("unis.", "unison"),
        ("non div.", "non-divisi"),
        ("gli altri", "the-others"),
        ("die übrigen", "the-others"),
        ("alle", "tutti"),
        ("ord.", "ordinario"),
        ("nat.", "ordinario"),
        ("cresc.", "crescendo"),
        ("smorz.", "diminuendo"),
        ("morendo", "diminuendo"),
        ("mezzo forte", "mf"),
        ("poco f", "expression-poco-forte"),
        ("sotto voce", "expression-mezza-voce"),
        ("espress.", "expression-espressivo"),
        ("lebhaft", "tempo-vivace"),
        ("lent", "tempo-lento"),
        ("mässig", "tempo-moderato"),
    ],
)
def test_printed_words(words, directive, printed):
    assert printed[False, _words(words)] == {_oq(directive)}


@pytest.mark.parametrize(
    ("words", "instrument"),
    [
        ("Violini", "violin"),
        ("Geige", "violin"),
        ("Vln.", "violin"),
        ("Bratschen", "viola"),
        ("Alto", "viola"),
        ("Br.", "viola"),
        ("Violoncell", "cello"),
        ("Celli", "cello"),
        ("Vc.", "cello"),
        ("Basso", "double-bass"),
        ("Kontrabässe", "double-bass"),
        ("Kb.", "double-bass"),
    ],
)
def test_printed_names(words, instrument, printed):
    assert printed[True, _words(words)] == {_oq(instrument)}


def test_a_voice_is_not_taken_for_an_instrument(printed):
    for words in ("Bass", "Soprano", "Tenor", "Alt", "Viola d'amore", "Bassoon"):
        assert (True, _words(words)) not in printed


def _closure(ontology, technique):
    return set(ontology.transitive_objects(technique, _oq("implies")))


@pytest.mark.parametrize(
    ("one", "other", "excluded"),
    [
        ("spiccato", "pizzicato", True),
        ("sul-ponticello", "sul-tasto", True),
        ("con-sordino", "senza-sordino", True),
        ("legato", "detache", True),
        ("non-vibrato", "molto-vibrato", True),
        ("natural-harmonic", "artificial-harmonic", True),
        ("artificial-harmonic", "open-string", True),
        ("down-bow", "up-bow", True),
        ("down-bow", "snap-pizzicato", True),
        ("tremolo-unmeasured", "pizzicato", True),
        ("col-legno-battuto", "pizzicato", True),
        # what players do together
        ("pizzicato", "natural-harmonic", False),
        ("pizzicato", "sul-ponticello", False),
        ("pizzicato", "con-sordino", False),
        ("pizzicato", "staccato", False),
        ("pizzicato", "tremolo-measured", False),
        ("left-hand-pizzicato", "arco", False),
        ("sul-ponticello", "tremolo-unmeasured", False),
        ("sul-tasto", "con-sordino", False),
        ("col-legno-battuto", "ricochet", False),
        ("col-legno-battuto", "down-bow", False),
        ("spiccato", "staccato", False),
        ("legato", "portato", False),
        ("natural-harmonic", "trill", False),
        ("open-string", "natural-harmonic", False),
        ("con-sordino", "snap-pizzicato", False),
    ],
)
def test_what_one_player_cannot_do_in_one_note(one, other, excluded, ontology):
    pairs = {
        frozenset((a, b))
        for a in _closure(ontology, _oq(one))
        for b in _closure(ontology, _oq(other))
    }
    stated = {frozenset(pair) for pair in ontology.subject_objects(_oq("excludes"))}
    assert bool(pairs & stated) is excluded


@pytest.mark.parametrize(
    ("word", "ended", "left"),
    [
        ("arco", "pizzicato snap-pizzicato col-legno-battuto col-legno-tratto", "con-sordino"),
        ("pizzicato", "arco spiccato flautando col-legno-battuto punta-d-arco", "con-sordino"),
        ("ordinario", "sul-ponticello sul-tasto col-legno-battuto harmonics spiccato", "pizzicato"),
        ("ordinario", "on-g-string on-string-4 molto-vibrato", "con-sordino"),
        ("loco", "on-g-string on-one-string", "sul-ponticello"),
        ("senza-sordino", "con-sordino", "pizzicato"),
        ("molto-vibrato", "non-vibrato poco-vibrato vibrato-espressivo", "legato"),
        ("tutti", "solo divisi", "crescendo"),
        ("unison", "divisi solo", "crescendo"),
        ("spiccato", "legato detache", "pizzicato"),
    ],
)
def test_what_a_word_ends(word, ended, left, ontology):
    found = set(ontology.objects(_oq(word), _oq("cancels")))
    assert {_oq(name) for name in ended.split()} <= found
    assert _oq(left) not in found


def test_some_techniques_belong_to_some_instruments(ontology):
    def on(name):
        return {str(o).removeprefix(OQ) for o in ontology.objects(_oq(name), _oq("availableOn"))}

    assert on("rebound-tremolo") == on("pinched-high-notes") == {"double-bass"}
    assert on("thumb-position") == {"cello", "double-bass"}
    assert on("spiccato") == {"bowed-strings"}
    assert on("double-tongue") == set()


def test_only_sources_are_named_that_were_read(ontology, members):
    """What is only remembered names no source, and no source is there for its name's sake."""
    sources = members("Source")
    assert set(ontology.objects(None, _oq("accordingTo"))) <= sources
    for statement in ontology.subjects(_oq("hasBasis"), _oq("memory")):
        assert (statement, _oq("accordingTo"), None) not in ontology
        assert (statement, _oq("locator"), None) not in ontology


def test_disagreements_are_kept(ontology):
    """Two sides of one question, each with its own authority."""
    for one, other in [
        ("limit-compass-violin-berlioz", "limit-compass-violin-abjad"),
        ("limit-compass-viola-berlioz", "limit-compass-viola-spiegato"),
        ("limit-compass-cello-berlioz", "limit-compass-cello-handbook"),
        (
            "limit-available-double-bass-artificial-harmonics-berlioz",
            "limit-available-double-bass-artificial-harmonics-britannica",
        ),
        ("limit-hand-double-bass-simandl", "limit-hand-double-bass-chromatic"),
        (
            "limit-section-cellos-gehrkens",
            "limit-section-cellos-string-orchestra-chapter",
        ),
        ("limit-dynamics-pizzicato-common-practice", "limit-dynamics-pizzicato-rimsky-korsakov"),
        ("note-double-stops-fourths-forsyth", "note-double-stops-fourths-tavan"),
        ("note-vibrato-mean", "note-vibrato-range"),
    ]:
        sides = {ontology.value(_oq(side), _oq("statement")) for side in (one, other)}
        assert None not in sides
        assert len(sides) == 2


def test_labels_of_things_of_one_class_differ(ontology):
    """A report that names a thing by its label names one thing."""
    seen: dict[tuple[URIRef, str], URIRef] = {}
    for node, kind in ontology.subject_objects(RDF.type):
        if not str(kind).startswith(OQ) or kind == _oq("String"):
            continue
        for label in ontology.objects(node, SKOS.prefLabel):
            assert seen.setdefault((kind, str(label)), node) == node, label


def test_nothing_internal_is_cited():
    """Statements name books and standards, no path of a working copy."""
    for file in core_files():
        text = file.read_text(encoding="utf-8")
        assert not re.search(r"/(?:home|root|tmp)/|\.csv\b", text), file.name
