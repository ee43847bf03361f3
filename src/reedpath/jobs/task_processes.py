"""Tasks done on this machine: by processes that take one after the other, or by the program itself."""

from __future__ import annotations

import os
import queue
import threading
from collections import deque
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from reedpath.errors import SettingsError
from reedpath.jobs.processes import (
    LOOK_SECONDS,
    JobPart,
    PartsProcess,
    ProcessEnded,
    ShareReport,
    others_worth_it,
)
from reedpath.jobs.tasks import TaskAnswer, Tasks

# times that a task is begun where the process that is at it ends: the second time by itself, should memory have been
# short; a file that ends every process is given up then; ours
ATTEMPTS = 2
# the file of a part that puts nothing
_NO_FILE = Path(os.devnull)


def run_here(tasks: Tasks, count: int, seconds_each: float) -> Iterator[TaskAnswer[Any]]:
    """The answers of processes of this machine; of this process where others are not worth it or cannot begin."""
    others = others_worth_it([seconds_each] * len(tasks.items), 0.0, count)
    crew = _Crew(tasks, others + 1 if others else 0)
    try:
        if crew.begin():
            for _ in tasks.items:
                yield crew.next_answer()
        else:
            for index in range(len(tasks.items)):
                yield _done_here(tasks, index)
    finally:
        crew.end()


def _done_here(tasks: Tasks, index: int) -> TaskAnswer[Any]:
    try:
        return TaskAnswer(index, tasks.function(tasks.loaded(index)), None)
    except Exception as error:  # noqa: BLE001 - the answer to this task; the others go on
        return TaskAnswer(index, None, error)


def _call(function: Callable[[Any], Any], value: Any, *, put: object, report: ShareReport) -> Any:
    """A task as a part of a job."""
    return function(value)


class _Crew:
    """Processes that take one task after the other, each looked after by a thread of this one."""

    def __init__(self, tasks: Tasks, count: int) -> None:
        self.tasks = tasks
        self.waiting = deque(range(len(tasks.items)))
        self.answers: queue.SimpleQueue[TaskAnswer[Any]] = queue.SimpleQueue()
        self.ending = False
        # a process is started, and the end of all begun, by one thread at a time
        self.lock = threading.Lock()
        self._hands = [_Hand(self) for _ in range(count)]

    def begin(self) -> bool:
        """Start the processes; False where none can begin."""
        begun = []
        for hand in self._hands:
            try:
                hand.start_process()
            except OSError:
                break  # no more can be had: what there are do it
            begun.append(hand)
        self._hands = begun
        for hand in begun:
            hand.start()
        return bool(begun)

    def next_answer(self) -> TaskAnswer[Any]:
        """The next answer, waited for so that Ctrl-C is heard."""
        while True:
            try:
                return self.answers.get(timeout=LOOK_SECONDS)
            except queue.Empty:
                continue

    def end(self) -> None:
        """End everything; no process and no thread is left."""
        with self.lock:
            self.ending = True
            self.waiting.clear()
            for hand in self._hands:
                hand.end_process()
        for hand in self._hands:
            if hand.ident is not None:
                hand.join()


class _Hand(threading.Thread):
    """A thread that hands tasks to a process, and starts another where that ends."""

    def __init__(self, crew: _Crew) -> None:
        super().__init__(daemon=True, name="tasks")
        self._crew = crew
        self._process: PartsProcess | None = None

    def start_process(self) -> None:
        """Start the process; an OSError where none can begin."""
        self._process = PartsProcess(self._crew.tasks.function)

    def end_process(self) -> None:
        """End the process at once."""
        if self._process is not None:
            self._process.end()

    def run(self) -> None:
        crew = self._crew
        while not crew.ending:
            try:
                index = crew.waiting.popleft()
            except IndexError:
                break
            try:
                answer = self._answer(index)
            except Exception as error:  # noqa: BLE001 - the answer to this task; the others go on
                answer = TaskAnswer(index, None, error)
            crew.answers.put(answer)
        self._discard()

    def _answer(self, index: int) -> TaskAnswer[Any]:
        part = JobPart(_call, (self._crew.tasks.loaded(index),), _NO_FILE, 0.0)
        for _ in range(ATTEMPTS):
            process = self._at_work()
            if process is None:
                break
            try:
                *_, last = process.messages(part)
            except ProcessEnded:
                self._discard()
                continue
            except Exception:
                self._discard()  # what is left in its pipes belongs to this task
                raise
            if last.kind == "failed":
                return TaskAnswer(index, None, _as_error(last.value))
            return TaskAnswer(index, last.value, None)
        raise SettingsError("jobs.task_ended")

    def _at_work(self) -> PartsProcess | None:
        """The process, a new one where there is none; None where all is being ended."""
        with self._crew.lock:
            if self._crew.ending:
                return None
            if self._process is None:
                self.start_process()
            return self._process

    def _discard(self) -> None:
        process = self._process
        if process is not None:
            process.end()
            process.close()
            with self._crew.lock:
                self._process = None


def _as_error(raised: BaseException) -> Exception:
    """What a task raised; what is no error of it (a library that ends the program) as one."""
    return raised if isinstance(raised, Exception) else RuntimeError(f"{type(raised).__name__}: {raised}")
