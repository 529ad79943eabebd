"""Labels and definitions in German, French and Italian: complete, and marked as ours."""

import subprocess
import sys

import pytest
from music21.languageExcerpts import instrumentLookup
from rdflib import DCTERMS, OWL, RDF, RDFS, SKOS, Graph, Literal, Namespace, URIRef

import orchq
from orchq.knowledge.data_files import core_files, shipped_extensions, translation_files
from orchq.questions import naming

LANGUAGES = tuple(sorted({*naming.LANGUAGES} - {"en"}))
"""The languages of questions, of which English has its labels in the graph itself."""

OQ = Namespace("https://w3id.org/orchq/")
KINDS = (OWL.Class, OWL.ObjectProperty, OWL.DatatypeProperty, OWL.AnnotationProperty)
FILES = {file.stem: Graph().parse(file) for file in translation_files()}


@pytest.fixture(scope="module")
def everything(ontology):
    """The core with all shipped extensions, parsed once."""
    whole = Graph()
    whole += ontology
    for file in shipped_extensions().values():
        whole.parse(file)
    return whole


@pytest.fixture(scope="module")
def wanted(everything):
    """All classes and properties of ours, techniques and instruments."""
    things = {
        *(OQ.Technique, OQ.Instrument),
        *everything.transitive_subjects(RDFS.subClassOf, OQ.Technique),
        *everything.transitive_subjects(RDFS.subClassOf, OQ.Instrument),
    }
    return {
        thing
        for kind in (*KINDS, *things)
        for thing in everything.subjects(RDF.type, kind)
        if isinstance(thing, URIRef) and str(thing).startswith("https://w3id.org/orchq")
    }


@pytest.fixture(scope="module")
def exported():
    return Graph().parse(data=orchq.export_knowledge(format="nt"), format="nt")


def test_there_is_one_file_for_each_language():
    assert tuple(FILES) == LANGUAGES


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_term_has_one_label_and_one_definition(wanted, language):
    graph = FILES[language]
    (head,) = graph.subjects(RDF.type, OWL.Ontology)
    translated = set(graph.subjects()) - {head}
    assert wanted <= translated, (
        f"write labels and definitions in ontology/translations/{language}.ttl"
    )
    assert translated <= wanted, "translated, and no term any more"
    for term in wanted:
        for name in (RDFS.label, SKOS.definition):
            (text,) = graph.objects(term, name)
            assert text.language == language, term
            assert str(text) == str(text).strip() != "", term
        assert str(graph.value(term, SKOS.definition)).endswith("."), term


@pytest.mark.parametrize("language", LANGUAGES)
def test_they_say_that_they_are_translations_of_ours(language):
    graph = FILES[language]
    (head,) = graph.subjects(RDF.type, OWL.Ontology)
    assert graph.value(head, DCTERMS.creator) == OQ["ontology/contributors"]
    assert "Translations of this project" in graph.value(head, DCTERMS.description)
    # No source, no basis, and nothing else that a check could take for knowledge.
    predicates = {p for s, p in graph.subject_predicates() if s != head}
    assert predicates == {RDFS.label, SKOS.definition}


@pytest.mark.parametrize("language", LANGUAGES)
def test_definitions_are_translated_and_no_two_classes_share_a_label(everything, wanted, language):
    graph = FILES[language]
    for term in wanted:
        english = everything.value(term, SKOS.definition)
        assert str(graph.value(term, SKOS.definition)) != str(english), term
    classes = [t for t in wanted if (t, RDF.type, OWL.Class) in everything]
    labels = [str(graph.value(term, RDFS.label)) for term in classes]
    assert len(set(labels)) == len(labels)


