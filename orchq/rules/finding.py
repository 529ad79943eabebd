"""What a check reports."""

from typing import Literal

from msgspec import Struct, field

from orchq.displays import shown
from orchq.evidence import Evidence
from orchq.score import Heading
from orchq.severity import Severity


class Proposal(Struct, frozen=True):
    """Something to write instead; ``verified`` when it was applied and checked again."""

    do: str
    verified: bool


class ValidationResult(Struct, frozen=True):
    """What a SHACL engine would report: the node in focus, the shape it breaks, as IRIs."""

    focus: str
    shape: str
    message: str


class Place(Struct, frozen=True):
    """Where something was found.

    ``measure`` is the printed number, ``measure_index`` counts from 0 in the part, ``beat``
    counts quarter notes from 1; ``notes`` are the pitches concerned, and ``results`` are what the
    finding rests on in terms of SHACL.
    """

    measure: str
    measure_index: int
    beat: float
    notes: tuple[str, ...]
    event: str
    results: tuple[ValidationResult, ...] = ()


class Finding(Struct, frozen=True):
    """One mistake, at one place or at several of the same part.

    ``measure``, ``measure_index``, ``beat``, ``notes``, ``event`` and ``results`` are those of the
    first place (see ``Place``); ``places`` holds all of them once findings were gathered.
    ``changed_from`` is the rule's own severity where settings have changed it; ``line`` is the
    line of the file, counted from 1, or ``None`` where it is not known (a compressed score has
    none). ``cause`` is the same for findings of one rule that one habit explains.
    """

    rule: str
    severity: Severity
    part: str
    part_id: str
    part_index: int
    measure: str
    measure_index: int
    beat: float
    notes: tuple[str, ...]
    event: str
    message: str
    evidence: tuple[Evidence, ...] = ()
    instead: tuple[Proposal, ...] = ()
    changed_from: Severity | None = None
    line: int | None = None
    cause: str = ""
    places: tuple[Place, ...] = ()
    results: tuple[ValidationResult, ...] = ()

    @property
    def all_places(self) -> tuple[Place, ...]:
        """The places, of which a finding that was not gathered has one."""
        own = Place(
            self.measure, self.measure_index, self.beat, self.notes, self.event, self.results
        )
        return self.places or (own,)


Where = Literal["excerpt", "settings", "baseline"]
"""What accepts a finding: a triple of the excerpt, the settings or a baseline."""


class Accepted(Struct, frozen=True):
    """A finding that someone has accepted: counted, and shown with the reason."""

    finding: Finding
    reason: str
    where: Where


class PartReport(Struct, frozen=True):
    """A part of the file: ``instrument`` is the slug of the graph, or ``None`` if unknown.

    ``level`` is the slug of the level of player that the part was judged for; ``section`` is true
    where several read it.
    """

    name: str
    id: str
    index: int
    instrument: str | None
    checked: bool
    notes: int
    level: str = ""
    section: bool = False


class Seconds(Struct, frozen=True):
    """How long reading, deriving, the rules and trying out advice took."""

    read: float
    derive: float
    rules: float
    advice: float = 0.0

    @property
    def total(self) -> float:
        """All of them together."""
        return self.read + self.derive + self.rules + self.advice


class FileReport(Struct, frozen=True):
    """The outcome of checking one file; ``notes`` counts the noteheads of checked parts.

    ``findings`` are those that stand; ``accepted`` are those that someone has accepted.
    ``settings`` is the settings file in force, empty where there is none. ``heading`` is that of
    the score.
    """

    file: str
    notes: int
    parts: tuple[PartReport, ...]
    findings: tuple[Finding, ...]
    seconds: Seconds
    remarks: tuple[str, ...] = ()
    accepted: tuple[Accepted, ...] = ()
    settings: str = ""
    heading: Heading = field(default_factory=Heading)

    @property
    def title(self) -> str:
        """Work and movement as printed, empty where nothing is."""
        return ": ".join(filter(None, (self.heading.work, self.heading.movement)))

    @property
    def composer(self) -> str:
        """The composer as printed, empty where nobody is named."""
        return self.heading.composer

    def _repr_html_(self) -> str | None:
        """The engraved report, for notebooks."""
        return shown("report_html", self)
