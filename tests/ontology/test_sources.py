"""Who wants to read what stands behind a limit can open it, or is told why not."""

import json

import pytest
from music21.languageExcerpts import instrumentLookup
from rdflib import DCTERMS, RDF, RDFS, Namespace, URIRef

import orchq
from orchq.knowledge import load
from orchq.knowledge.model import Source
from tests.benchmarks.on_memory_alone import Statements
from tests.ontology.test_standards import MUSICXML

OQ = Namespace("https://w3id.org/orchq/")


def test_every_source_opens_or_says_why_not(ontology, members):
    opened, closed = set(), set()
    for source in members("Source"):
        addresses = list(ontology.objects(source, RDFS.seeAlso))
        reasons = list(ontology.objects(source, OQ.whyNoAddress))
        combined = (source, DCTERMS.hasPart, None) in ontology
        assert combined or (len(addresses) == 1) != (len(reasons) == 1), source
        assert all(isinstance(address, URIRef) for address in addresses)
        (opened if addresses else closed).add(source)
        if (pages := ontology.value(source, OQ.hasPagesFrom)) and "wikisource" in pages:
            assert str(addresses[0]).startswith(str(pages)), source
    # A source opens unless there is no other way: three in four at least.
    assert len(opened) >= 3 * len(closed)


def test_no_text_stands_in_the_place_of_a_person_or_of_terms_of_use(ontology, members):
    for source in members("Source"):
        for name in ("creator", "contributor", "publisher", "rights"):
            for node in ontology.objects(source, DCTERMS[name]):
                assert isinstance(node, URIRef), source
                assert (node, RDF.type, OQ.Rights if name == "rights" else OQ.Agent) in ontology
    assert not list(ontology.subject_objects(DCTERMS.provenance))


def test_addresses_are_those_of_the_works():
    # From outside: the numbers of Project Gutenberg's catalogue (Principles of Orchestration is
    # 33900, Music Notation and Terminology 19499, How to Listen to Music 17474, Webster's
    # Unabridged Dictionary 29765), and Wikisource's scan of the Essentials in Conducting, whose
    # printed page 97 is image 109.
    sources = load().sources
    expected = {
        "rimsky-korsakov": ("", "https://www.gutenberg.org/ebooks/33900"),
        "gehrkens-terminology": ("section 109", "https://www.gutenberg.org/ebooks/19499"),
        "krehbiel": ("", "https://www.gutenberg.org/ebooks/17474"),
        "webster-1913": ("entry Marcato", "https://www.gutenberg.org/ebooks/29765"),
        "gehrkens": (
            "djvu/109",
            "https://en.wikisource.org/wiki/Page:Essentials_in_Conducting.djvu/109",
        ),
        "lilypond-glossary": (
            "entry sul-g",
            "https://lilypond.org/doc/v2.24/Documentation/music-glossary/sul-g",
        ),
    }
    found = {
        name: (locator, sources[OQ[name].toPython()].opened_at(locator))
        for name, (locator, _) in expected.items()
    }
    assert found == expected


@pytest.mark.parametrize(
    ("address", "pages", "locator", "opened"),
    [
        ("https://a.org/b", "", "page 3", "https://a.org/b"),
        ("https://a.org/b", "https://a.org/p/", "djvu/62", "https://a.org/p/62"),
        ("https://a.org/b", "https://a.org/p/", "djvu/8-9", "https://a.org/p/8"),
        ("https://a.org/b", "https://a.org/p/", "the preface", "https://a.org/b"),
        ("https://a.org/b", "https://a.org/p/", "entry sul-g", "https://a.org/p/sul-g"),
        ("https://a.org/b", "", "entry sul-g", "https://a.org/b"),
        ("https://a.org/b", "https://a.org/p/", "entries a, b", "https://a.org/b"),
        ("javascript:alert(1)", "", "", ""),
        ("", "javascript:", "djvu/1", ""),
        ("", "", "djvu/62", ""),
    ],
)
def test_a_place_is_opened_where_the_source_is_paged(address, pages, locator, opened):
    source = Source("x:s", "s", "S", "S", address=address, pages=pages)
    assert source.opened_at(locator) == opened


def test_reports_link_to_the_page(tmp_path):
    path = tmp_path / "passage.ttl"
    path.write_text(
        """
        @prefix oq: <https://w3id.org/orchq/> .
        @prefix my: <https://example.org/passage#> .
        my:part a oq:Part ; oq:forInstrument oq:violin ; oq:isSection true ; oq:hasEvent my:e .
        my:e a oq:Event ; oq:measureIndex 0 ; oq:onset 0 ; oq:duration 1 ;
            oq:hasNote my:n ; oq:inState my:s .
        my:n a oq:Note ; oq:pitch "D6" .
        my:s a oq:PlayingState ; oq:usesTechnique oq:pizzicato .
        """,
        encoding="utf-8",
    )
    outcome = orchq.Project(advice=False).check(path)
    (file,) = json.loads(orchq.format_report(outcome, "json"))["files"]
    links = {e.get("link") for finding in file["findings"] for e in finding["evidence"]}
    assert any(link and link.endswith("symphonique.djvu/14") for link in links)
    assert 'symphonique.djvu/14" rel="noreferrer">' in orchq.format_report(outcome, "html")