@pytest.mark.parametrize(
    ("term", "de", "fr", "it"),
    [
        # The parts of the bow and of the instrument as the trade calls them; of the four that
        # the Notation Reference of LilyPond translates (am Steg, sur le chevalet, ...) too.
        ("sul-ponticello", "Steg", "chevalet", "ponticello"),
        ("sul-tasto", "Griffbrett", "touche", "tast"),
        ("al-tallone", "Frosch", "talon", "tallone"),
        ("punta-d-arco", "Spitze", "pointe", "punta"),
        ("con-sordino", "Dämpfer", "sourdine", "sordino"),
        ("down-bow", "Abstrich", "tiré", "giù"),
        ("up-bow", "Aufstrich", "poussé", "su"),
        ("open-string", "leere Saite", "corde à vide", "corda vuota"),
        ("natural-harmonic", "natürliches Flageolett", "harmonique naturel", "armonico naturale"),
        ("turn", "Doppelschlag", "gruppetto", "gruppetto"),
        ("StringLength", "Mensur", "longueur vibrante", "lunghezza vibrante"),
        ("Fingerboard", "Griffbrett", "touche", "tastiera"),
    ],
)
def test_words_of_the_trade(term, de, fr, it):
    for language, word in (("de", de), ("fr", fr), ("it", it)):
        assert word in FILES[language].value(OQ[term], RDFS.label)


@pytest.mark.parametrize("language", LANGUAGES)
def test_instruments_are_called_as_a_library_calls_them(language):
    """Outside the project: the names of instruments in music21."""
    name = {"de": "german", "fr": "french", "it": "italian"}[language]
    table = getattr(instrumentLookup, f"{name}ToClassName")
    kinds = {"violin": "Violin", "viola": "Viola", "cello": "Violoncello"}
    kinds["double-bass"] = "Contrabass"
    labels = {str(FILES[language].value(OQ[slug], RDFS.label)): kinds[slug] for slug in kinds}
    found = {label: table[label.lower()] for label in labels if label.lower() in table}
    assert found.items() <= labels.items()
    assert len(found) >= 3  # it has neither Violoncello in German nor viola in Italian


@pytest.mark.long
def test_exports_carry_them_with_the_printed_words(exported):
    labels = {str(each) for each in exported.objects(OQ["sul-ponticello"], RDFS.label)}
    assert labels == {"sul ponticello", "am Steg", "sur le chevalet"}  # Italian is as English
    assert {each.language for each in exported.objects(OQ.violin, RDFS.label)} == {
        "en",
        *LANGUAGES,
    }
    # One preferred label, so that a query by label gets one row for each thing.
    assert [str(each) for each in exported.objects(OQ.spiccato, SKOS.prefLabel)] == ["spiccato"]
    printed = set(exported.objects(OQ["sul-ponticello"], SKOS.altLabel))
    assert {
        Literal("sul pont.", lang="it"),
        Literal("am Steg", lang="de"),
        Literal("sur le chevalet", lang="fr"),
        Literal("near the bridge", lang="en"),
    } <= printed
    for thing, label in exported.subject_objects(SKOS.prefLabel):
        assert (thing, SKOS.altLabel, label) not in exported


@pytest.mark.long
def test_every_printed_word_is_a_label_of_what_it_names(ontology, exported):
    for term, thing in ontology.subject_objects(OQ.names):
        for name in ("hasForm", "hasPlural", "hasAbbreviation"):
            for form in ontology.objects(term, OQ[name]):
                labels = (SKOS.altLabel, SKOS.prefLabel)
                assert any((thing, label, form) in exported for label in labels), form


def test_the_vocabulary_of_excerpts_has_them_too():
    graph = Graph().parse(data=orchq.export_vocabulary())
    for language in LANGUAGES:
        texts = {t for t in graph.objects(OQ.Event, RDFS.label) if t.language == language}
        assert len(texts) == 1


@pytest.mark.long
def test_a_check_reads_none_of_them():
    assert not set(translation_files()) & set(core_files())
    probe = (
        "import orchq, sys; orchq.load();"
        "from orchq.knowledge.languages import translations;"
        "print(translations.cache_info().currsize)"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "0"
