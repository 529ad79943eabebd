"""The words of a report: places, counts and authorities as a musician names them.

Whatever comes from a score or an extension passes ``one_line`` before it is shown.
"""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path, PurePath
from typing import TYPE_CHECKING

from orchq.inputs import without_controls
from orchq.notation import beat_name, measure_name
from orchq.severity import SEVERITIES
from orchq.terms import slug_of

if TYPE_CHECKING:  # even the shortest help words its errors here, and needs no graph
    from collections.abc import Iterable, Sequence

    from orchq.evidence import Evidence
    from orchq.knowledge.extensions import Extension
    from orchq.rules.finding import FileReport, Finding, PartReport

_MOST_RUNS = 12
"""Passages named for a finding that occurs in many."""
_MOST_ATTRIBUTIONS = 2
"""Witnesses named for a finding, the best on either side; the others are counted."""
_SERVER_COMMAND = re.compile(r"(?<=:)(?=:)|(?<=#)(?=#\w*\[)")
"""Where a line such as ``::stop-commands::`` or ``##[command]`` is split."""


def one_line(text: str, limit: int = 400) -> str:
    r"""Make untrusted text safe to show on one line.

    Control and format characters (terminal commands, reversed writing, invisible letters) go,
    white space is squeezed, and what is longer than ``limit`` characters is cut. Characters that a
    CI server reads as a command in its log are split.

    >>> one_line("Vio\x1b[2Jlin\n I")
    'Vio[2Jlin I'
    >>> one_line("::add-mask::e ##vso[task]")
    ': :add-mask: :e # #vso[task]'
    """
    kept = "".join(" " if each.isspace() else each for each in text[: 20 * limit])
    kept = "".join(each for each in without_controls(kept) if unicodedata.category(each) != "Co")
    line = _SERVER_COMMAND.sub(" ", " ".join(kept.split()))
    return line if len(line) <= limit else line[: limit - 1] + "…"


def counted(number: int, noun: str) -> str:
    """Number and noun.

    >>> counted(1, "warning"), counted(1200, "note")
    ('1 warning', '1,200 notes')
    """
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def place(finding: Finding) -> str:
    """Measure and beat of a finding, such as ``m. 12, beat 3``."""
    measure = measure_name(one_line(finding.measure, 20), finding.measure_index)
    return f"{measure}, beat {beat_name(finding.beat)}"


def other_places(finding: Finding) -> str:
    """How often a finding occurs and in which measures, unless it occurs once."""
    places = finding.all_places
    if len(places) == 1:
        return ""
    named: list[list[tuple[int, str]]] = []
    for each in places:
        measure = each.measure_index, measure_name(one_line(each.measure, 20), each.measure_index)
        if named and measure == named[-1][-1]:
            continue
        if named and measure[0] == named[-1][-1][0] + 1:
            named[-1].append(measure)
        else:
            named.append([measure])
    runs = [run[0][1] if len(run) == 1 else f"{run[0][1]} to {run[-1][1]}" for run in named]
    shown = ", ".join(runs[:_MOST_RUNS])
    more = f" and in {len(runs) - _MOST_RUNS:,} more passages" if len(runs) > _MOST_RUNS else ""
    return f"{len(places):,} times: {shown}{more}"


def pitches(finding: Finding) -> str:
    """The pitches a finding is about."""
    return one_line(" ".join(finding.notes), 120)


def authority(evidence: Evidence) -> str:
    """Return the source, the place in it and the basis."""
    basis = basis_name(evidence.basis)
    source = ", ".join(filter(None, (one_line(evidence.source), one_line(evidence.locator))))
    return f"{source} ({basis})" if source else basis


def attribution(evidence: Evidence, rule: str) -> str:
    """Return the source and its statement.

    A rule that is its own evidence (``rule`` is its slug) would only repeat its name, which is
    shown beside it already.
    """
    who, statement = authority(evidence), one_line(evidence.statement, 2000)
    return f"{who}: {statement}" if statement and slug_of(evidence.limit) != rule else who


def attributions(finding: Finding) -> tuple[str, ...]:
    """Return sources with their statements, each once, the best witnesses first."""
    return tuple(linked_attributions(finding))


def linked_attributions(finding: Finding) -> dict[str, str]:
    """As ``attributions``, with an address that opens the source, or an empty one."""
    links: dict[str, str] = {}
    for evidence in finding.evidence:
        links.setdefault(attribution(evidence, finding.rule), evidence.link)
    return links


