"""Checks of a project: settings, baseline, extensions and options joined in one place."""

from collections.abc import Collection, Iterable, Mapping
from pathlib import Path
from time import perf_counter

from orchq.baseline import Baseline, read_baseline
from orchq.errors import FaultsError, explain, known
from orchq.excerpt import seated_quads
from orchq.knowledge import Knowledge
from orchq.project.corrections import Applied, Choice, applied, music_of
from orchq.project.judge import Judge
from orchq.project.outcome import Outcome, Unread
from orchq.project.score_input import read_input
from orchq.questions import load_graph
from orchq.questions.naming import Names
from orchq.rules.checking import ENGINES, rules_of
from orchq.rules.finding import FileReport
from orchq.rules.gathering import gathered
from orchq.score import Score
from orchq.settings import Settings, read_settings, with_settings
from orchq.severity import Threshold
from orchq.terms import local_name


class Project:
    """The settings of checks, with the graph loaded once.

    >>> project = Project(level="student", rules=["note-below-lowest-string"])
    >>> [rule.slug for rule in project.rules]
    ['note-below-lowest-string']
    """

    def __init__(
        self,
        *,
        settings: Settings | Path | str | None = None,
        baseline: Baseline | Path | str | None = None,
        extensions: Iterable[Path | str] = (),
        level: str | None = None,
        trust: str | None = None,
        rules: Collection[str] | None = None,
        players: Mapping[str, int] | None = None,
        engine: str = "fast",
        advice: bool = True,
        fail_on: Threshold | None = None,
        knowledge: Knowledge | None = None,
        allow_override: bool = False,
    ) -> None:
        """Arguments take precedence over the settings.

        ``settings`` and ``baseline`` are files, or what was read from them. ``extensions`` are
        folders, files or names of shipped ones, added to those of the settings. ``level``
        (``student``, ``orchestral``, ``soloist``) chooses the player; without it sections are
        orchestral and single players soloists. ``trust`` follows one source of the graph where
        sources disagree. ``rules`` are the slugs of the rules to run. ``players`` gives numbers of
        players by part, 1 for a solo part, whatever the score says. ``engine`` is ``fast`` or
        ``pyshacl``.
        With ``advice`` violations and warnings come with what can be written instead, tried out.
        ``fail_on`` is the mildest finding that makes a check fail. ``knowledge`` is a graph that
        is already loaded; extensions are not added to it. An extension that changes the core is
        refused unless ``allow_override`` is true; every report names it and its changes.

        Raises ``OrchqError`` for a level, source, rule or engine that does not exist, and for a
        file that cannot be read.
        """
        if isinstance(settings, str | Path):
            settings = read_settings(Path(settings))
        if isinstance(baseline, str | Path):
            baseline = read_baseline(Path(baseline))
        agreed = settings or Settings()
        self.knowledge = knowledge or load_graph(
            (*agreed.extensions, *extensions), allow_override=allow_override
        )
        every = rules_of(self.knowledge)[0]
        slugs = [rule.slug for rule in every]
        levels = list(map(local_name, self.knowledge.levels))
        sources = list(map(local_name, self.knowledge.sources))
        if settings is not None:
            settings.check_names(levels, sources, slugs)
        self.settings = settings
        self.baseline = baseline
        names = Names(self.knowledge, tuple)
        level, trust = level or agreed.level, trust or agreed.trust
        self.level = None if level is None else names.level(level)
        self.trust = None if trust is None else names.source(trust).iri
        self.players = players or agreed.players
        self.engine = known("engine", engine, ENGINES)
        self.advice = advice
        self.threshold: Threshold = fail_on or agreed.fail_on or "violation"
        self._chosen = agreed.chosen_rules(slugs)
        if rules is not None:
            self._chosen = frozenset(known("rule", slug, slugs) for slug in rules)
        self.judge = Judge(
            self.knowledge, self.level, self.trust, self._chosen, self.players, self.engine
        )
        self.rules = tuple(
            rule for rule in every if self._chosen is None or rule.slug in self._chosen
        )

    def check(self, files: Iterable[Path | str] | Path | str) -> Outcome:
        """Check files, one after another, and return what is found after settings and baseline.

        A file that cannot be read does not stop the others: the outcome lists it with the
        reason.
        """
        given = [files] if isinstance(files, Path | str) else files
        return self._outcome([self._checked(Path(file)) for file in given])

    def _outcome(self, found: list[FileReport | Unread]) -> Outcome:
        """What was found, after settings and baseline."""
        reports = [each for each in found if isinstance(each, FileReport)]
        if self.settings is not None:
            ran = [rule.slug for rule in self.rules]
            agreed = iter(with_settings(reports, self.settings, ran))
            found = [each if isinstance(each, Unread) else next(agreed) for each in found]
        settled = (each if isinstance(each, Unread) else gathered(each) for each in found)
        outcome = Outcome(tuple(settled), self.rules, self.threshold, self.knowledge, self.judge)
        return outcome if self.baseline is None else outcome.accepting(self.baseline)

    def _checked(self, file: Path) -> FileReport | Unread:
        try:
            return self.check_file(file)
        except FaultsError as error:
            return Unread.because(str(file), error.sentences)
        except Exception as error:  # noqa: BLE001 - must not hide the other files
            return Unread.parse(str(file), explain(error))

    def check_file(self, file: Path) -> FileReport:
        """Return what is found in one file, place by place, before settings and baseline.

        Raises ``ReadError`` when the file cannot be read and ``UnknownTermError`` for a term of
        our vocabulary that does not exist.
        """
        return self._read_and_judged(file)[0]

    def _read_and_judged(self, file: Path) -> tuple[FileReport, Score]:
        started = perf_counter()
        score, asserted = read_input(file, self.knowledge)
        if self.players:
            score = self.judge.seated(score)
            asserted = None if asserted is None else list(seated_quads(asserted, score))
        read_seconds = perf_counter() - started
        report = self.judge.judged(
            score,
            str(file),
            asserted=asserted,
            read_seconds=read_seconds,
            advice=self.advice,
        )
        return report, score

    def apply(self, file: Path | str, proposals: Iterable[Choice | str]) -> Applied:
        """Carry out proposals of a check of this file in its MusicXML, and check the result.

        A proposal is named by the number of its finding, as reports print it (``"3"``, the first
        proposal), or with its own (``"3.2"``); it is carried out at all places of the finding. The
        file is only read. Raises ``ReadError`` when it cannot be read, ``OrchqError`` for a number
        that does not exist and for a proposal that cannot be written into MusicXML.
        """
        path = Path(file)
        choices = [Choice.parse(each) if isinstance(each, str) else each for each in proposals]
        music_of(path)
        raw, score = self._read_and_judged(path)
        outcome = self._outcome([raw])
        return applied(self.judge, path, choices, outcome.reports[0].findings, raw, score)
