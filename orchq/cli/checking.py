"""What a check goes by: the command line, and project settings where that is silent."""

import gc
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import orchq
from orchq.baseline import Baseline
from orchq.cli.failure import explain, fail
from orchq.cli.progress import with_progress
from orchq.errors import OrchqError, known
from orchq.knowledge import Knowledge, load
from orchq.report.outcome import Unread
from orchq.rules.catalogue import RuleInfo
from orchq.rules.finding import FileReport
from orchq.settings import Settings, read_settings, settings_of, with_settings
from orchq.terms import local_name


def chosen_settings(file: Path | None, *, none: bool) -> Settings | None:
    """The settings of this file, or of the working directory, or none.

    Raises ``OrchqError`` when both a file and none are asked for.
    """
    if file is not None and none:
        raise OrchqError("give either --settings or --no-settings")
    if none:
        return None
    return settings_of(Path()) if file is None else read_settings(file)


class Checker:
    """Loads the graph once and checks files; what is found goes through settings and baseline.

    Raises ``OrchqError`` for a level, source or rule that does not exist.
    """

    def __init__(
        self,
        settings: Settings | None,
        baseline: Baseline | None,
        *,
        level: str | None,
        trust: str | None,
        extensions: Sequence[str],
        rules: str | None,
        engine: str,
        advice: bool,
    ) -> None:
        self._settings = settings
        self._baseline = baseline
        self._engine = engine
        self._advice = advice
        agreed = settings or Settings()
        self.knowledge = load((*agreed.extensions, *extensions))
        orchq.catalogue(self.knowledge)  # a rule that is wrong is told before any score is read
        levels = [local_name(iri) for iri in self.knowledge.levels]
        sources = [local_name(iri) for iri in self.knowledge.sources]
        if level is not None:
            known("level", local_name(level), levels)
        if trust is not None:
            known("source", local_name(trust), sources)
        self._level = level or agreed.level
        self._trust = trust or agreed.trust
        self._players = agreed.players or None
        self._rules = _named(rules, self.knowledge)
        if settings is not None:
            settings.check_names(levels, sources, _slugs(self.knowledge))
            if rules is None:
                self._rules = settings.chosen_rules(_slugs(self.knowledge))

    def check(self, file: Path) -> FileReport:
        """Check one file, before settings and baseline have their say."""
        return orchq.check(
            file,
            knowledge=self.knowledge,
            level=self._level,
            trust=self._trust,
            rules=self._rules,
            engine=self._engine,
            advice=self._advice,
            players=self._players,
        )

    @property
    def rules(self) -> tuple[RuleInfo, ...]:
        """The rules that are run."""
        rules = orchq.catalogue(self.knowledge)
        return tuple(rule for rule in rules if self._rules is None or rule.slug in self._rules)

    def settled(self, reports: Sequence[FileReport]) -> list[FileReport]:
        """The reports after settings and baseline."""
        if self._settings is not None:
            reports = with_settings(reports, self._settings, [rule.slug for rule in self.rules])
        if self._baseline is not None:
            reports = [self._baseline.accepting(report) for report in reports]
        return list(reports)

    def reports(self, files: Sequence[Path]) -> tuple[list[FileReport], list[Unread]]:
        """Check files and return their reports, and those that could not be checked.

        They are told on stderr, and do not hide the others.
        """
        reports: list[FileReport] = []
        unread: list[Unread] = []
        for file in with_progress(files):
            report = checked(self, file)
            if isinstance(report, Unread):
                unread.append(report)
            else:
                reports.append(report)
            if len(files) > 1:
                gc.collect(0)
        return self.settled(reports), unread


def checked(checker: Checker, file: Path) -> FileReport | Unread:
    """The report on a file, or why there is none, which is told on stderr too."""
    try:
        return checker.check(file)
    except Exception as error:  # noqa: BLE001 - must not hide the other files
        fail(explained(file, error))
        return Unread.told(str(file), explain(error))


def explained(file: Path, error: Exception) -> str:
    """What is wrong with a file, in a sentence that names it."""
    told = explain(error)
    return told if isinstance(error, OrchqError | OSError) else f"{file}: {told}"


@contextmanager
def collector_paused() -> Iterator[None]:
    """Pause the collector of unreachable objects.

    A check makes hundreds of thousands of small objects that live until its report, and the
    collector would look at them again and again: a tenth of the whole time.
    """
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_enabled:
            gc.enable()


def _slugs(knowledge: Knowledge) -> Collection[str]:
    return [rule.slug for rule in orchq.catalogue(knowledge)]


def _named(rules: str | None, knowledge: Knowledge) -> frozenset[str] | None:
    """The rules that are named with commas between, ``None`` for all."""
    if rules is None:
        return None
    slugs = _slugs(knowledge)
    return frozenset(known("rule", slug.strip(), slugs) for slug in rules.split(","))
