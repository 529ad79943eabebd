"""The rule stage beside other SHACL engines: the same triples, the same shapes, equal results.

    python -m tests.benchmarks.engines [FILE] [--times 1] [--runs 5] [--pyshacl]

Takes a score, by default Beethoven's op. 18 no. 1, first movement (from the corpus that music21
installs), its measures ``--times`` over; what ``orchq export --derived`` and ``--shapes`` write
of it is loaded by each engine, and then validated by each in turn. CPU seconds of the validation
alone. The run ends where nodes and shapes of the results differ.
"""

import argparse
import statistics
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from time import process_time

import pyrudof
import pyshacl
from pyoxigraph import RdfFormat, Store
from rdflib import RDF, SH, Graph

import orchq
from orchq.rules.checking import rules_of
from orchq.rules.engine import run_fast
from tests.benchmarks.check_quartet import movement
from tests.benchmarks.growing import grown

Results = set[tuple[str, str]]


def main() -> None:
    """Validate with each engine in turn and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", nargs="?", type=Path)
    parser.add_argument("--times", type=int, default=1)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--pyshacl", action="store_true", help="once; minutes for some 100 notes")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        file = asked.file or Path(folder, "grown.musicxml")
        if asked.file is None:
            file.write_bytes(grown(movement(), asked.times))
        notes = orchq.check(file, advice=False).notes
        data, shapes = orchq.export(file, format="nt", derived=True), orchq.export_shapes()
    engines = {"orchq": ours(data), "Rudof": rudof(data, shapes)}
    spent: dict[str, list[float]] = {name: [] for name in engines}
    results: dict[str, Results] = {}
    for _ in range(asked.runs):
        for name, validate in engines.items():
            spent[name].append(timed(name, validate, results))
    if asked.pyshacl:
        spent["pySHACL"] = [timed("pySHACL", reference(data, shapes), results)]
    print(f"{notes} notes, {data.count(chr(10))} triples, {len(results['orchq'])} results")
    for name, seconds in spent.items():
        middle = statistics.median(seconds)
        ratio = middle / statistics.median(spent["orchq"])
        print(f"{name:8} {min(seconds):9.3f} {middle:9.3f} {max(seconds):9.3f} s {ratio:9.1f}")


def timed(name: str, validate: Callable[[], Results], results: dict[str, Results]) -> float:
    """CPU seconds of a validation, whose results must be those of the others."""
    started = process_time()
    found = validate()
    seconds = process_time() - started
    results[name] = found
    if found != results["orchq"]:
        sys.exit(f"{name} differs: {sorted(found ^ results['orchq'])[:5]}")
    return seconds


def ours(data: str) -> Callable[[], Results]:
    """The rules as a check runs them."""
    store = Store()
    store.bulk_load(data.encode(), RdfFormat.N_TRIPLES)
    _, shapes = rules_of(orchq.load())
    return lambda: {(row.focus, row.shape.iri) for row in run_fast(store, shapes)}


def rudof(data: str, shapes: str) -> Callable[[], Results]:
    """Rudof, in Rust, with SPARQL and SHACL of its own."""
    engine = pyrudof.Rudof(pyrudof.RudofConfig())
    strict = pyrudof.ReaderMode.Strict
    engine.read_data(data, pyrudof.RDFFormat.NTriples, reader_mode=strict)
    engine.read_shacl(shapes, reader_mode=strict)
    return lambda: {(each.focus_node, each.source_shape) for each in engine.validate_shacl()}


def reference(data: str, shapes: str) -> Callable[[], Results]:
    """PySHACL, in Python."""
    given, rules = Graph().parse(data=data, format="nt"), Graph().parse(data=shapes)

    def validate() -> Results:
        _, report, _ = pyshacl.validate(given, shacl_graph=rules)
        return {
            (str(report.value(each, SH.focusNode)), str(report.value(each, SH.sourceShape)))
            for each in report.subjects(RDF.type, SH.ValidationResult)
        }

    return validate


if __name__ == "__main__":
    main()
