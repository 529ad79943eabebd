"""Settings as immutable values."""

from collections.abc import Iterable, Mapping
from pathlib import Path

from msgspec import Struct, field

from orchq.errors import OrchqError, known
from orchq.rules.finding import Finding
from orchq.score import same_name
from orchq.severity import Severity, Threshold
from orchq.terms import local_name

_NEAR = 0.01
"""Tolerance of an accepted beat in quarter notes: thirds are written as decimals."""


class AcceptedPlace(Struct, frozen=True):
    """Findings of a rule in a measure of a part that are accepted, and why.

    ``part`` is the part's name or its identifier, ``measure`` the printed number; ``beat``
    counts quarter notes from 1, any beat when ``None``; ``file`` is a pattern such as
    ``quartet-*.mxl`` for the end of the path, any file when ``None``.
    """

    rule: str
    part: str
    measure: str
    reason: str
    beat: float | None = None
    file: str | None = None

    def covers(self, file: str) -> bool:
        """Whether it applies to this file."""
        return self.file is None or Path(file).absolute().match(self.file)

    def accepts(self, finding: Finding) -> bool:
        """Whether it accepts a finding in a file that it covers."""
        return self.rule == finding.rule and self.is_at(
            finding.part, finding.part_id, finding.measure, finding.beat
        )

    def is_at(self, part: str, part_id: str, measure: str, beat: float) -> bool:
        """Whether it speaks of a place: part by name or identifier, printed measure, and beat."""
        return (
            self.measure == measure.strip()
            and (self.beat is None or abs(self.beat - beat) < _NEAR)
            and (self.part == part_id or same_name(self.part, part))
        )


class Settings(Struct, frozen=True):
    """The settings of a project; unset ones are ``None`` or empty.

    ``path`` is the file as shown to the user. ``level``, ``trust``, ``run``, ``leave_out``
    and the keys of ``severities`` are slugs; ``fail_on`` is a severity or ``never``;
    ``players`` are numbers by part name, 1 for a solo part.
    """

    path: str = ""
    level: str | None = None
    trust: str | None = None
    fail_on: Threshold | None = None
    extensions: tuple[Path, ...] = ()
    run: tuple[str, ...] | None = None
    leave_out: tuple[str, ...] = ()
    severities: Mapping[str, Severity] = field(default_factory=dict)
    players: Mapping[str, int] = field(default_factory=dict)
    accepted: tuple[AcceptedPlace, ...] = ()

    @property
    def files(self) -> tuple[Path, ...]:
        """The files that the settings come from, which no output may overwrite."""
        return (Path(self.path), *self.extensions)

    def error(self, key: str, sentence: object) -> OrchqError:
        """An error that names the file and the key."""
        return OrchqError(f"{self.path}: {key}: {sentence}")

    def check_names(
        self, levels: Iterable[str], sources: Iterable[str], rules: Iterable[str]
    ) -> None:
        """Raise ``OrchqError`` for a level, source or rule that does not exist; all are slugs."""
        slugs = tuple(rules)
        for key, kind, name, names in (
            ("level", "level", self.level, levels),
            ("trust", "source", self.trust, sources),
            *(("rules.run", "rule", name, slugs) for name in self.run or ()),
            *(("rules.leave-out", "rule", name, slugs) for name in self.leave_out),
            *(("severities", "rule", name, slugs) for name in self.severities),
            *(("accepted", "rule", place.rule, slugs) for place in self.accepted),
        ):
            if name is not None:
                try:
                    known(kind, local_name(name), names)
                except OrchqError as error:
                    raise self.error(key, error) from None

    def chosen_rules(self, rules: Iterable[str]) -> frozenset[str] | None:
        """The rules to run, out of those given, or ``None`` for all."""
        if self.run is None and not self.leave_out:
            return None
        return frozenset(rules if self.run is None else self.run).difference(self.leave_out)