def shortened(says: Sequence[str]) -> tuple[str, ...]:
    """The first witnesses, and how many others there are.

    >>> shortened(["Berlioz", "Tavan", "memory"])
    ('Berlioz', 'Tavan', 'and 1 other')
    """
    rest = len(says) - _MOST_ATTRIBUTIONS
    if rest < 1:
        return tuple(says)
    return (*says[:_MOST_ATTRIBUTIONS], f"and {counted(rest, 'other')}")


def part_name(name: str, index: int) -> str:
    """The name of a part, or its number where none is printed.

    >>> part_name("Violins I", 0), part_name("", 1)
    ('Violins I', 'part 2 (no name printed)')
    """
    return one_line(name, 80) or f"part {index + 1} (no name printed)"


def extensions_in_force(extensions: Iterable[Extension]) -> tuple[str, ...]:
    """The extensions in use besides the core, and what each changes in it."""
    return tuple(
        one_line(f"Extension in force: {each.name}")
        + (
            one_line(f"; it changes the core: {', '.join(each.changes)}", 2000)
            if each.changes
            else ""
        )
        for each in extensions
    )


def account(finding: Finding) -> tuple[str, ...]:
    """A finding line by line: the place and the mistake, who says so, what to write instead."""
    part = part_name(finding.part, finding.part_index)
    return (
        f"{part}, {place(finding)}: {one_line(finding.message, 2000)}",
        *([others] if (others := other_places(finding)) else []),
        *(f"Who says so: {says}" for says in shortened(attributions(finding))),
        *(f"Instead: {one_line(proposal.do)}" for proposal in finding.instead),
    )


def basis_name(basis: str) -> str:
    """The name of a basis in words.

    >>> basis_name("common-practice")
    'common practice'
    """
    return one_line(basis).replace("-", " ")


def part_title(part: PartReport) -> str:
    """The name of a part with its instrument and notes, and for whom it is judged."""
    instrument = one_line(part.instrument or "unknown instrument").replace("-", " ")
    judged = f"; judged for {players(part)}" if part.level else ""
    notes = counted(part.notes, "note")
    return f"{part_name(part.name, part.index)} ({instrument}, {notes}{judged})"


def players(part: PartReport) -> str:
    """For whom a part was judged.

    >>> from orchq.rules.finding import PartReport
    >>> players(PartReport("Violins I", "P1", 0, "violin", True, 12, "orchestral", True))
    'an orchestral section'
    """
    level = one_line(part.level)
    if level == "soloist":
        return "a section of soloists" if part.section else "a soloist"
    article = "an" if level[:1] in "aeiou" else "a"
    return f"{article} {level} {'section' if part.section else 'player'}"


def heading(report: FileReport) -> str:
    """Composer and title as printed, or nothing."""
    return ", ".join(filter(None, (one_line(report.composer, 120), one_line(report.title, 200))))


def file_names(reports: Sequence[FileReport]) -> dict[str, str]:
    """What each file is called: its name, with as many folders as tell it from the others.

    >>> sorted(file_names_of(["a/b/one.mxl", "a/c/one.mxl", "a/two.mxl"]).values())
    ['b/one.mxl', 'c/one.mxl', 'two.mxl']
    """
    return file_names_of([report.file for report in reports])


def file_names_of(files: Sequence[str]) -> dict[str, str]:
    """As ``file_names``, of paths."""
    names: dict[str, str] = {}
    for file in dict.fromkeys(files):
        parts = PurePath(file).parts
        others = [PurePath(other).parts for other in files if other != file]
        length = 1
        while length < len(parts) and any(o[-length:] == parts[-length:] for o in others):
            length += 1
        names[file] = one_line("/".join(parts[-length:]))
    return names


def severity_counts(findings: Iterable[Finding]) -> str:
    """How many findings there are of each severity, the gravest first."""
    severities = [finding.severity for finding in findings]
    counts = [
        counted(severities.count(severity), severity)
        for severity in reversed(SEVERITIES)
        if severity in severities
    ]
    return ", ".join(counts) or "nothing found"


def seen_from_here(file: str) -> Path:
    """The path of a file from the current folder, where a CI server looks for it too.

    A file elsewhere keeps its absolute path.
    """
    path, here = Path(file).absolute(), Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path
