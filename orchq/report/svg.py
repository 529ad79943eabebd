"""Drawings in SVG that are the same for the same contents; matplotlib is loaded only for one."""

import re
from io import StringIO
from typing import Any

from orchq.errors import OrchqError

# Okabe and Ito's palette, which all can tell apart; line style or mark repeats what colour shows.
SURE, DOUBTED, REFUSED, LINE = "#0072B2", "#E69F00", "#D55E00", "#999999"
_INK = "#000000"
ANY_GROUND = (
    "<style>:root{color-scheme:light dark;color:#222;fill:currentColor}text{fill:currentColor}"
    "@media(prefers-color-scheme:dark){:root{color:#ddd}}</style>"
)
"""Ink for light and dark surroundings; the ground is that of whatever holds the drawing."""
_ROOT = re.compile(r"<svg\b[^>]*>")
WIDTH = 8.0
"""Width of a drawing, in inches of 72 points."""


def blank(height: float, rows: int = 1) -> tuple[Any, Any]:
    """An empty drawing of a height in inches, and its axes: an array of them for several rows.

    Raises ``OrchqError`` when matplotlib is not installed.
    """
    try:
        from matplotlib.figure import Figure  # noqa: PLC0415 - heavy
    except ImportError as error:
        raise OrchqError("drawing needs matplotlib: pip install 'orchq[plots]'") from error
    figure = Figure(figsize=(WIDTH, height), layout="constrained")
    axes = figure.subplots(rows)
    for each in (axes,) if rows == 1 else axes:
        for side in ("top", "right", "left"):
            each.spines[side].set_visible(False)
        each.tick_params(axis="y", length=0)
    return figure, axes


def written(figure: Any, description: str) -> str:
    """The drawing as SVG, with its text as text, to be seen on light and dark ground."""
    from matplotlib import rc_context  # noqa: PLC0415 - heavy

    stream = StringIO()
    with rc_context({"svg.hashsalt": "orchq", "svg.fonttype": "none"}):
        metadata = {"Date": None, "Creator": "orchq", "Title": description}
        figure.savefig(stream, format="svg", metadata=metadata, transparent=True)
    return on_any_ground(stream.getvalue())


def on_any_ground(svg: str) -> str:
    """A drawing in black ink as one that is seen on light and dark ground."""
    inked = svg.replace(_INK, "currentColor").replace(' color="black"', "")
    return _ROOT.sub(lambda root: root[0] + ANY_GROUND, inked, count=1)
