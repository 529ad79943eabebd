"""Where the piece lies that comes with the package."""

from pathlib import Path


def demo_path() -> Path:
    """The packaged demo: a short piece for string orchestra with deliberate mistakes."""
    return Path(__file__).parent / "demo" / "lantern-street.musicxml"
