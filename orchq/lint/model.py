"""What linting reports."""

from dataclasses import dataclass

from orchq.rules.finding import Severity


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong with an extension.

    ``rule`` is the name of the shape or check, ``subject`` the IRI concerned; ``line`` counts
    from 1 in ``file`` and is ``None`` where it is not known.
    """

    rule: str
    severity: Severity
    file: str
    line: int | None
    subject: str
    message: str
