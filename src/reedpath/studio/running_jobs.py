"""Running jobs: what takes long, each in a process of its own; their progress is told, and they end when told to."""

from __future__ import annotations

import asyncio
import pickle
import shutil
import time
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import Any, TypeAlias

from reedpath.errors import ReedpathError, SettingsError
from reedpath.jobs.conversations import JobNews, job_conversation
from reedpath.jobs.processes import process_count
from reedpath.jobs.progress import ProgressStep, seconds_left
from reedpath.studio.processes import ChildProcess

# how far a job stands back behind the studio itself and other programs, as nice(2) has it
NICE = 10
# jobs that have ended and are still listed
LISTED = 100


class JobState(StrEnum):
    """How far a job is."""

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"

    @property
    def is_end(self) -> bool:
        """Whether nothing more comes of it."""
        return self not in (JobState.WAITING, JobState.RUNNING)


# what the studio does with a result, within the job: keep it on the shelf, say; what it returns is the result then
Afterwards: TypeAlias = Callable[[Any], Awaitable[Any]]


@dataclass(eq=False)
class RunningJob:
    """A job.

    number : by which it is called, from 1.
    name : what it is, a key of the catalogues under ``work.job``. title : what it is about.
    folder : its own, for what it makes; gone with the studio.
    link : address where its result is seen; empty for none.
    """

    number: int
    name: str
    title: str
    folder: Path
    link: str = ""
    state: JobState = JobState.WAITING
    step: ProgressStep | None = None
    started: float = field(default_factory=time.monotonic)
    result: Any = None
    error: ReedpathError | None = None
    ended: asyncio.Event = field(default_factory=asyncio.Event)

    @property
    def share(self) -> float:
        """About how much of it is done, 0 to 1."""
        if self.state is JobState.DONE:
            return 1.0
        if self.step is None:
            return 0.0
        return self.step.done / max(self.step.total, 1) if self.step.share is None else self.step.share

    @property
    def seconds_left(self) -> float | None:
        """Seconds that are still to come; None where that can't be told."""
        if self.state is not JobState.RUNNING or self.step is None:
            return None
        return seconds_left(self.step.share, time.monotonic() - self.started)


class RunningJobs:
    """The jobs of the studio, as many at a time as there are processors; the others wait their turn.

    folder : where each job has a folder of its own; what stopped jobs left in it is cleared away.
    at_once : how many run at a time; None for `process_count`.
    """

    def __init__(self, folder: Path, *, at_once: int | None = None) -> None:
        shutil.rmtree(folder, ignore_errors=True)
        self._folder = folder
        self._turns = asyncio.Semaphore(at_once or process_count())
        self._jobs: dict[int, RunningJob] = {}
        self._tasks: dict[int, asyncio.Task[None]] = {}
        self._last = 0
        self._changed: set[asyncio.Event] = set()

    # ------------------------------------------------------------------------------------------------- what there is

    def all(self) -> list[RunningJob]:
        """The jobs, the newest first."""
        return sorted(self._jobs.values(), key=lambda job: -job.number)

    def get(self, number: int) -> RunningJob:
        """The job of a number; SettingsError where there is none."""
        if number not in self._jobs:
            raise SettingsError("studio.no_job", number=number)
        return self._jobs[number]

    async def changes(self) -> AsyncIterator[list[RunningJob]]:
        """All jobs now, and again whenever one has gone on; what comes meanwhile is told together."""
        changed = asyncio.Event()
        self._changed.add(changed)
        try:
            while True:
                changed.clear()
                yield self.all()
                await changed.wait()
        finally:
            self._changed.discard(changed)

    def _tell(self) -> None:
        for one in self._changed:
            one.set()

    # --------------------------------------------------------------------------------------------- started and ended

    def start(
        self,
        name: str,
        function: Callable[..., Any],
        *arguments: Any,
        in_folder: bool = False,
        title: str = "",
        link: str = "",
        then: Afterwards | None = None,
    ) -> RunningJob:
        """Start a job: ``function(*arguments, progress=...)`` in a process of its own.

        What it is given and what it returns must be picklable.

        in_folder : whether it makes files; then the job's own folder comes before the arguments.
        then : called in the studio with its result.
        """
        self._last += 1
        job = RunningJob(self._last, name, title, self._folder / str(self._last), link)
        self._jobs[job.number] = job
        self._forget_old()
        given = (job.folder, *arguments) if in_folder else arguments
        self._tasks[job.number] = asyncio.create_task(self._run(job, function, given, then))
        self._tell()
        return job

    def new_file(self, name: str) -> Path:
        """A path for a file that the studio makes and sends; gone with the studio."""
        self._folder.mkdir(parents=True, exist_ok=True)
        return self._folder / name

    def _forget_old(self) -> None:
        ended = [number for number, job in sorted(self._jobs.items()) if job.state.is_end]
        for number in ended[:-LISTED]:
            shutil.rmtree(self._jobs.pop(number).folder, ignore_errors=True)

    async def _run(
        self, job: RunningJob, function: Callable[..., Any], arguments: tuple[Any, ...], then: Afterwards | None
    ) -> None:
        try:
            async with self._turns:
                job.state, job.started = JobState.RUNNING, time.monotonic()
                self._tell()
                job.folder.mkdir(parents=True, exist_ok=True)
                result = await self._result(job, function, arguments)
            job.result = result if then is None else await then(result)
            job.state = JobState.DONE
        except ReedpathError as error:
            job.state, job.error = JobState.FAILED, error
        except OSError as error:
            job.state, job.error = JobState.FAILED, SettingsError("studio.job_failed", why=str(error))
        except asyncio.CancelledError:
            job.state = JobState.CANCELLED
            shutil.rmtree(job.folder, ignore_errors=True)
        finally:
            self._tasks.pop(job.number, None)
            job.ended.set()
            self._tell()

    async def _result(self, job: RunningJob, function: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:
        process = await ChildProcess.start(job_conversation, function, *arguments, nice=NICE)
        try:
            while (message := await process.receive()) is not None:
                news: JobNews = pickle.loads(message)
                if news.error is not None:
                    raise news.error
                if news.is_end:
                    return news.result
                job.step = news.step
                self._tell()
            raise SettingsError("studio.job_ended")
        finally:
            await process.end()

    async def cancel(self, number: int) -> RunningJob:
        """End a job at once; nothing of what it made is left."""
        job = self.get(number)
        task = self._tasks.get(number)
        if task is not None:
            task.cancel()
            await job.ended.wait()
        return job

    async def end(self) -> None:
        """End all jobs, and clear away what they made."""
        for number in list(self._tasks):
            await self.cancel(number)
        shutil.rmtree(self._folder, ignore_errors=True)
