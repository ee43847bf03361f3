"""Tasks sent to a Dask cluster that is there already.

The scheduler needs nothing of ours: what it is handed is bytes, opened by the worker. Dask itself sends what Python
calls pickles both ways, and who can reach a scheduler can have anything done by its workers and by whoever asks
them: a cluster is the user's own, in a network of her own (docs/many-files.md).
"""

from __future__ import annotations

import logging
import os
import pickle
import queue
import re
import time
import uuid
from collections import Counter, deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import lru_cache
from typing import Any

from reedpath.errors import SettingsError
from reedpath.jobs.processes import LOOK_SECONDS, portable
from reedpath.jobs.tasks import TaskAnswer, Tasks

# seconds that a scheduler may take to answer; ours: a machine of the same house answers in one
CONNECT_SECONDS = 10
# seconds between two looks at which workers there are, and for how long there may be none before that is told; a
# worker that was killed is started again by its keeper in a few; ours
WORKER_LOOK_SECONDS, NO_WORKER_SECONDS = 2.0, 30.0
# seconds that a result may take to come, before it is looked whether the worker that has it is still there; ours
RESULT_SECONDS = 10.0
# tasks sent for each thread of the workers: one at work and one that waits there, so that no worker waits for us
SENT_FOR_EACH_THREAD = 2
# times that a task is sent: again by itself where workers ended beside it, since another may have been the cause, and
# again where its result was lost with a worker; ours
ATTEMPTS, MOST_FORGOTTEN = 2, 6
# of the forms of address that Dask knows, those that reach another machine without more being installed
_ADDRESS = re.compile(r"(?:(?:tcp|tls)://)?(?:[\w.-]+|\[[0-9A-Fa-f:.]+\]):\d{1,5}")
# what the library says on standard error of workers that end and of what it does about it; we tell what matters
_CHATTER = ("distributed", "distributed.client", "distributed.core", "distributed.batched", "tornado.application")
# what must be alike here and in the worker: tasks travel as Python's own bytes
_ALIKE = {"python": "Python", "distributed": "distributed", "reedpath": "reedpath"}


def run_in_cluster(tasks: Tasks, address: str) -> Iterator[TaskAnswer[Any]]:
    """The answers of a cluster, as they come.

    Raises `SettingsError` where it cannot be used, or is gone before all is done.
    """
    if not _ADDRESS.fullmatch(address):
        raise SettingsError("jobs.cluster_address", address=address)
    with _connected(address) as client:
        _check_workers(client, address)
        sending = _Sending(client, tasks, address)
        try:
            yield from sending.answers()
        finally:
            sending.forget()


@contextmanager
def _quiet() -> Iterator[None]:
    """The library's word kept off standard error, unless a trace is wanted."""
    if "REEDPATH_TRACE" in os.environ:
        yield
        return
    loggers = [logging.getLogger(name) for name in _CHATTER]
    before = [logger.level for logger in loggers]
    for logger in loggers:
        logger.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        for logger, level in zip(loggers, before, strict=True):
            logger.setLevel(level)


@contextmanager
def _connected(address: str) -> Iterator[Any]:
    try:
        import dask
        from distributed import Client
    except ImportError as error:
        raise SettingsError("jobs.cluster_extra") from error
    # recordings are large: the library would warn of each
    with _quiet(), dask.config.set({"distributed.admin.large-graph-warning-threshold": "1TB"}):
        try:
            client = Client(address, timeout=CONNECT_SECONDS, set_as_default=False, name="reedpath")
        except (OSError, ValueError, RuntimeError) as error:
            raise SettingsError("jobs.cluster_unreachable", address=address) from error
        try:
            yield client
        finally:
            with suppress(Exception):  # the scheduler may be gone
                client.close()


def _check_workers(client: Any, address: str) -> None:
    """Raise a SettingsError for a cluster without workers, and for a worker that could not do our tasks."""
    versions = client.get_versions(packages=["reedpath"])
    here = versions["client"]["packages"]
    if not versions["workers"]:
        raise SettingsError("jobs.cluster_without_workers", address=address)
    for worker, said in sorted(versions["workers"].items()):
        there = said["packages"]
        if there.get("reedpath") is None:
            raise SettingsError("jobs.cluster_worker_without", worker=worker, version=str(here.get("reedpath")))
        for package, name in _ALIKE.items():
            ours, theirs = (_version(package, found.get(package)) for found in (here, there))
            if ours != theirs:
                raise SettingsError(
                    "jobs.cluster_versions", name=name, here=ours, there=theirs, worker=worker
                )  # fmt: skip


def _version(package: str, found: object) -> str:
    """What of a version must be alike: of Python the first two numbers."""
    return ".".join(str(found).split(".")[:2]) if package == "python" else str(found)


def _worker_task() -> Callable[[bytes, bytes], tuple[str, Any]]:
    """What a worker runs: a function that travels itself, so that the scheduler, which opens it too, needs none."""

    def task(function: bytes, value: bytes) -> tuple[str, Any]:
        from reedpath.jobs.task_cluster import done_in_worker

        return done_in_worker(function, value)

    return task


