"""Lines drawn after a string call: the call ends where the line stops."""

from collections.abc import Callable
from fractions import Fraction

from orchq.readers.directions import Direction, MarkDraft
from orchq.readers.signs import LOCO


class CallLines:
    """Follows the brackets and dashes of one part that begin with a string call.

    ``is_call`` returns whether a directive calls for a string. Words and their line may stand in
    one direction or in two at the same place.
    """

    def __init__(self, is_call: Callable[[str], bool]) -> None:
        self._is_call = is_call
        self._called_at: tuple[int, Fraction] | None = None
        self._open: set[tuple[str, str]] = set()

    def follow(self, direction: Direction, place: tuple[int, Fraction]) -> None:
        """Process a direction at a measure and an offset, ending calls where lines stop."""
        if any(map(self._is_call, direction.directives)):
            self._called_at = place
        for sign, kind, number in direction.lines:
            line = sign, number
            if kind == "start":
                self._open.discard(line)
                if self._called_at == place:
                    self._open.add(line)
            elif kind == "stop" and line in self._open:
                self._open.remove(line)
                if self._called_at != place:
                    direction.marks.append(MarkDraft((LOCO,)))
