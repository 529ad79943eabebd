"""A survey of many files: on several cores, and resumable where it was interrupted."""

import gc
import gzip
import hashlib
import json
import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures.process import BrokenProcessPool
from functools import lru_cache, partial
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from orchq.errors import OrchqError, explained
from orchq.files import write_whole
from orchq.inputs import opened
from orchq.knowledge import Knowledge, load
from orchq.knowledge.data_files import core_files
from orchq.knowledge.extensions import files_of
from orchq.score import Score
from orchq.survey.input_files import ScoreFile
from orchq.survey.measuring import measured
from orchq.survey.table_files import Tables, Values, fits, values_of
from orchq.worker_pool import worker_pool

_LARGEST = 200_000_000  # bytes of the result of one file
_DONE = ".done"
"""The folder, in that of the tables, with the results of single files."""


class SurveyedFile(Struct, frozen=True):
    """The outcome for a file: where its result is kept, or the error."""

    file: ScoreFile
    result: Path | None = None
    error: str = ""


class Survey(Struct, frozen=True):
    """How files are measured, and the folder that tables go to.

    ``read`` opens a score, a function that other processes find by name. ``state`` stands for the
    graph and the program.
    """

    folder: Path
    read: Callable[[Path, Knowledge], Score]
    extensions: tuple[Path | str, ...] = ()
    state: str = ""

    def begun(self) -> "Survey":
        """The survey with its folder made and its state known.

        Raises ``OrchqError`` when the graph cannot be loaded or the folder cannot be made.
        """
        state = _state(self.extensions)
        _knowledge(self.extensions)  # so that an error in it is reported once, not for each file
        try:
            (self.folder / _DONE).mkdir(parents=True, exist_ok=True)
            if (self.folder / _DONE).is_symlink():
                raise OrchqError(f"{self.folder / _DONE}: is a link, and is not followed")
        except OSError as error:
            reason = error.strerror or error
            raise OrchqError(f"{self.folder}: cannot make this folder: {reason}") from error
        return replace(self, state=state)

    def outcomes(self, files: Sequence[ScoreFile], jobs: int) -> Iterator[SurveyedFile]:
        """Measure files, so many at once, and yield the outcome of each in their order.

        A result that is kept from a survey before is known by the contents of the file, by the
        graph and the program, and by what the file is called in the tables. One that is damaged,
        or has another shape than results have, is made anew.
        """
        measure = partial(_outcome, self)
        if jobs == 1 or len(files) == 1:
            yield from map(measure, files)
            return
        pool = worker_pool(min(jobs, len(files)))
        done = 0
        try:
            for outcome in pool.map(measure, files):
                yield outcome
                done += 1
        except BrokenProcessPool as error:
            raise OrchqError(
                f"{files[done].path}: it or a file soon after it ended the process that measured"
                " it, perhaps for lack of memory; run the same command to continue from here"
            ) from error
        finally:
            pool.shutdown(cancel_futures=True)

    def write(self, outcomes: Iterable[SurveyedFile]) -> None:
        """Write the tables of all results, and forget results that are none of these.

        Raises ``OrchqError`` when a table cannot be written.
        """
        tables = Tables()
        results = [outcome.result for outcome in outcomes if outcome.result is not None]
        for result in results:
            kept = _kept(result)
            if kept is None:
                raise OrchqError(f"{result}: cannot be read back; run the command again")
            tables.add(kept)
        tables.write(self.folder)
        for old in set((self.folder / _DONE).glob("*.json.gz")).difference(results):
            old.unlink(missing_ok=True)

    def result_of(self, file: ScoreFile) -> Path:
        """Where the result of a file is kept. Raises ``ReadError`` for what is no file."""
        names = json.dumps([self.state, file.work, file.collection, file.folder])
        digest = hashlib.sha256(names.encode())
        with opened(file.path) as stream:
            digest.update(hashlib.file_digest(stream, "sha256").digest())
        return self.folder / _DONE / f"{digest.hexdigest()}.json.gz"


def _state(extensions: Iterable[Path | str]) -> str:
    """A digest of the program, the graph and its extensions."""
    program = sorted(Path(__file__).parents[1].rglob("*.py"))
    graph = core_files()
    digest = hashlib.sha256()
    for path in (*program, *graph, *(file for each in extensions for file in files_of(each))):
        try:
            digest.update(hashlib.sha256(path.read_bytes()).digest())
        except OSError as error:
            raise OrchqError(f"{path}: cannot be read: {error.strerror or error}") from error
    return digest.hexdigest()


def _outcome(survey: Survey, file: ScoreFile) -> SurveyedFile:
    try:
        result = survey.result_of(file)
        if _kept(result) is None:
            data = json.dumps(_measured(survey, file)).encode()
            write_whole(result, lambda draft: draft.write_bytes(gzip.compress(data, 1)))
            gc.collect()
    except Exception as error:  # noqa: BLE001 - must not hide the other files
        return SurveyedFile(file, error=explained(file.path, error))
    return SurveyedFile(file, result)


def _measured(survey: Survey, file: ScoreFile) -> dict[str, Values]:
    knowledge = _knowledge(survey.extensions)
    rows = measured(
        survey.read(file.path, knowledge),
        knowledge,
        work=file.work,
        collection=file.collection,
        folder=file.folder,
    )
    return {table: values_of(rows[table]) for table in rows}


@lru_cache(maxsize=1)
def _knowledge(extensions: tuple[Path | str, ...]) -> Knowledge:
    """The graph, loaded once in each process."""
    return load(extensions)


def _kept(result: Path) -> dict[str, Values] | None:
    """The result that is kept, ``None`` where there is none that is whole."""
    try:
        with opened(result) as stream, gzip.open(stream) as unpacked:
            data = unpacked.read(_LARGEST + 1)
        kept: dict[str, Values] = json.loads(data)
    except (OrchqError, OSError, EOFError, ValueError, zlib.error, RecursionError):
        return None
    return kept if fits(kept) else None
