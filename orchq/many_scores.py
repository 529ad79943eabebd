"""Checks of a whole library: a record for each file as it comes, whatever happens to the others.

A record is one line of JSON: that of the JSON report on one file, with the composer and the work
of its heading, the name of its contents, and a digest of the program, the graph and the options.
"""

import gc
import hashlib
import json
from collections import Counter, deque
from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from functools import lru_cache
from itertools import chain
from pathlib import Path
from typing import Any

from msgspec import Struct, field

from orchq.errors import OrchqError, explained
from orchq.files import write_whole
from orchq.inputs import content_name, opened
from orchq.knowledge.data_files import core_files
from orchq.knowledge.extensions import files_of
from orchq.project import Project
from orchq.report.machine import file_object
from orchq.severity import SEVERITIES
from orchq.worker_pool import worker_pool

_AHEAD = 4  # files handed out for each process, so that none waits
_LARGEST = 200_000_000  # bytes of one record
_ANSWER, _RETRIES = 10, 3  # seconds a scheduler has to answer; times a file is tried anew there


class Checking(Struct, frozen=True):
    """How files are checked: the options of a project, as other processes can be given them."""

    level: str | None = None
    trust: str | None = None
    rules: tuple[str, ...] | None = None
    extensions: tuple[str, ...] = ()
    advice: bool = False

    def project(self) -> Project:
        """The project of these options. Raises ``OrchqError`` for one that does not exist."""
        return Project(
            level=self.level,
            trust=self.trust,
            rules=self.rules,
            extensions=self.extensions,
            advice=self.advice,
        )

    def state(self) -> str:
        """A digest of the program, the graph, extensions and options."""
        digest = hashlib.sha256(repr(self).encode())
        shapes = core_files()[0].parents[1] / "shapes"
        files = (
            *sorted(Path(__file__).parent.rglob("*.py")),
            *core_files(),
            *sorted(shapes.rglob("*.ttl")),
            *(file for each in self.extensions for file in files_of(each)),
        )
        for file in files:
            digest.update(hashlib.sha256(file.read_bytes()).digest())
        return digest.hexdigest()[:16]


class Task(Struct, frozen=True):
    """One file to check; ``state`` is that of the checking."""

    path: str
    checking: Checking
    state: str


def record_of(task: Task) -> str:
    """Check one file and return its record, whatever is wrong with the file."""
    path = Path(task.path)
    head: dict[str, Any] = {"file": task.path, "state": task.state}
    try:
        head["content"] = content_name(path)
        (found,) = _project(task.checking).check(path).files
        told = file_object(found)
        heading = getattr(found, "heading", None)
        if heading is not None:
            head |= {"composer": heading.composer, "work": heading.work or heading.movement}
    except Exception as error:  # noqa: BLE001 - must not hide the other files
        told = {"error": explained(path, error)}
    finally:
        gc.collect()
    return json.dumps(head | told | {"file": task.path})


@lru_cache(maxsize=1)
def _project(checking: Checking) -> Project:
    """The project, with the graph loaded once in each process."""
    return checking.project()


def records(tasks: Iterable[Task], jobs: int) -> Iterator[str]:
    """Check files, so many at once, and yield their records as they come.

    A file that ends the process which checks it, for lack of memory perhaps, has a record too.
    """
    waiting = iter(tasks)
    again: deque[Task] = deque()
    while True:
        pool = worker_pool(jobs)
        running: dict[Future[str], Task] = {}
        try:
            yield from _through(pool, waiting, running, jobs * _AHEAD)
            break
        except BrokenProcessPool:
            # one of those under way ended its process: each is tried alone
            again.extend(running.values())
        finally:
            pool.shutdown(cancel_futures=True)
        while again:
            yield _alone(again.popleft())


def _through(
    pool: ProcessPoolExecutor,
    waiting: Iterator[Task],
    running: dict[Future[str], Task],
    most: int,
) -> Iterator[str]:
    while True:
        while len(running) < most and (task := next(waiting, None)) is not None:
            try:
                running[pool.submit(record_of, task)] = task
            except BrokenProcessPool:
                running[Future()] = task
                raise
        if not running:
            return
        done, _ = wait(running, return_when=FIRST_COMPLETED)
        for future in done:
            record = future.result()
            del running[future]
            yield record


def _alone(task: Task) -> str:
    with worker_pool(1) as pool:
        try:
            return pool.submit(record_of, task).result()
        except BrokenProcessPool:
            error = "it ended the process that checked it, perhaps for lack of memory"
            return json.dumps({"file": task.path, "state": task.state, "error": error})


