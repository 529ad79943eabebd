"""``orchq check --watch``: check again when a file is saved, and report what has changed."""

import gc
import time
from collections.abc import Iterable, Sequence
from pathlib import Path

from orchq.cli.failure import fail
from orchq.cli.output import deliver, look
from orchq.cli.progress import with_progress
from orchq.project import Outcome, Project
from orchq.report.differences import change_report
from orchq.report.text import text_report
from orchq.rules.finding import FileReport
from orchq.saved_files import SavedFiles

_PAUSE = 0.25
"""Seconds between two polls of the files."""


def watch(files: Sequence[Path], project: Project) -> None:
    """Report on the files, then on every change, until the user interrupts.

    A file is read again once it has stayed the same for a while. While it cannot be read, that
    is reported and the last report on it stands.
    """
    try:
        _watch(files, project)
    except KeyboardInterrupt:
        deliver("\n", None)


def _watch(files: Sequence[Path], project: Project) -> None:
    saved = SavedFiles(files)
    outcome = _checked(with_progress(files), project)
    good = {report.file: report for report in outcome.reports}
    deliver(text_report(outcome, **look(None)), None)
    deliver("\nWatching; Ctrl-C ends it.\n\n", None)
    while True:
        time.sleep(_PAUSE)
        for file in saved.look():
            _report(file, project, good)


def _report(file: Path, project: Project, good: dict[str, FileReport]) -> None:
    outcome = _checked([file], project)
    gc.collect()
    if outcome.unread:
        return
    (now,) = outcome.reports
    before = good.get(now.file)
    good[now.file] = now
    if before is None:
        deliver(text_report(outcome, **look(None)) + "\n", None)
    else:
        deliver(change_report(before, now, **look(None)) + "\n", None)


def _checked(files: Iterable[Path], project: Project) -> Outcome:
    outcome = project.check(files)
    for fault in (fault for unread in outcome.unread for fault in unread.faults):
        fail(fault.sentence)
    return outcome
