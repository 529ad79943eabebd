"""Every module and shipped extension states its version, licence and version IRI.

A module of the core is called as its path says, and the root imports them all. Run as a program,
this file writes the version of pyproject.toml and the names into all heads, and the imports.
"""

import re
import tomllib
from pathlib import Path

import pytest
from rdflib import DCTERMS, OWL, RDF, RDFS, Graph, Literal, URIRef

from orchq.knowledge.data_files import core_files, dataset_file, shipped_extensions

TOP = Path(__file__).parents[2] / "ontology"
PROJECT = tomllib.loads((TOP.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]
VERSION = PROJECT["version"]
ROOT, *MODULES = core_files()
DATASET = dataset_file()
SHIPPED = list(shipped_extensions().values())
OQ = "https://w3id.org/orchq/"
EXTENSIONS = "https://w3id.org/orchq-extensions/"
CREATOR = URIRef(f"{OQ}ontology/contributors")
LICENCE = URIRef("https://spdx.org/licenses/MIT")
RENEW = "python tests/ontology/test_heads.py writes names, versions and imports"


def _names(path: Path) -> tuple[str, str]:
    """The IRI of the ontology in a file, and that of its present version."""
    if path in SHIPPED:
        return EXTENSIONS + path.stem, f"{EXTENSIONS}{VERSION}/{path.stem}"
    inside = path.relative_to(TOP).with_suffix("").as_posix()
    name = "ontology" if path == ROOT else f"ontology/{inside}"
    return OQ + name, f"{OQ}{VERSION}/{name}"


def test_the_root_comes_first():
    assert ROOT == TOP / "orchq.ttl"


@pytest.mark.parametrize("path", [ROOT, *MODULES, *SHIPPED], ids=lambda path: path.stem)
def test_a_head_states_name_version_and_licence(path):
    graph = Graph().parse(path)
    name, version = map(URIRef, _names(path))
    assert set(graph.subjects(RDF.type, OWL.Ontology)) == {name}, RENEW
    assert list(graph.objects(name, OWL.versionIRI)) == [version], RENEW
    assert list(graph.objects(name, OWL.versionInfo)) == [Literal(VERSION)], RENEW
    assert list(graph.objects(name, DCTERMS.license)) == [LICENCE]
    assert list(graph.objects(name, DCTERMS.creator)) == [CREATOR], RENEW
    assert graph.value(name, RDFS.label) is not None


def test_the_root_imports_every_module_and_nothing_else():
    graph = Graph().parse(ROOT)
    imported = {str(iri) for iri in graph.objects(URIRef(f"{OQ}ontology"), OWL.imports)}
    assert imported == {_names(path)[0] for path in MODULES}, RENEW


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_a_shipped_extension_builds_on_the_core(path):
    graph = Graph().parse(path)
    name = _names(path)[0]
    assert list(graph.objects(URIRef(name), OWL.imports)) == [URIRef(f"{OQ}ontology")]
    own = {str(subject) for subject in graph.subjects(RDF.type)} - {name}
    assert all(subject.startswith(f"{name}#") for subject in own)


def _renewed(path: Path) -> str:
    name, version = _names(path)
    text = path.read_text(encoding="utf-8")
    text = re.sub(r"^<\S+> a owl:Ontology", f"<{name}> a owl:Ontology", text, flags=re.MULTILINE)
    if "dcterms:creator <" not in text:
        licence = "    dcterms:license "
        text = text.replace(licence, f"    dcterms:creator <{CREATOR}> ;\n{licence}", 1)
    text = re.sub(r"(owl:versionIRI )<\S+>", rf"\g<1><{version}>", text)
    text = re.sub(r"(contributors: orchq, .*, version )[\d.]+,", rf"\g<1>{VERSION},", text)
    return re.sub(r'(owl:versionInfo )"[^"]*"', rf'\g<1>"{VERSION}"', text)


def _renewed_dataset(text: str) -> str:
    return re.sub(r'(dcat:version )"[^"]*"', rf'\g<1>"{VERSION}"', text)


def _with_imports(text: str) -> str:
    """The text of the root with one line for each module; no list that people keep."""
    head = re.sub(r"\n<\S+> owl:imports [^\n]*\n", "", text).rstrip("\n")
    imports = [f"\n<{OQ}ontology> owl:imports <{_names(path)[0]}> .\n" for path in MODULES]
    return "".join([f"{head}\n", *imports])


if __name__ == "__main__":
    for file in (ROOT, *MODULES, *SHIPPED):
        file.write_text(_renewed(file), encoding="utf-8")
    DATASET.write_text(_renewed_dataset(DATASET.read_text(encoding="utf-8")), encoding="utf-8")
    ROOT.write_text(_with_imports(ROOT.read_text(encoding="utf-8")), encoding="utf-8")
