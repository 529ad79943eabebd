"""Check each composer's scores by what the scores of the others attest.

    python tests/benchmarks/unseen.py SCORES [SCORES ...] [--keep FOLDER] [--jobs N]

Scores are folders or files. All of them are surveyed once. Then each composer is left out in turn:
limits are attested from the scores of the others, the graph takes these for its own
(``ontology/measured/``), and the left-out scores are checked (*unseen*); beside it they are checked
by what all together attest (*seen*). Nothing else of the graph is fitted to scores: the steps and
thresholds of ``ontology/vocabulary/weighing.ttl`` have their reasons there.

Findings are gathered as reports tell them: one habit of a part is one finding. The tables give
violations and warnings per 1,000 notes by style, for scores with and without words for ways of
playing, and by rule, and name every score with more than three violations. Styles go by the year
of the composer's birth; a score is orchestral where sections play more than half of its notes.

``--keep`` is a folder for surveys and checks; a run that was broken off goes on there, and
``findings.json`` there tells all that was found, with messages. Two processes at most.
"""

import argparse
import hashlib
import json
import sys
import tempfile
from collections import Counter, defaultdict
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from functools import cached_property, lru_cache
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import orchq
from orchq.files import write_whole
from orchq.knowledge import Knowledge
from orchq.knowledge.data_files import core_files
from orchq.knowledge.store import parse_triples, read_triples
from orchq.project import Project
from orchq.readers import MUSICXML_SUFFIXES, read_score
from orchq.rules.checking import rule_files, structure_files
from orchq.rules.gathering import gathered
from orchq.survey import Survey, score_files
from orchq.survey.attested_turtle import attested_turtle
from orchq.survey.attesting import attest
from orchq.survey.rows import PitchRow, Row, WordRow, Work
from orchq.survey.sightings import Sighting, Sightings, spoken_subjects
from orchq.survey.stored_surveys import read_surveys
from orchq.terms import oq

BORN = {
    "bach": 1685,
    "haydn": 1732,
    "boccherini": 1743,
    "saint-georges": 1745,
    "hoffmeister": 1754,
    "mozart": 1756,
    "cherubini": 1760,
    "beethoven": 1770,
    "schubert": 1797,
    "glinka": 1804,
    "arriaga": 1806,
    "mendelssohn": 1809,
    "schumann": 1810,
    "gounod": 1818,
    "gouvy": 1819,
    "brahms": 1833,
    "andree": 1841,
    "dvorak": 1841,
    "faure": 1845,
    "indy": 1851,
    "stanford": 1852,
    "delius": 1862,
    "debussy": 1862,
    "strauss": 1864,
    "glazunov": 1865,
    "busoni": 1866,
    "ravel": 1875,
    "bridge": 1879,
    "bartok": 1881,
}
"""Years of birth, common knowledge, by the key that the survey gives to a composer."""
ERAS = ((1775, "classical or older"), (1850, "romantic"), (9999, "late"))
MOST = 3
"""A score with more violations than this is named."""
MEASURED = "measured"


@dataclass(frozen=True)
class Judged:
    """A score to check, and what its survey says of it."""

    path: str
    work: str
    composer: str
    style: str
    worded: bool


@dataclass(frozen=True)
class Fold:
    """Scores to check by one module of attested limits; ``seen`` where their own are among them."""

    scores: tuple[Judged, ...]
    module: str
    seen: bool
    keep: Path
    state: str


def style_of(composer: str, in_sections: bool) -> str:
    """The style of a score, by its players and the composer's birth."""
    if in_sections:
        return "orchestral"
    born = BORN.get(composer)
    return next((era for year, era in ERAS if born is not None and born < year), "undated")