@lru_cache(maxsize=4)
def _opened(function: bytes) -> Callable[[Any], Any]:
    """A function as it was sent, the same one for all tasks, so that what it has worked out is found again."""
    opened: Callable[[Any], Any] = pickle.loads(function)
    return opened


def done_in_worker(function: bytes, value: bytes) -> tuple[str, Any]:
    """Do a task in a worker: "done" and its result, or "failed" and its error."""
    try:
        return "done", _opened(function)(pickle.loads(value))
    except Exception as error:  # noqa: BLE001 - the answer to this task
        return "failed", portable(error)


class _Sending:
    """Tasks on their way to a cluster and back."""

    def __init__(self, client: Any, tasks: Tasks, address: str) -> None:
        self._client, self._tasks, self._address = client, tasks, address
        self._task, self._function = _worker_task(), pickle.dumps(tasks.function)
        self._name = f"reedpath-{uuid.uuid4().hex}"
        self._waiting = deque(range(len(tasks.items)))
        # tasks that were at a worker when it ended once too often: one of them may be what ends workers
        self._suspects: deque[int] = deque()
        self._begun: Counter[int] = Counter()
        self._sent: dict[int, Any] = {}
        self._ended: queue.SimpleQueue[int] = queue.SimpleQueue()
        self._room = 0
        self._looked_at = self._worker_seen_at = 0.0

    def answers(self) -> Iterator[TaskAnswer[Any]]:
        """One for each task, as they come."""
        self._look(time.monotonic())
        while self._sent or self._waiting or self._suspects:
            yield from self._send()
            index = self._next_ended() if self._sent else None
            answer = self._answer(index, self._sent[index]) if index in self._sent else None
            if answer is not None:
                self._sent.pop(answer.index, None)
                yield answer

    def _send(self) -> Iterator[TaskAnswer[Any]]:
        """Send what there is room for, suspects one by one after all others; answers of those without a value."""
        while self._waiting and len(self._sent) < self._room:
            yield from self._send_one(self._waiting.popleft())
        if self._suspects and not self._sent:
            yield from self._send_one(self._suspects.popleft())

    def _send_one(self, index: int) -> Iterator[TaskAnswer[Any]]:
        try:
            value = pickle.dumps(self._tasks.loaded(index))
        except Exception as error:  # noqa: BLE001 - the answer to this task; the others go on
            yield TaskAnswer(index, None, error)
            return
        self._begun[index] += 1
        key = f"{self._name}-{index}-{self._begun[index]}"
        self._sent[index] = future = self._client.submit(self._task, self._function, value, key=key, pure=False)
        future.add_done_callback(lambda _: self._ended.put(index))

    def _next_ended(self) -> int | None:
        """A task that has ended; None after a while without one."""
        now = time.monotonic()
        if now - self._looked_at >= WORKER_LOOK_SECONDS:
            self._look(now)
        with suppress(queue.Empty):
            return self._ended.get(timeout=LOOK_SECONDS)
        return None

    def _look(self, now: float) -> None:
        """Look whether the cluster is there, and how many threads its workers have."""
        self._looked_at = now
        if self._client.status != "running":
            raise self._lost()
        try:
            threads = sum(self._client.nthreads().values())
        except (OSError, RuntimeError) as error:
            raise self._lost() from error
        if threads or not self._worker_seen_at:
            self._worker_seen_at = now
        elif now - self._worker_seen_at > NO_WORKER_SECONDS:
            raise SettingsError("jobs.cluster_without_workers", address=self._address)
        self._room = max(self._room, 1, SENT_FOR_EACH_THREAD * threads)

    def _lost(self) -> SettingsError:
        return SettingsError("jobs.cluster_lost", address=self._address)

    def _answer(self, index: int, future: Any) -> TaskAnswer[Any] | None:
        """The answer to a task that has ended; None where it is to be had later, or is done again."""
        from distributed import KilledWorker

        if future.status in {"cancelled", "lost"}:  # its result went with its worker
            return self._again(index, self._waiting, MOST_FORGOTTEN)
        try:
            kind, value = future.result(timeout=RESULT_SECONDS)
        except TimeoutError:  # the worker that has it is gone, and it is done once more
            self._ended.put(index)
            return None
        except KilledWorker:
            return self._again(index, self._suspects, ATTEMPTS)
        except OSError as error:  # it cannot be fetched: its scheduler is gone
            raise self._lost() from error
        except Exception as error:  # noqa: BLE001 - the answer to this task; the others go on
            return TaskAnswer(index, None, error)
        if kind == "failed" and isinstance(value, Exception):
            return TaskAnswer(index, None, value)
        return TaskAnswer(index, value if kind == "done" else None, None)

    def _again(self, index: int, queued: deque[int], most: int) -> TaskAnswer[Any] | None:
        """Let a task be done again; its answer where it was begun often enough."""
        if self._client.status != "running":
            raise self._lost()
        del self._sent[index]
        if self._begun[index] >= most:
            return TaskAnswer(index, None, SettingsError("jobs.task_ended"))
        queued.append(index)
        return None

    def forget(self) -> None:
        """Tell the cluster that nothing more is wanted of what is on its way."""
        if self._sent:
            with suppress(Exception):  # the scheduler may be gone
                self._client.cancel(list(self._sent.values()))
