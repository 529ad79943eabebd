"""Check every string work in MusicXML of the corpus that the music21 package installs.

    python tests/benchmarks/quartet_corpus.py [FOLDER ...]

Prints how many files could be read, which parts were not recognised, and findings per 1,000
notes by rule and severity; with ``-v`` also each violation and its place. Folders name other
collections of scores to measure instead.
"""

import importlib.util
import sys
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import orchq

WORKS = ("beethoven", "haydn", "mozart", "schumann_robert")
FOR_OTHERS = ("k545", "opus48no2")


def scores(folders: Sequence[Path] = ()) -> list[Path]:
    """The files to check, in a stable order: those below the folders given, or of music21."""
    if folders:
        return [file for folder in folders for file in sorted(folder.rglob("*.mxl"))]
    spec = importlib.util.find_spec("music21")
    if spec is None or spec.origin is None:
        sys.exit("music21 is not installed: pip install music21")
    corpus = Path(spec.origin).parent / "corpus"
    files = (file for work in WORKS for file in (corpus / work).rglob("*.mxl"))
    return sorted(file for file in files if not any(part in str(file) for part in FOR_OTHERS))


def main() -> None:
    """Check all and print what came out."""
    knowledge = orchq.load()
    notes, failed, found = 0, 0, Counter[tuple[str, str]]()
    unknown: Counter[str] = Counter()
    files = scores([Path(each) for each in sys.argv[1:] if not each.startswith("-")])
    verbose = "-v" in sys.argv[1:]
    started = time.perf_counter()
    for file in files:
        try:
            report = orchq.check(file, knowledge=knowledge, advice=False)
        except orchq.OrchqError as error:
            failed += 1
            print(f"failed: {error}")
            continue
        notes += report.notes
        unknown.update(part.name for part in report.parts if not part.checked)
        found.update((finding.severity, finding.rule) for finding in report.findings)
        for finding in report.findings if verbose else ():
            if finding.severity == "violation":
                place = f"{file.name}, {finding.part}, m. {finding.measure}, beat {finding.beat:g}"
                print(f"{place}: {finding.rule}: {finding.message}")
    took = time.perf_counter() - started
    print(f"{len(files)} files, {failed} failed, {notes} notes, {took:.0f} s")
    print("not checked:", dict(unknown) or "nothing")
    for severity in ("violation", "warning", "info"):
        total = sum(count for (kind, _), count in found.items() if kind == severity)
        print(f"{severity}: {total}, {1000 * total / max(notes, 1):.3f} per 1,000 notes")
        for (kind, rule), count in found.most_common():
            if kind == severity:
                print(f"  {count:>6}  {1000 * count / notes:>7.3f}  {rule}")


if __name__ == "__main__":
    main()
