"""Converts a score to MusicXML with music21, in a separate process.

Run as a module. Standard input names the file and its format as one JSON object, and holds its
text unless the format has none; the MusicXML, or
the reason why there is none, goes to standard output. Exits with 0, or with 1 when music21 cannot
read the file.
"""

import json
import os
import sys
from pathlib import Path
from typing import Any

from orchq.bounded import bind


def main() -> None:
    """Convert the file that standard input names."""
    bind()
    asked = json.load(sys.stdin)
    answer = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # music21 may print warnings about a file
    try:
        converted = _converted(Path(asked["path"]), asked["format"], asked["text"])
    except Exception as error:  # noqa: BLE001 - music21 raises whatever its parsers meet
        reason = str(error).strip() or type(error).__name__
        answer.write(reason.splitlines()[0].encode("utf-8", "replace"))
        answer.close()
        sys.exit(1)
    answer.write(converted)
    answer.close()


def _converted(path: Path, format_name: str, text: str | None) -> bytes:
    from music21 import converter  # noqa: PLC0415 - slow to load, and an optional library
    from music21.musicxml.m21ToXml import GeneralObjectExporter  # noqa: PLC0415

    stream: Any
    if text is not None:
        stream = converter.parseData(text, format=format_name)
    else:
        # No pickled copy is written beside the file or read instead of it.
        stream = converter.parseFile(path, format=format_name, forceSource=True, storePickle=False)
    if format_name == "midi":
        # MIDI gives sounding pitches; the page is what the exporter expects.
        stream.atSoundingPitch = True
    data: bytes = GeneralObjectExporter(stream).parse()
    return data


if __name__ == "__main__":
    main()
