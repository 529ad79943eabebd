"""Every module and shipped extension states its version, licence and version IRI.

Run as a program, this file writes the version of pyproject.toml into all of them.
"""

import re
import tomllib
from pathlib import Path

import pytest
from rdflib import DCTERMS, OWL, RDF, RDFS, Graph, Literal, URIRef

ROOT = Path(__file__).parents[2]
VERSION = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
FILES = [*(ROOT / "ontology").glob("*.ttl"), *(ROOT / "ontology" / "extensions").glob("*.ttl")]
OQ = "https://w3id.org/orchq/"
EXTENSIONS = "https://w3id.org/orchq-extensions/"
LICENCE = URIRef("https://spdx.org/licenses/MIT")
RENEW = "python tests/ontology/test_versions.py writes the version of pyproject.toml"


def _names(path: Path) -> tuple[URIRef, URIRef]:
    """The IRI of the ontology in a file, and that of its present version."""
    if path.parent.name == "extensions":
        return URIRef(EXTENSIONS + path.stem), URIRef(f"{EXTENSIONS}{VERSION}/{path.stem}")
    name = "ontology" if path.stem == "orchq" else f"ontology/{path.stem}"
    return URIRef(OQ + name), URIRef(f"{OQ}{VERSION}/{name}")


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_head_states_version_and_licence(path):
    graph = Graph().parse(path)
    name, version = _names(path)
    assert set(graph.subjects(RDF.type, OWL.Ontology)) == {name}
    assert list(graph.objects(name, OWL.versionIRI)) == [version], RENEW
    assert list(graph.objects(name, OWL.versionInfo)) == [Literal(VERSION)], RENEW
    assert list(graph.objects(name, DCTERMS.license)) == [LICENCE]
    assert graph.value(name, RDFS.label) is not None


@pytest.mark.parametrize(
    "path", sorted((ROOT / "ontology" / "extensions").glob("*.ttl")), ids=lambda path: path.stem
)
def test_a_shipped_extension_builds_on_the_core(path):
    graph = Graph().parse(path)
    assert list(graph.objects(_names(path)[0], OWL.imports)) == [URIRef(f"{OQ}ontology")]
    own = str(_names(path)[0]) + "#"
    assert all(str(s).startswith(own) for s in graph.subjects(RDF.type) if s != _names(path)[0])


def _renewed(text: str) -> str:
    text = re.sub(r'(owl:versionInfo )"[^"]*"', rf'\g<1>"{VERSION}"', text)
    text = re.sub(rf"<{OQ}\d[^/>]*/ontology", f"<{OQ}{VERSION}/ontology", text)
    return re.sub(rf"<{EXTENSIONS}\d[^/>]*/", f"<{EXTENSIONS}{VERSION}/", text)


if __name__ == "__main__":
    for file in FILES:
        file.write_text(_renewed(file.read_text(encoding="utf-8")), encoding="utf-8")
