"""Links to terms of other vocabularies, each identifier seen in what is named here."""

import pytest
import verovio
from rdflib import DCAT, DCTERMS, RDF, SKOS, Namespace, URIRef

OQ = Namespace("https://w3id.org/orchq/")
MUSIC_ONTOLOGY = "http://purl.org/ontology/mo/"
PERFORMED = "http://performedmusicontology.org/2.0/vocabularies/medium_component_qualifier/"

CLOSE = {
    # rdf/musicontology.n3 of motools/musicontology, revision 2.1.5: "any of various devices or
    # contrivances that can be used to produce musical tones or sound"; the agent of a composition.
    ("Instrument", f"{MUSIC_ONTOLOGY}Instrument"),
    ("Composer", f"{MUSIC_ONTOLOGY}Composer"),
    # PMOMediumComponentQualifier.ttl of LD4P/PerformedMusicOntology, 2.0 of 2024-04-30: for what
    # is "marked obbligato", "optional" or "solo" in a score.
    ("name-word-obbligato", f"{PERFORMED}obbligato"),
    ("name-word-optional", f"{PERFORMED}optional"),
    ("solo", f"{PERFORMED}solo"),
    # Namespaces that rdflib knows term by term, so that a wrong name is refused.
    ("Agent", str(DCTERMS.Agent)),
    ("Rights", str(DCTERMS.RightsStatement)),
    ("Source", str(DCTERMS.BibliographicResource)),
    ("DataSet", str(DCAT.Dataset)),
}

ELEMENTS = {
    "trill": '<trill startid="#a" staff="1"/>',
    "mordent": '<mordent startid="#a" staff="1"/>',
    "turn": '<turn startid="#a" staff="1"/>',
    "gliss": '<gliss startid="#a" endid="#b" staff="1"/>',
    "slur": '<slur startid="#a" endid="#b" staff="1"/>',
    "lv": '<lv startid="#a" staff="1"/>',
    "arpeg": '<arpeg plist="#a #b" staff="1"/>',
    "bTrem": "",
    "fTrem": "",
}
"""MEI elements with how they stand beside two notes; the last two hold them."""
NOTES = '<note xml:id="a" dur="4" pname="c" oct="5"/><note xml:id="b" dur="4" pname="e" oct="5"/>'
ONE = '<note dur="4" pname="c" oct="5" stem.mod="3slash"/>'


@pytest.mark.long
def test_classes_and_words_close_to_those_of_others(ontology):
    found = {
        (str(subject).removeprefix(OQ), str(other))
        for subject, other in ontology.subject_objects(SKOS.closeMatch)
        if (subject, RDF.type, OQ.Instrument) not in ontology  # test_standards.py has them
    }
    assert found == CLOSE


def test_every_match_leads_to_one_thing_outside(ontology):
    for match in (SKOS.exactMatch, SKOS.closeMatch):
        for subject, other in ontology.subject_objects(match):
            assert isinstance(other, URIRef)
            assert not str(other).startswith(OQ), subject


def _engraved(element: str) -> str:
    held = ONE if element == "bTrem" else NOTES
    layer = f'<{element} unitdur="32">{held}</{element}>' if element.endswith("Trem") else NOTES
    toolkit = verovio.toolkit()
    toolkit.loadData(
        '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead/><music><body>'
        '<mdiv><score><scoreDef><staffGrp><staffDef n="1" lines="5" clef.shape="G" clef.line="2"/>'
        '</staffGrp></scoreDef><section><measure n="1"><staff n="1">'
        f'<layer n="1">{layer}</layer></staff>{ELEMENTS[element]}'
        "</measure></section></score></mdiv></body></music></mei>"
    )
    return toolkit.renderToSVG(1)


def test_every_element_of_mei_is_looked_at(ontology):
    assert {str(name) for name in ontology.objects(None, OQ.meiElement)} == set(ELEMENTS)


@pytest.mark.parametrize("element", ELEMENTS)
def test_elements_of_mei_are_engraved(element):
    """Outside the project: verovio draws what it knows of MEI under the name of its element."""
    assert f'class="{element}"' in _engraved(element)


@pytest.mark.parametrize(
    ("technique", "element"),
    [
        ("trill", "trill"),
        ("tremolo-unmeasured", "bTrem"),
        ("tremolo-measured", "bTrem"),
        ("fingered-tremolo", "fTrem"),
        ("glissando", "gliss"),
        ("arpeggiate", "arpeg"),
        ("legato", "slur"),
        ("laissez-vibrer", "lv"),
    ],
)
def test_techniques_have_their_element(ontology, technique, element):
    assert str(ontology.value(OQ[technique], OQ.meiElement)) == element
