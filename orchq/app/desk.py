"""The work on open scores: checked when opened, when choices change, and when saved anew."""

import asyncio
from base64 import b64decode
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from orchq.app.crew import Crew
from orchq.app.shelf import Choices, OpenedScore, Shelf
from orchq.errors import OrchqError
from orchq.saved_files import SavedFiles
from orchq.settings import OWN_FILE, AcceptedPlace, read_settings, settings_of
from orchq.settings.accepted_places import accept_places, file_pattern, withdraw_places

LONGEST_CHECK = 600.0
"""Seconds that a score may take to be checked and engraved."""

_LOOK = 0.25
"""Seconds between two looks at the files that are followed."""


class Desk:
    """Open scores, and the processes that work on them.

    ``settings`` finds the settings file in force, ``None`` when there is none, and raises
    ``OrchqError`` for one that cannot be read; ``new_settings`` is where one would be made.
    """

    def __init__(
        self,
        settings: Callable[[], Path | None],
        new_settings: Path | None = None,
        crew: Crew | None = None,
    ) -> None:
        self.settings = settings
        self._new_settings = new_settings or Path(OWN_FILE)
        self.crew = crew or Crew()
        self.shelf = Shelf()
        self._saved = SavedFiles()

    def open(self, path: Path) -> OpenedScore:
        """Open a score where it lies, and follow it.

        Raises ``OrchqError`` when there is no such file or too many scores are open.
        """
        if not path.is_file():
            raise OrchqError(f"{path}: there is no such file")
        score = self.shelf.followed(path.absolute())
        if score.work is None:
            self._saved.add(score.path)
            self.check(score, "Opened")
        return score

    def drop(self, key: str, path: Path) -> OpenedScore:
        """Open a score that was written to its place on the shelf."""
        score = self.shelf.dropped(key, path)
        self.check(score, "Opened")
        return score

    def choose(self, score: OpenedScore, choices: Choices) -> None:
        """Judge a score by other choices."""
        if choices != score.choices:
            score.choices = choices
            self.check(score, "With these choices")

    def accept(self, score: OpenedScore, number: str, reason: str) -> None:
        """Accept a finding of the last report, by its number in it, at all its places.

        Raises ``OrchqError`` when there is no such finding, no reason, or no way to write it.
        """
        if not reason:
            raise OrchqError("an accepted finding needs a reason")
        found = _numbered(score.found, number)
        file = Path(self.settings_file)
        accept_places(file, _places(score, found, reason))
        score.remark = f"{found['rule']} in {found['part']} is accepted: {reason} ({file})"
        self.check(score, "With what is accepted")

    def withdraw(self, score: OpenedScore, number: str) -> None:
        """Take back the acceptance of a finding, by its number among those accepted.

        Raises ``OrchqError`` when there is no such finding, or no way to write that.
        """
        accepted = _numbered(score.accepted, number)
        file = Path(self.settings_file)
        count = withdraw_places(file, lambda place: _accepts(place, score, accepted))
        if not count:
            raise OrchqError(
                f"{file}: accepts no such finding any more; the score was checked again"
            )
        rule, part = accepted["rule"], accepted["part"]
        score.remark = f"{rule} in {part} is no longer accepted ({file})"
        self.check(score, "With what is accepted")

    @property
    def settings_file(self) -> str:
        """The path of the settings file in force, or of the one that would be made."""
        return str((self.settings() or self._new_settings).absolute())

    @property
    def first_address(self) -> str:
        """Where the browser begins: the first score that is open, or where one is dropped."""
        return next((f"score/{score.key}/" for score in self.shelf), "")

    def close(self, score: OpenedScore) -> None:
        """Forget a score."""
        self._saved.leave(score.path)
        self.shelf.close(score)

    def check(self, score: OpenedScore, cause: str) -> None:
        """Check a score from the beginning; a check of it that is at work is given up."""
        if score.work is not None:
            score.work.cancel()
        score.state = "waiting"
        score.work = asyncio.create_task(self._checked(score, cause))

    async def follow(self) -> None:
        """Check anew whatever is saved anew, for ever."""
        while True:
            await asyncio.sleep(_LOOK)
            saved = set(self._saved.look())
            for score in self.shelf:
                if score.followed and score.path in saved:
                    self.check(score, "Saved anew")

    async def end(self) -> None:
        """End all work, and forget everything."""
        self.shelf.end()
        await self.crew.end()

    async def taken_home(self, do: str, score: OpenedScore, **more: Any) -> Mapping[str, Any]:
        """A copy of a score to take home: ``annotate`` or ``apply``, as ``jobs`` answers them.

        Raises ``OrchqError`` when it cannot be made.
        """
        heard: list[Mapping[str, Any]] = []
        await self.crew.run(
            "scores", self._job(do, score, **more), heard.append, seconds=LONGEST_CHECK
        )
        if "error" in heard[0]:
            raise OrchqError(heard[0]["error"])
        return {**heard[0], "score": b64decode(heard[0]["score"])}

    async def correct(self, score: OpenedScore, chosen: Sequence[str]) -> OpenedScore:
        """Carry out proposals in a copy of a score, and open it.

        Raises ``OrchqError`` for one that does not exist or cannot be carried out.
        """
        made = await self.taken_home("apply", score, chosen=chosen)
        key, path = self.shelf.place(f"{score.path.stem}-corrected.musicxml")
        path.write_bytes(made["score"])
        corrected = self.shelf.dropped(key, path)
        corrected.choices, corrected.remark = score.choices, made["account"]
        self.check(corrected, "Corrected")
        return corrected

    def _job(self, do: str, score: OpenedScore, **more: Any) -> Mapping[str, Any]:
        settings = self.settings()
        return {
            "do": do,
            "file": str(score.path),
            "settings": str(settings) if settings else None,
            "level": score.choices.level,
            "trust": score.choices.trust,
            "extensions": score.choices.extensions,
            "players": score.choices.players,
            "fingering": score.choices.fingering,
        } | more

    async def _checked(self, score: OpenedScore, cause: str) -> None:
        heard = partial(_heard, score, cause)
        try:
            job = self._job("check", score, before=score.standing)
            await self.crew.run(
                "scores", job, heard, seconds=LONGEST_CHECK, begun=partial(_begun, score)
            )
        except OrchqError as error:
            heard({"error": str(error)})


