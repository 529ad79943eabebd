"""What linting reports."""

from msgspec import Struct

from orchq.severity import Severity


class Involved(Struct, frozen=True):
    """A statement that a fault rests on, in words, and where it stands as in ``Fault``."""

    file: str
    line: int | None
    statement: str


class Fault(Struct, frozen=True):
    """One thing that is wrong with an extension.

    ``rule`` is the name of the shape or check, ``subject`` the IRI concerned; ``line`` counts
    from 1 in ``file`` and is ``None`` where it is not known. ``involved`` are the statements that
    contradict each other, where that is the fault; none of them can be left out.
    """

    rule: str
    severity: Severity
    file: str
    line: int | None
    subject: str
    message: str
    involved: tuple[Involved, ...] = ()