def judged(paths: dict[str, Path], tables: dict[str, list[Row]]) -> Iterator[Judged]:
    """Yield the scores whose composer is known."""
    heads: dict[str, Counter[str]] = defaultdict(Counter)
    for row in tables["pitches"]:
        if isinstance(row, PitchRow):
            heads[row.work][row.setting] += row.notes
    worded = {
        row.work for row in tables["words"] if isinstance(row, WordRow) and row.technique_words
    }
    for row in tables["works"]:
        assert isinstance(row, Work)
        if row.composer:
            sections = heads[row.work]["section"] > heads[row.work]["solo"]
            style = style_of(row.composer, sections)
            path = str(paths[row.work].absolute())
            yield Judged(path, row.work, row.composer, style, row.work in worded)
        else:
            print(f"left out, since no composer is named: {row.work}", file=sys.stderr)


def state() -> str:
    """A digest of whatever a check depends on but the scores and what they attest."""
    top = Path(orchq.__file__).parent
    files = [*unmeasured(), *rule_files(), *structure_files(), *sorted(top.rglob("*.py"))]
    return hashlib.sha256(
        b"".join(hashlib.sha256(f.read_bytes()).digest() for f in files)
    ).hexdigest()


def unmeasured() -> list[Path]:
    """The files of the core without what scores attest."""
    return [file for file in core_files() if file.parent.name != MEASURED]


class Attesting:
    """What scores attest, as the graph's module, with one composer left out."""

    def __init__(self, tables: dict[str, list[Row]], keep: Path, state: str) -> None:
        self._tables = tables
        self._keep = keep
        self._state = state
        self._knowledge = Knowledge.of()
        self._source = self._knowledge.sources[oq("open-scores").value]

    def module(self, left_out: str) -> str:
        """The module of what all but one attest, or all if none is named, perhaps as kept."""
        name = hashlib.sha256(f"{self._state} {left_out}".encode()).hexdigest()
        kept = self._keep / f"{name}.ttl"
        if not kept.exists():
            heard = (each for each in self._sightings if each.composer != left_out)
            text = attested_turtle(attest(heard), self._knowledge, self._source)
            write_whole(kept, lambda draft: draft.write_text(text, encoding="utf-8"))
        return kept.read_text(encoding="utf-8")

    @cached_property
    def _sightings(self) -> list[Sighting]:
        # what scores permit matters only where somebody else states a limit
        stated = spoken_subjects(self._knowledge)
        return [
            each
            for each in Sightings(self._knowledge).of(self._tables)
            if each.subject in stated or each.wider in stated
        ]


@lru_cache(maxsize=1)
def graph_with(attested: str) -> Knowledge:
    """The core with other attested limits than its own."""
    quads = [quad for file in unmeasured() for quad in read_triples(file)]
    return Knowledge([*quads, *parse_triples(attested.encode(), Path("attested.ttl"))])


def checked(fold: Fold) -> list[dict[str, Any]]:
    """Check the scores of a fold, or read back what is kept of them."""
    found = []
    for score in fold.scores:
        content = Path(score.path).read_bytes()
        parts = (fold.state.encode(), fold.module.encode(), content)
        name = hashlib.sha256(b"".join(hashlib.sha256(each).digest() for each in parts))
        kept = fold.keep / "checks" / f"{name.hexdigest()}.json"
        if not kept.exists():
            data = json.dumps(check(score, graph_with(fold.module))).encode()
            write_whole(kept, lambda draft, data=data: draft.write_bytes(data))
        found.append({**asdict(score), "seen": fold.seen, **json.loads(kept.read_bytes())})
    return found


def check(score: Judged, knowledge: Knowledge) -> dict[str, Any]:
    """The notes of a score, and its findings as a report tells them."""
    report = gathered(Project(knowledge=knowledge, advice=False).check_file(Path(score.path)))
    findings = [
        {
            **{name: getattr(each, name) for name in ("rule", "severity", "part", "measure")},
            **{name: getattr(each, name) for name in ("beat", "message", "event")},
            "notes": list(each.notes),
            "places": len(each.all_places),
            "evidence": [f"{one.source or one.basis}: {one.statement}" for one in each.evidence],
        }
        for each in report.findings
    ]
    return {"notes": report.notes, "findings": findings}


