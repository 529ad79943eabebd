"""The ontology loads in an OWL library and keeps to what OWL 2 DL allows of names."""

import io

import pytest
from rdflib import OWL, RDF, RDFS, Literal, URIRef

OQ = "https://w3id.org/orchq/"
STRING = URIRef("http://www.w3.org/2001/XMLSchema#string")


@pytest.fixture(scope="module")
def loaded(ontology):
    import owlready2  # noqa: PLC0415 - heavy

    world = owlready2.World()
    plain = ontology + type(ontology)()
    # The modules are all in the graph: nothing is to be fetched.
    plain.remove((None, OWL.imports, None))
    text = plain.serialize(format="xml", encoding="utf-8")
    world.get_ontology(f"{OQ}ontology").load(fileobj=io.BytesIO(text))
    return world


@pytest.mark.long
def test_classes_and_properties_arrive(ontology, loaded):
    for kind, found in (
        (OWL.Class, loaded.classes()),
        (OWL.ObjectProperty, loaded.object_properties()),
        (OWL.DatatypeProperty, loaded.data_properties()),
    ):
        declared = {str(node) for node in ontology.subjects(RDF.type, kind)}
        assert {entity.iri for entity in found} == declared


def test_individuals_arrive_with_their_classes(loaded):
    spiccato = loaded[f"{OQ}spiccato"]
    assert [kind.name for kind in spiccato.is_a] == ["BowStroke"]
    assert "arco" in {technique.name for technique in spiccato.implies}
    violin = loaded[f"{OQ}violin"]
    assert [family.name for family in violin.belongsToFamily] == ["bowed-strings"]


def test_no_name_is_both_class_property_and_individual(ontology):
    classes = set(ontology.subjects(RDF.type, OWL.Class))
    objects = set(ontology.subjects(RDF.type, OWL.ObjectProperty))
    values = set(ontology.subjects(RDF.type, OWL.DatatypeProperty))
    notes = set(ontology.subjects(RDF.type, OWL.AnnotationProperty))
    things = {s for s, o in ontology.subject_objects(RDF.type) if str(o).startswith(OQ)}
    groups = [classes, objects, values, notes, things]
    assert sum(map(len, groups)) == len(set().union(*groups))


def test_every_foreign_property_is_an_annotation(ontology):
    declared = set(ontology.subjects(RDF.type, OWL.AnnotationProperty))
    foreign = {p for p in ontology.predicates() if not str(p).startswith(OQ)}
    builtin = {p for p in foreign if str(p).startswith((str(RDF), str(RDFS), str(OWL)))}
    assert foreign - builtin <= declared


def test_properties_lead_to_what_they_declare(ontology):
    """Object properties to names, datatype properties to values of their range."""
    for name in ontology.subjects(RDF.type, OWL.ObjectProperty):
        wrong = [o for o in ontology.objects(None, name) if not isinstance(o, URIRef)]
        assert wrong == [], name
    for name in ontology.subjects(RDF.type, OWL.DatatypeProperty):
        of = ontology.value(name, RDFS.range)
        values = list(ontology.objects(None, name))
        assert all(isinstance(value, Literal) for value in values), name
        if of is not None:
            kinds = {value.datatype or (None if value.language else STRING) for value in values}
            assert kinds <= {of}, name


def test_domains_and_ranges_hold(ontology, members):
    """What a reasoner would infer from a property is stated already."""
    for prop, domain in ontology.subject_objects(RDFS.domain):
        members_of_domain = members(str(domain).removeprefix(OQ))
        assert set(ontology.subjects(prop)) <= members_of_domain, prop
    for prop in ontology.subjects(RDF.type, OWL.ObjectProperty):
        for of in ontology.objects(prop, RDFS.range):
            assert set(ontology.objects(None, prop)) <= members(str(of).removeprefix(OQ)), prop


def test_disjoint_classes_share_no_individual(ontology, members):
    for group in ontology.subjects(RDF.type, OWL.AllDisjointClasses):
        kinds = list(ontology.items(ontology.value(group, OWL.members)))
        assert len(kinds) > 1
        seen: set[URIRef] = set()
        for kind in kinds:
            mine = members(str(kind).removeprefix(OQ))
            assert not mine & seen, kind
            seen |= mine
