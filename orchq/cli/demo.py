"""``orchq demo``: the main job on the packaged excerpt."""

import orchq
from orchq.cli.output import deliver, look
from orchq.project import Project
from orchq.report.text import text_report


def demo() -> None:
    """Check the packaged piece, in which mistakes are planted; ends with 0 all the same."""
    path = orchq.demo_path()
    deliver(
        f"A short piece for strings, with mistakes planted among passages that only look risky:\n"
        f"{path}\n\n",
        None,
    )
    deliver(text_report(Project().check(path), **look(None)), None)