def test_few_statements_rest_on_memory_alone(ontology):
    every, alone = Statements(ontology).counted()
    assert alone.total() < 600
    assert alone.total() < every.total()


@pytest.mark.parametrize(
    ("source", "entry", "words"),
    [
        # Retyped from the dictionaries, each entry with what it gives as its equivalent: "Frosch
        # (am Bogen eines Streichinstruments)" is "frog; heel", "lebhaft (Vortragsbezeichnung)" is
        # "vivace", a "gruppetto" in music is a "Doppelschlag", and so on.
        ("ding", "Frosch", {("al-tallone", "Frosch"), ("al-tallone", "frog")}),
        ("ding", "lebhaft", {("tempo-vivace", "lebhaft")}),
        ("ding", "fortissimo", {("ff", "sehr laut")}),
        ("ding", "pianissimo", {("pp", "sehr leise")}),
        ("ding", "umstimmen", {("scordatura", "umstimmen"), ("scordatura", "umgestimmt")}),
        ("ding", "scherzando", {("expression-scherzando", "heiter")}),
        (
            "ding",
            "Saite",
            # The German H is the English B.
            {(f"on-{name}-string", f"{name.upper()} string") for name in "eadb"}
            | {(f"on-{name}-string", f"{name.upper()}-Saite") for name in "ead"}
            | {("on-b-string", "H-Saite")},
        ),
        ("freedict-french-german", "gruppetto", {("turn", "gruppetto")}),
        ("freedict-french-german", "troisième", {("name-word-third", "troisième")}),
        ("freedict-french-english", "doux", {("p", "doux")}),
        ("ding", "traurig", {("expression-dolente", "traurig")}),
        ("freedict-french-english", "gracieux", {("expression-grazioso", "gracieux")}),
        ("freedict-italian-english", "terzo", {("name-word-third", "terzo")}),
    ],
)
def test_words_stand_in_the_dictionaries_that_are_cited(ontology, source, entry, words):
    found = {
        (str(ontology.value(term, OQ.names)).removeprefix(OQ), str(form))
        for term in ontology.subjects(OQ.accordingTo, OQ[source])
        if str(ontology.value(term, OQ.locator)) == f"entry {entry}"
        for form in ontology.objects(term, OQ.hasForm)
    }
    assert found == words


def test_signs_of_loudness_stand_in_the_schema_of_musicxml(ontology):
    elements = set(MUSICXML["children"]["dynamics"])
    cited = {
        str(sign)
        for term in ontology.subjects(OQ.accordingTo, OQ["musicxml-4"])
        for sign in ontology.objects(term, OQ.hasAbbreviation)
    }
    assert {"ffff", "pppp", "sfp", "sfzp"} <= cited <= elements


def test_names_from_a_library_stand_in_its_tables(ontology):
    """Outside the project: the tables of music21 with names of instruments in four languages."""
    tables = {
        name: getattr(instrumentLookup, name)
        for name in dir(instrumentLookup)
        if name.endswith("ToClassName")
    }
    kinds = {"violin": "Violin", "viola": "Viola", "cello": "Violoncello"}
    kinds["double-bass"] = "Contrabass"
    checked = 0
    for term in ontology.subjects(OQ.accordingTo, OQ["music21"]):
        instrument = str(ontology.value(term, OQ.names) or "").removeprefix(OQ)
        if instrument not in kinds:
            continue
        for name in ("hasForm", "hasPlural", "hasAbbreviation"):
            for form in ontology.objects(term, OQ[name]):
                key = form.lower().rstrip(".")
                assert any(table.get(key) == kinds[instrument] for table in tables.values()), form
                checked += 1
    assert checked > 20


def test_doublings_of_rimsky_korsakov(ontology):
    """Principles of Orchestration, chapter II: which colour prevails, and what octaves give."""
    found = {
        str(each).removeprefix(OQ): (
            int(ontology.value(each, OQ.octavesApart)),
            {str(word) for word in ontology.objects(each, OQ.hasEffect)},
        )
        for each in ontology.subjects(RDF.type, OQ.Doubling)
    }
    assert found["doubling-violins-unison"] == (0, {"powerful", "rich"})
    assert found["doubling-violas-cellos-unison"] == (0, {"rich", "full"})
    assert found["doubling-violins-octaves"] == (1, {"full", "expressive"})
    assert found["doubling-cellos-basses-octaves"] == (1, set())
    assert len(found) == 10
