"""Processes that work for the server: started as needed, bounded in time and memory, ended."""

import asyncio
import json
import os
import sys
from asyncio.subprocess import DEVNULL, PIPE, Process
from collections.abc import Callable, Coroutine, Mapping
from contextlib import suppress
from typing import Any, Literal

from orchq.app.piped import LENGTH, packed
from orchq.bounded import surroundings
from orchq.errors import OrchqError

MEMORY = 4 * 1024**3
"""Bytes that a process may take."""

_IDLE = 60
"""Seconds after which a process that has nothing to do ends, unless it is the only one."""

Lane = Literal["scores", "pages"]
Heard = Callable[[Mapping[str, Any]], None]


class Worker:
    """A process with the graph loaded; it does one job at a time."""

    def __init__(self, process: Process, offered: Mapping[str, Any]) -> None:
        self._process = process
        self.offered = offered

    @classmethod
    async def started(cls, module: str, memory: int) -> "Worker":
        """Start a process, running this module, and wait until its graph is loaded.

        Raises ``OrchqError`` when it cannot load it.
        """
        bounds = (str(os.getpid()), str(memory))
        process = await asyncio.create_subprocess_exec(
            *(sys.executable, "-P", "-m", module, *bounds),
            stdin=PIPE,
            stdout=PIPE,
            stderr=None if os.environ.get("ORCHQ_TRACEBACK") else DEVNULL,
            env=surroundings(),
        )
        try:
            return cls(process, await _received(process))
        except asyncio.IncompleteReadError:
            raise OrchqError("the process that checks scores could not start") from None
        except asyncio.CancelledError:
            _kill(process)
            raise

    async def work(self, job: Mapping[str, Any], heard: Heard) -> None:
        """Do a job; every message is passed on as it comes.

        Raises ``IncompleteReadError`` or ``ConnectionError`` when the process ends before.
        """
        assert self._process.stdin is not None
        self._process.stdin.write(packed(job))
        await self._process.stdin.drain()
        while "end" not in (message := await _received(self._process)):
            heard(message)

    @property
    def alive(self) -> bool:
        """Whether the process has not ended."""
        return self._process.returncode is None

    @property
    def pid(self) -> int:
        """The number of the process."""
        return self._process.pid

    async def end(self) -> None:
        """End the process at once."""
        _kill(self._process)
        await self._process.wait()


class Crew:
    """The processes together.

    Scores and pages each have places of their own, ``places`` of either, so that no page waits
    for a score. ``module`` is what they run.
    """

    def __init__(
        self, places: int = 2, memory: int = MEMORY, module: str = "orchq.app.worker"
    ) -> None:
        self._module = module
        self._memory = memory
        self._lanes: Mapping[Lane, asyncio.Semaphore] = {
            "scores": asyncio.Semaphore(places),
            "pages": asyncio.Semaphore(places),
        }
        self._idle: list[Worker] = []
        self._busy: set[Worker] = set()
        self._starting: asyncio.Task[Worker] | None = None
        self._first: asyncio.Task[Worker] | None = None
        self._chores: set[asyncio.Task[None]] = set()

    def warm_up(self) -> None:
        """Start a process that waits for work, unless one does."""
        if not self._idle and self._starting is None:
            self._starting = asyncio.create_task(self._started())
            self._first = self._first or self._starting  # its offers are those of all

    @property
    def offers(self) -> Mapping[str, Any] | None:
        """What ``offered`` answers, ``None`` while no process has loaded the graph."""
        first = self._first
        known = first is not None and first.done() and not first.cancelled()
        return first.result().offered if first and known and not first.exception() else None

    async def offered(self) -> Mapping[str, Any]:
        """The choices that the graph offers: levels, sources, shipped extensions, instruments."""
        if self._first is None or (self._first.done() and self._first.exception()):
            self._first = None
            self.warm_up()
        assert self._first is not None
        return (await asyncio.shield(self._first)).offered

    async def run(
        self,
        lane: Lane,
        job: Mapping[str, Any],
        heard: Heard,
        *,
        seconds: float,
        begun: Callable[[], None] = lambda: None,
    ) -> None:
        """Do a job as soon as there is a place; a job that is cancelled ends with its process.

        ``begun`` is called when the work begins. Raises ``OrchqError`` for one that takes longer
        than so many seconds, or more memory than is allowed.
        """
        async with self._lanes[lane]:
            worker = await self._taken()
            self._busy.add(worker)
            begun()
            whole = False
            try:
                async with asyncio.timeout(seconds):
                    await worker.work(job, heard)
                whole = True
            except TimeoutError:
                raise OrchqError(f"took longer than {seconds:g} s and was stopped") from None
            except (asyncio.IncompleteReadError, ConnectionError):
                raise OrchqError("needed too much memory and was stopped") from None
            finally:
                self._busy.discard(worker)
                if whole:
                    self._put_back(worker)
                else:
                    self._later(worker.end())
                    self.warm_up()

    async def end(self) -> None:
        """End all processes."""
        if self._starting is not None:
            self._starting.cancel()
            with suppress(asyncio.CancelledError, OrchqError):
                self._idle.append(await self._starting)
        for worker in (*self._idle, *self._busy):
            await worker.end()
        for chore in self._chores:
            chore.cancel()

    @property
    def pids(self) -> tuple[int, ...]:
        """The numbers of the processes that are at work or wait for it."""
        return tuple(worker.pid for worker in (*self._idle, *self._busy))

    async def _taken(self) -> Worker:
        """A process that is free, or else a new one."""
        while self._idle:
            worker = self._idle.pop()
            if worker.alive:
                return worker
        if self._starting is not None:
            starting, self._starting = self._starting, None
            try:
                return await asyncio.shield(starting)
            except asyncio.CancelledError:
                starting.add_done_callback(self._unclaimed)
                raise
        return await self._started()

    def _started(self) -> Coroutine[Any, Any, Worker]:
        return Worker.started(self._module, self._memory)

    def _unclaimed(self, started: asyncio.Task[Worker]) -> None:
        """Keep a process whose job was given up before it could begin."""
        if not started.cancelled() and started.exception() is None:
            self._put_back(started.result())

    def _put_back(self, worker: Worker) -> None:
        self._idle.append(worker)
        if len(self._idle) > 1:
            self._later(self._trim())

    async def _trim(self) -> None:
        await asyncio.sleep(_IDLE)
        if len(self._idle) > 1:
            await self._idle.pop(0).end()

    def _later(self, chore: Any) -> None:
        task = asyncio.create_task(chore)
        self._chores.add(task)
        task.add_done_callback(self._chores.discard)


async def _received(process: Process) -> Any:
    assert process.stdout is not None
    length = int.from_bytes(await process.stdout.readexactly(LENGTH))
    return json.loads(await process.stdout.readexactly(length))


def _kill(process: Process) -> None:
    with suppress(ProcessLookupError):
        process.kill()
