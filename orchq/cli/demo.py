"""``orchq demo``: a check of the packaged excerpt."""

import orchq
from orchq.cli.output import deliver, look
from orchq.project import Project
from orchq.report.text import text_report


def demo() -> None:
    """Check the packaged piece, which has deliberate mistakes; the exit code is 0 all the same."""
    path = orchq.demo_path()
    deliver(
        "A short piece for strings, with deliberate mistakes among passages that only look "
        f"risky:\n{path}\n\n",
        None,
    )
    deliver(text_report(Project().check(path), **look(None)), None)