def on_cluster(address: str, tasks: Iterable[Task]) -> Iterator[str]:
    """Check files on the workers of a Dask scheduler, and yield their records as they come.

    The workers need this package and the files under the same paths. What was under way on a
    worker that is lost is done again on another. Raises ``OrchqError`` when Dask is not installed
    or nobody answers at the address; no other is opened.
    """
    try:
        import distributed  # noqa: PLC0415 - an optional library
    except ImportError:
        raise OrchqError("--dask needs Dask: pip install 'orchq[cluster]'") from None
    library: Any = distributed  # it has no types
    try:
        client = library.Client(address, timeout=_ANSWER)
    except (OSError, ValueError) as fault:
        raise OrchqError(f"{address}: no Dask scheduler answers: {fault}") from fault
    with client:
        waiting: Iterator[Task] = iter(tasks)
        most = max(1, sum(client.nthreads().values())) * _AHEAD
        given: dict[str, Task] = {}

        def submitted() -> list[Any]:
            futures = []
            while len(given) < most and (task := next(waiting, None)) is not None:
                future = client.submit(record_of, task, pure=False, retries=_RETRIES)
                given[future.key] = task
                futures.append(future)
            return futures

        coming = library.as_completed(submitted())
        for future in coming:
            task = given.pop(future.key)
            if future.status == "finished":
                yield str(future.result())
            elif future.status != "error":
                # It was done, and its record went with the worker that held it.
                waiting = chain((task,), waiting)
            else:
                reason = f"it ended every process that checked it: {future.exception()}"
                yield json.dumps({"file": task.path, "state": task.state, "error": reason})
            coming.update(submitted())


class Summary(Struct):
    """Files, notes and findings of many records, by rule, composer and work."""

    files: int = 0
    unread: int = 0
    notes: int = 0
    failing: int = 0
    by_rule: Counter[tuple[str, str]] = field(default_factory=Counter)
    by_composer: Counter[tuple[str, str]] = field(default_factory=Counter)
    by_work: Counter[tuple[str, str]] = field(default_factory=Counter)

    def add(self, record: Mapping[str, Any]) -> None:
        """Count one record."""
        self.files += 1
        if "error" in record:
            self.unread += 1
            return
        self.notes += record["notes"]
        composer = record.get("composer") or "composer not named"
        work = f"{composer}: {record.get('work') or Path(record['file']).stem}"
        for finding in record["findings"]:
            severity = finding["severity"]
            self.failing += severity == "violation"
            self.by_rule[finding["rule"], severity] += 1
            self.by_composer[composer, severity] += 1
            self.by_work[work, severity] += 1

    def tables(self) -> Iterator[tuple[str, list[tuple[str, dict[str, int]]]]]:
        """Yield title and rows of each table: a name, and findings by severity; most first."""
        for title, counts in (
            ("rule", self.by_rule),
            ("composer", self.by_composer),
            ("work", self.by_work),
        ):
            rows: dict[str, dict[str, int]] = {}
            for (name, severity), count in counts.items():
                rows.setdefault(name, dict.fromkeys(SEVERITIES, 0))[severity] = count
            ranked = sorted(rows.items(), key=lambda row: (-sum(row[1].values()), row[0]))
            yield title, ranked


def keep_records(file: Path, state: str) -> dict[str, str]:
    """Keep in a file of records those that still hold, and return them by their files.

    A record holds if program, graph and options are the same, and the file is: the value is the
    name of its contents. A line that was broken off goes. Raises ``OrchqError`` when the file
    cannot be read or written.
    """
    kept: dict[str, str] = {}

    def write(draft: Path) -> None:
        with draft.open("w", encoding="utf-8") as written:
            for line, record in _records_in(file):
                name, content = str(record.get("file")), str(record.get("content"))
                same = record.get("state") == state and name not in kept
                if same and content == _content(Path(name)):
                    kept[name] = content
                    written.write(line)

    write_whole(file, write)
    return kept


def read_records(file: Path) -> Iterator[dict[str, Any]]:
    """Yield the whole records of a file. Raises ``ReadError`` when it cannot be read."""
    return (record for _, record in _records_in(file))


def _records_in(file: Path) -> Iterator[tuple[str, dict[str, Any]]]:
    with opened(file) as stream:
        while line := stream.readline(_LARGEST):
            try:
                record = json.loads(line)
            except (ValueError, RecursionError):
                continue
            if isinstance(record, dict) and line.endswith(b"\n"):
                yield line.decode(), record


def _content(file: Path) -> str:
    try:
        return content_name(file)
    except OrchqError:
        return ""
