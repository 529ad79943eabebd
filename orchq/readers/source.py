"""The file being read, with the errors and remarks about it."""

from collections.abc import Iterable

from lxml.etree import _Element as Element

from orchq.errors import ReadError

__all__ = ["Element", "InputFile", "Remarks", "text_of"]


class Remarks:
    """Remarks on uninterpreted content, each kind once, with its first place and a count."""

    def __init__(self) -> None:
        self._counts: dict[tuple[str, str], int] = {}
        self._first: dict[tuple[str, str], str] = {}

    def add(self, part: str, message: str, measure: str = "", times: int = 1) -> None:
        """Add a remark about a part, at a printed measure if given."""
        key = (part, message)
        self._counts[key] = self._counts.get(key, 0) + times
        self._first.setdefault(key, measure)

    def sentences(self) -> Iterable[str]:
        """All remarks in the order of their first occurrence."""
        for (part, message), count in self._counts.items():
            measure = self._first[part, message]
            where = f"{part}, measure {measure}: " if measure else f"{part}: " if part else ""
            often = f" ({count} times in all)" if count > 1 else ""
            yield f"{where}{message}{often}"


class InputFile:
    """A file under the name that the user gave it.

    ``has_lines`` is false where the XML is not the file itself: compressed, or converted from
    another format. ``remarks`` holds what could not be interpreted.
    """

    def __init__(self, name: str, *, has_lines: bool = True) -> None:
        self.name = name
        self.has_lines = has_lines
        self.remarks = Remarks()

    def line_of(self, element: Element) -> int | None:
        """The line of the file where an element begins, if the file has lines."""
        line: int | None = element.sourceline  # type: ignore[assignment]  # untyped in lxml-stubs
        return line if self.has_lines else None

    def fault(self, message: str, at: "Element | int | None" = None) -> ReadError:
        """Return an error that names the file and, if known, the line."""
        line = at if at is None or isinstance(at, int) else at.sourceline
        place = f"{self.name}:{line}" if line else self.name
        return ReadError(f"{place}: {message}")


def text_of(element: Element | None) -> str:
    """The text of an element without white space around it; empty when there is none."""
    return (element.text or "").strip() if element is not None else ""
