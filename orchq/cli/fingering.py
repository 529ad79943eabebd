"""``orchq fingering``: string, position and finger of every note."""

from pathlib import Path
from typing import Annotated

import typer

import orchq
from orchq.cli.options import AsJson, Extensions, Level, Out, TextOrJson, Trust
from orchq.cli.output import check_out, deliver, deliver_bytes
from orchq.errors import OrchqError
from orchq.readers import MUSICXML_SUFFIXES, read_text
from orchq.report.fingering_report import fingering_json, fingering_text, marked_copy


def fingering(
    score: Annotated[Path, typer.Argument(metavar="FILE", help="A MusicXML score.")],
    out: Out = None,
    result_format: TextOrJson = "text",
    as_json: AsJson = False,
    level: Level = None,
    trust: Trust = None,
    extensions: Extensions = None,
) -> None:
    """Write the likeliest fingering of a score; players and teachers know better.

    Printed fingerings are kept where a hand can play them. OUT is a copy of the score with fingers,
    strings and positions added and nothing else changed; with --json, or a name that does not end
    in .musicxml or .xml, it is the fingering alone.
    """
    check_out(out, [score, *map(Path, extensions or ())])
    if out is not None and out.suffix.lower() == ".mxl":
        raise OrchqError(f"{out}: the fingered score is written uncompressed; name it .musicxml")
    parts = orchq.fingering(score, knowledge=orchq.load(extensions or ()), level=level, trust=trust)
    if as_json or result_format == "json":
        deliver(fingering_json(parts), out)
    elif out is not None and out.suffix.lower() in MUSICXML_SUFFIXES:
        if score.suffix.lower() not in MUSICXML_SUFFIXES:
            raise OrchqError(f"{score}: fingerings can only be written into a MusicXML score")
        marked = marked_copy(read_text(score), parts)
        deliver_bytes(marked, out)
    else:
        deliver(fingering_text(parts) + "\n", out)