def folds(scores: list[Judged], attesting: Attesting, keep: Path, program: str) -> Iterator[Fold]:
    """Yield the folds, those of most scores first: unseen by composer, then all of them seen."""
    by_composer: dict[str, list[Judged]] = defaultdict(list)
    for score in scores:
        by_composer[score.composer].append(score)
    for seen in (False, True):
        for name, own in sorted(by_composer.items(), key=lambda each: -len(each[1])):
            module = attesting.module("" if seen else name)
            yield Fold(tuple(own), module, seen, keep, program)


def rates(rows: list[dict[str, Any]]) -> str:
    """Violations and warnings per 1,000 notes, seen and unseen."""
    cells = []
    for severity in ("violation", "warning"):
        for seen in (True, False):
            mine = [row for row in rows if row["seen"] is seen]
            notes = sum(row["notes"] for row in mine)
            count = sum(f["severity"] == severity for row in mine for f in row["findings"])
            cells.append(f"{1000 * count / max(notes, 1):>7.3f} ({count:>4})")
    return "  ".join(cells)


def tell(rows: list[dict[str, Any]]) -> None:
    """Print the tables."""
    head = "  ".join(
        f"{each:>14}" for each in ("violations seen", "unseen", "warnings seen", "unseen")
    )
    print(f"{'per 1,000 notes (count)':<44}{'scores':>7}{'notes':>9}  {head}")
    groups: dict[str, list[dict[str, Any]]] = {"all": rows}
    for style in ("classical or older", "romantic", "late", "orchestral", "undated"):
        for worded in (True, False):
            name = f"{style}, {'with' if worded else 'without'} technique words"
            of_style = [row for row in rows if row["style"] == style]
            groups.setdefault(style, of_style)
            groups[name] = [row for row in of_style if row["worded"] is worded]
    for name, group in groups.items():
        if group:
            unseen = [row for row in group if not row["seen"]]
            notes = sum(row["notes"] for row in unseen)
            print(f"{name:<44}{len(unseen):>7}{notes:>9}  {rates(group)}")
    print()
    for rule in sorted({f["rule"] for row in rows for f in row["findings"]}):
        of_rule = [
            {**row, "findings": [f for f in row["findings"] if f["rule"] == rule]} for row in rows
        ]
        if any(f["severity"] != "info" for row in of_rule for f in row["findings"]):
            print(f"{rule:<48}  {rates(of_rule)}")
    print()
    for row in rows:
        violations = [f for f in row["findings"] if f["severity"] == "violation"]
        if not row["seen"] and len(violations) > MOST:
            print(f"{len(violations)} violations unseen: {row['work']}")


def main() -> None:
    """Survey, attest, check and print."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("scores", nargs="+", type=Path)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--jobs", type=int, default=2, choices=(1, 2))
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as passing:
        keep: Path = given.keep or Path(passing)
        for each in ("checks", "modules"):
            (keep / each).mkdir(parents=True, exist_ok=True)
        survey = Survey(keep / "survey", read_score).begun()
        outcomes = list(survey.outcomes(score_files(given.scores, MUSICXML_SUFFIXES), given.jobs))
        for outcome in outcomes:
            if outcome.error:
                print(outcome.error, file=sys.stderr)
        survey.write(outcomes)
        tables = read_surveys([survey.folder])
        paths = {f"{survey.folder.name}/{each.file.work}": each.file.path for each in outcomes}
        scores = list(judged(paths, tables))
        results = sorted(each.result.name for each in outcomes if each.result)
        attesting = Attesting(tables, keep / "modules", " ".join(results))
        with ProcessPoolExecutor(given.jobs, mp_context=get_context("spawn")) as pool:
            going = [pool.submit(checked, fold) for fold in folds(scores, attesting, keep, state())]
            rows = [row for found in going for row in found.result()]
        write_whole(
            keep / "findings.json", lambda draft: draft.write_text(json.dumps(rows, indent=1))
        )
        tell(rows)


if __name__ == "__main__":
    main()
