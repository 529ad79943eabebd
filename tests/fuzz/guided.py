"""Guided by coverage: ``python -m tests.fuzz.guided [KIND] [-runs=N]``; kinds as in ``kinds.py``.

Needs atheris, which is no dependency of the suite: ``pip install atheris`` in an environment with
orchq. It ends with the input that raised anything but ``OrchqError``.
"""

import shutil
import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["orchq"]):
    from tests.fuzz.kinds import outcome

from tests.fuzz.seeds import seed


def main() -> None:
    """Run atheris with the words of the command line, the first of which may be a kind."""
    words = sys.argv[1:]
    kind = words.pop(0) if words and not words[0].startswith("-") else "musicxml"
    folder, corpus = Path(tempfile.mkdtemp()), Path(tempfile.mkdtemp())
    (corpus / "seed").write_bytes(seed(kind))

    def test_one(content: bytes) -> None:
        outcome(kind, content, folder)

    try:
        atheris.Setup([sys.argv[0], *words, str(corpus)], test_one)
        atheris.Fuzz()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    main()
