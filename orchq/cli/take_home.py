"""What ``orchq check`` writes into a copy of a score: findings, or proposals carried out."""

from collections.abc import Sequence
from pathlib import Path

from orchq.cli.output import deliver, deliver_bytes
from orchq.errors import OrchqError
from orchq.project import Applied, Choice, Project
from orchq.project.corrections import music_of
from orchq.report.wording import counted, one_line, place
from orchq.rules.finding import Finding


def one_score(files: Sequence[Path], out: Path | None, what: str) -> tuple[Path, Path]:
    """The one score of a call and the file to write. Raises ``OrchqError`` for other calls."""
    if len(files) != 1:
        raise OrchqError(f"{what} takes one score at a time")
    if out is None:
        raise OrchqError(f"{what} writes a score: give its file with -o")
    if out.suffix.lower() == ".mxl":
        raise OrchqError(f"{out}: the score is written uncompressed; name it .musicxml")
    return files[0], out


def write_stripped(files: Sequence[Path], out: Path | None) -> None:
    """Write a copy of a score without the findings of an earlier check."""
    score, target = one_score(files, out, "--strip")
    deliver_bytes(music_of(score), target)


def chosen_proposals(
    text: str | None, form: str, files: Sequence[Path], out: Path | None
) -> list[Choice]:
    """Read ``3,4.2``, where it is given, for a call that writes a score.

    Raises ``OrchqError`` for anything else, and for what does not go together.
    """
    if text is None:
        if form == "musicxml":
            one_score(files, out, "--format musicxml")
        return []
    if form != "text":
        raise OrchqError("--apply writes a score and reports on it as text: leave out --format")
    one_score(files, out, "--apply")
    return [Choice.parse(each) for each in text.split(",")]


def write_applied(project: Project, score: Path, out: Path, chosen: Sequence[Choice]) -> int:
    """Write a copy of a score with proposals carried out, report on it, and return the exit code.

    0: every chosen finding is gone and nothing as grave came; 1: something is left or new.
    """
    applied = project.apply(score, chosen)
    deliver_bytes(applied.text, out)
    deliver("\n".join(_account(applied)) + "\n", None)
    return applied.exit_code


def _account(applied: Applied) -> list[str]:
    lines = [
        f"{each.finding}  {one_line(each.part, 80)}, {each.where}: {one_line(each.do, 500)}"
        for each in applied.corrections
    ]
    lines += _listed("Still found", applied.left)
    lines += _listed("New", applied.new)
    if applied.exit_code == 0:
        lines.append(
            f"Checked again: {counted(len(applied.corrections), 'correction')}, nothing new."
        )
    return lines


def _listed(title: str, findings: Sequence[Finding]) -> list[str]:
    return [
        f"{title}: {one_line(each.part, 80)}, {place(each)}: {one_line(each.message, 500)}"
        for each in findings
    ]
