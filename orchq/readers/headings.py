"""Reads the heading above the music: composer, work and movement."""

from orchq.readers.printed_text import cleaned
from orchq.readers.source import Element
from orchq.score import Heading


def heading_of(root: Element) -> Heading:
    """Return the heading of a score, read at its list of parts.

    Numbers join their titles: ``2. Adagio``, ``Symphony, Op. 21``, unless the title has them.
    """
    work, opus = _text(root, "work/work-title"), _text(root, "work/work-number")
    movement, number = _text(root, "movement-title"), _text(root, "movement-number")
    if opus and opus not in work:
        work = f"{work}, {opus}" if work else opus
    if number and not movement.startswith(number):
        movement = f"{number}. {movement}" if movement else number
    return Heading(_composer(root), work, movement)


def _composer(root: Element) -> str:
    """The creator marked as composer, or else one without a type."""
    creators = root.findall("identification/creator")
    for kind in ("composer", ""):
        for creator in creators:
            name = cleaned(creator.text).strip()
            if name and (creator.get("type") or "").strip().lower() == kind:
                return name
    return ""


def _text(root: Element, path: str) -> str:
    return cleaned(root.findtext(path)).strip()