def settings_in_force(given: Path | None) -> Callable[[], Path | None]:
    """What finds the settings file in force whenever it is needed; it is ``given`` if any is.

    Raises ``OrchqError`` at once for a given one that cannot be read.
    """

    def found() -> Path | None:
        if given is not None:
            return given if given.exists() else None
        settings = settings_of(Path())
        return None if settings is None else Path(settings.path)

    if given is not None and given.exists():
        read_settings(given)
    return found


def _numbered(findings: Sequence[Mapping[str, Any]], number: str) -> Mapping[str, Any]:
    """The finding of this number, from 1."""
    if not (number.isdecimal() and 1 <= int(number) <= len(findings)):
        raise OrchqError("this finding is no longer there; the score was checked again")
    return findings[int(number) - 1]


def _accepts(place: AcceptedPlace, score: OpenedScore, found: Mapping[str, Any]) -> bool:
    """Whether a place in the settings accepts a finding of a score, or a place of it."""
    return (
        place.rule == found["rule"]
        and place.covers(str(score.path))
        and any(
            place.is_at(found["part"], found["part_id"], measure, beat)
            for measure, beat in found["places"]
        )
    )


def _places(score: OpenedScore, found: Mapping[str, Any], reason: str) -> list[AcceptedPlace]:
    """The places of a finding as the settings name them; a part whose name others share by id."""
    names = [part["name"] for part in score.parts]
    part = found["part"] if names.count(found["part"]) == 1 else found["part_id"]
    file = file_pattern(score.name)
    return [
        AcceptedPlace(found["rule"], part, measure, reason, float(beat), file)
        for measure, beat in found["places"]
    ]


def _begun(score: OpenedScore) -> None:
    score.state = "checking"


def _heard(score: OpenedScore, cause: str, message: Mapping[str, Any]) -> None:
    """Take in what a check answers; while it fails, the last report on the score stands."""
    if "error" in message:
        score.error = message["error"]
        score.state = "failed"
        score.version += 1
    elif "found" in message:
        score.error = "" if not message["unchecked"] else "No part is for an instrument known here."
        score.found, score.standing = message["found"], message["standing"]
        score.accepted = message["accepted"]
        score.changes, score.parts = message["changes"], message["parts"]
        score.cause = cause
        score.state = "engraving"
        if not score.engraved:  # an engraved page is not taken away for one that is not
            score.report = message["page"]
            score.version += 1
    else:
        score.report = message["page"]
        score.engraved = True
        score.state = "ready"
        score.version += 1
