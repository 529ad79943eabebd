"""Measure the open scores anew, and write what they attest: limits and examples of the graph.

    python tests/benchmarks/renew_attested.py SCORES TABLES

``SCORES`` holds the data sets of ``ontology/sources/data-sets.ttl`` in the folders ``quartets`` and
``orchestra``; the corpus of music21 is taken from the package. The tables of the surveys go to
``TABLES``, and a run that was broken off goes on there. Writes ``ontology/measured/attested.ttl``
and ``ontology/places/open-scores.ttl``, byte for byte the same from the same scores and graph.

Of one work only one transcription counts: of music21's corpus only those quartets attest that
OpenScore lacks; examples are taken from all of it.
"""

import subprocess
import sys
from pathlib import Path

from quartet_corpus import scores

from orchq.cli.app import main as orchq

ONLY_THERE = (
    *("beethoven/opus59no1", "beethoven/opus59no2", "beethoven/opus74", "beethoven/opus132"),
    "mozart/k156",
)
ONTOLOGY = Path(__file__).parents[2] / "ontology"


def survey(places: list[Path], tables: Path) -> str:
    """Survey places into a folder of tables, which is returned."""
    tables.mkdir(parents=True, exist_ok=True)
    if orchq(["survey", *map(str, places), "-o", str(tables)]) != 0:
        sys.exit(f"{tables}: the survey failed")
    return str(tables)


def main() -> None:
    """Survey, attest, and choose examples."""
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    below, tables = map(Path, sys.argv[1:])
    corpus = scores()
    alone = [file for file in corpus if any(part in file.as_posix() for part in ONLY_THERE)]
    open_scores = [survey([below / name], tables / name) for name in ("quartets", "orchestra")]
    attesting = [*open_scores, survey(alone, tables / "music21-alone")]
    out = str(ONTOLOGY / "measured" / "attested.ttl")
    if orchq(["attest", *attesting, "--source", "open-scores", "-o", out]) != 0:
        sys.exit("nothing is attested")
    shown = [*open_scores, survey(corpus, tables / "music21")]
    subprocess.run([sys.executable, "-m", "orchq.survey.place_index", *shown], check=True)


if __name__ == "__main__":
    main()
