"""Processes: the parts of a job that take long, done side by side, each in a process of its own.

A process, not a thread: in one process Python's parts wait for one another, and not every library of encoders is safe
in several threads. Each is a new interpreter that runs `serve`, so that it works alike on every system, reads no
script of the user's again and inherits nothing open. It writes the one file of its part itself: sound that came back
through a pipe waited for this process at every piece, since only one thread of Python runs at a time. It ends when
its own pipe is closed, so that none outlives the program, however that ended.
"""

from __future__ import annotations

import os
import pickle
import queue
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import suppress
from functools import partial
from itertools import chain, combinations
from pathlib import Path
from types import TracebackType
from typing import Any, NamedTuple, Self, TypeAlias

from msgspec import Struct

from reedpath.errors import SettingsError

# the variable of the environment that says how many processes are used at most, this one included
VARIABLE = "REEDPATH_PROCESSES"
# processes that are used at most where nobody says, since each takes about 150 MB while it sounds, and at all; ours
MOST, MOST_SAID = 8, 64
# seconds of a processor that a new process takes before it begins; measured: Python, numpy, a lesson, the encoders
START_SECONDS = 0.5
# seconds that others must spare for them to be started: less is not felt, and costs other programs their processor
LEAST_GAIN_SECONDS = 0.5
# parts up to which all ways to share them out are tried; of more one is as long as another's rest
MOST_TRIED = 10
# bytes that a pipe holds, where the system lets one say so: fewer waits while a result comes back
PIPE_BYTES = 1 << 20
# variables by which libraries of arithmetic are told to start no threads of their own: each processor has its work
ONE_THREAD = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}
# seconds between two looks at whether Ctrl-C was pressed, where the system does not interrupt a wait
LOOK_SECONDS = 0.2

ShareReport: TypeAlias = Callable[[float], None]
# called as function(common, *arguments, put=..., report=...): put takes bytes for the part's file, report the share
# of the part that is done; what it returns should be small
PartFunction: TypeAlias = Callable[..., Any]


class JobPart(Struct, frozen=True, eq=False):
    """A part of a job that can be done apart from the others.

    function : of a module, so that another process finds it by its name.
    arguments : what it is called with, after what all parts have in common.
    file : where what it puts is written.
    work : seconds that a processor is about to take for it.
    """

    function: PartFunction
    arguments: tuple[Any, ...]
    file: Path
    work: float


class _Message(NamedTuple):
    """What comes of a part: the share done ("share"), its result ("done") or an error ("failed")."""

    kind: str
    value: Any


def process_count() -> int:
    """How many processes a job may use, this one included: as many as there are processors, or as the user says.

    Raises `SettingsError` when what the user says is no number from 1 on.
    """
    said = os.environ.get(VARIABLE, "").strip()
    if said:
        if not (said.isascii() and said.isdigit() and len(said) < 4 and 1 <= int(said) <= MOST_SAID):
            raise SettingsError("jobs.process_count", variable=VARIABLE, found=said[:40], most=MOST_SAID)
        return int(said)
    if not sys.executable:  # Python is part of another program
        return 1
    try:
        own = len(os.sched_getaffinity(0))
    except AttributeError:  # some systems do not tell
        own = os.cpu_count() or 1
    return min(own, MOST)


def others_worth_it(works: Sequence[float], beside: float, count: int) -> int:
    """How many processes beside this one end a job soonest.

    works : seconds of a processor that each part takes.
    beside : what this process has to do first, likewise.
    count : processes that may be used, this one included.
    """

    def seconds(others: int) -> float:
        whole = (sum(works) + beside + others * START_SECONDS) / (others + 1)
        return max(whole, max(works, default=0.0) + (START_SECONDS if others else 0.0))

    best = min(range(min(count - 1, len(works)) + 1), key=seconds)
    return best if seconds(0) - seconds(best) > LEAST_GAIN_SECONDS else 0


def kept_here(works: Sequence[float], beside: float, others: int) -> tuple[int, ...]:
    """Which parts this process had better keep for itself, so that all end soonest; of many parts none.

    Without that, two long parts may be left when this process has done what it does beside: one for it and one for
    another, which then ends long after.

    works : seconds of a processor that each part takes.
    beside : what this process has to do first, likewise.
    others : processes beside this one, which take the rest, the longest first.

    >>> kept_here([8.3, 6.9, 5.9, 4.9, 4.2], 17.0, 1)
    (1,)
    >>> kept_here([1.0, 1.0], 0.0, 1), kept_here([8.3, 6.9], 17.0, 0)
    ((0,), ())
    """
    if not others or len(works) > MOST_TRIED:
        return ()

    def seconds(kept: tuple[int, ...]) -> float:
        loads = [START_SECONDS] * others
        for work in sorted((work for index, work in enumerate(works) if index not in kept), reverse=True):
            loads[loads.index(min(loads))] += work
        return max(beside + sum(works[index] for index in kept), *loads)

    numbers = range(len(works))
    return min(chain.from_iterable(combinations(numbers, count) for count in range(len(works) + 1)), key=seconds)


# what a new interpreter is told to do; it looks for modules where this one does
_CODE = "import sys; sys.path[:] = {path!r}; from {module} import {function} as serve; serve()"


def interpreter(function: Callable[[], None]) -> tuple[list[str], dict[str, Any]]:
    """A new interpreter that runs a function of a module: its command, and how it is to be started.

    It is spoken with through its standard input and output. A Ctrl-C on the terminal does not reach it: the program
    that starts it sees to that.
    """
    apart: dict[str, Any]
    if sys.platform == "win32":
        apart = {"creationflags": subprocess.CREATE_NEW_PROCESS_GROUP}
    else:
        apart = {"process_group": 0}
    code = _CODE.format(path=sys.path, module=function.__module__, function=function.__name__)
    settings = {
        "stdin": subprocess.PIPE,
        "stdout": subprocess.PIPE,
        "stderr": None if "REEDPATH_TRACE" in os.environ else subprocess.DEVNULL,
        "pipesize": PIPE_BYTES,
        "env": os.environ | ONE_THREAD,
    }
    return [sys.executable, "-c", code], settings | apart


class ProcessEnded(Exception):
    """A process has ended before the part that it was at was done."""


class PartsProcess:
    """Another process, which does parts one after the other; an OSError where none can begin.

    common : what each part is called with first.
    """

    def __init__(self, common: Any) -> None:
        command, settings = interpreter(serve)
        self._process = subprocess.Popen(command, **settings)
        self._common, self._is_new = common, True

    def messages(self, part: JobPart) -> Iterator[_Message]:
        """What comes of a part, up to its result or an error.

        Raises `ProcessEnded` whatever ended it. It is of no more use then, nor after any other error.
        """
        sent, come = self._process.stdin, self._process.stdout
        assert sent is not None
        assert come is not None
        try:
            if self._is_new:
                pickle.dump(self._common, sent)
                self._is_new = False
            pickle.dump(part, sent)
            sent.flush()
            kind = ""
            while kind not in {"done", "failed"}:
                message: _Message = pickle.load(come)
                kind = message.kind
                yield message
        except (OSError, EOFError, pickle.UnpicklingError) as error:
            raise ProcessEnded from error

    def end(self) -> None:
        """End it at once, whatever it is doing; nothing of the process itself is left."""
        self._process.kill()
        self._process.wait()

    def close(self) -> None:
        """Close its pipes, after its end, where no thread reads them any more."""
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with suppress(OSError):
                    pipe.close()


class _Told(NamedTuple):
    """What the thread that waits is told of: a part that went on, has its result or has failed."""

    part: int
    kind: str
    value: Any = None


class _Progress:
    """What is left to do, how far each part is, and what there is to tell; shared by the threads."""

    def __init__(self, common: Any, parts: Sequence[JobPart], kept: Collection[int]) -> None:
        self.common, self.parts = common, parts
        order = sorted(range(len(parts)), key=lambda index: -parts[index].work)
        # parts that this process had better do, and the rest; either side does the other's where it has none left
        self.kept = deque(index for index in order if index in kept)
        self.waiting = deque(index for index in order if index not in kept)
        self.told: queue.SimpleQueue[_Told] = queue.SimpleQueue()
        self.shares = [0.0] * len(parts)

    def next_part(self, *, here: bool) -> int | None:
        """The next part, which is then whoever asked's; None where all are taken.

        here : whether this process asks for it.
        """
        for parts in (self.kept, self.waiting) if here else (self.waiting, self.kept):
            with suppress(IndexError):
                return parts.popleft()
        return None

    def went_on(self, index: int, share: float) -> None:
        """A part is done up to a share of it."""
        self.shares[index] = share
        self.told.put(_Told(index, "share"))

    @property
    def done_work(self) -> float:
        """Work that is done, in the unit of `JobPart.work`."""
        return sum(part.work * share for part, share in zip(self.parts, self.shares, strict=True))


class _Process(threading.Thread):
    """Hands one part after the other to a process of its own, and tells what comes of them."""

    def __init__(self, progress: _Progress) -> None:
        super().__init__(daemon=True, name="parts of a job")
        self._progress = progress
        self._process = PartsProcess(progress.common)

    def run(self) -> None:
        progress = self._progress
        while (index := progress.next_part(here=False)) is not None:
            try:
                told = self._done(index)
            except ProcessEnded as error:
                told = _Told(index, "failed", _ended(error))
            except Exception as error:  # noqa: BLE001 - raised again in the thread that waits
                told = _Told(index, "failed", error)
            progress.told.put(told)
            if told.kind == "failed":
                return

    def _done(self, index: int) -> _Told:
        for message in self._process.messages(self._progress.parts[index]):
            if message.kind == "share":
                self._progress.went_on(index, message.value)
        return _Told(index, message.kind, message.value)

    def end(self) -> None:
        """End the process at once, whatever it is doing, and wait until nothing of it is left."""
        self._process.end()
        if self.ident is not None:
            self.join()
        self._process.close()


def _ended(error: ProcessEnded) -> SettingsError:
    told = SettingsError("jobs.process_ended", variable=VARIABLE)
    told.__cause__ = error
    return told


class SideBySide:
    """Parts of a job, done in processes of their own while this one does other things, and then helps.

    To be used in a ``with`` statement; however that is left, none of the processes is left.

    common : what each part is called with first.
    parts : those with the most work are done first, but for those that are `kept_here`.
    beside : seconds of a processor that this process takes for other things before it asks for `results`.
    count : processes that may be used, this one included; None for `process_count`.
    """

    def __init__(
        self, common: Any, parts: Sequence[JobPart], *, beside: float = 0.0, count: int | None = None
    ) -> None:
        works = [part.work for part in parts]
        self._count = others_worth_it(works, beside, process_count() if count is None else count)
        self._progress = _Progress(common, parts, kept_here(works, beside, self._count))
        self._processes: list[_Process] = []

    def __enter__(self) -> Self:
        try:
            for _ in range(self._count):
                try:
                    self._processes.append(_Process(self._progress))
                except OSError:  # where no process can begin, this one does all
                    break
                self._processes[-1].start()
        except OSError:
            pass  # no more can be had: what there are do it
        except BaseException:
            self._end()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._end()

    def _end(self) -> None:
        self._progress.waiting.clear()
        self._progress.kept.clear()
        for process in self._processes:
            process.end()

    @property
    def done_work(self) -> float:
        """How much of the work of all parts is done."""
        return self._progress.done_work

    def results(self, went_on: Callable[[int], None] = lambda index: None) -> Iterator[tuple[int, Any]]:
        """The number of each part and its result, as they come; this process does parts too as long as any wait.

        went_on : called with the number of a part that is done further than before.

        Raises what the first part that failed has raised; a `SettingsError` where a process was ended from outside.
        """
        left = len(self._progress.parts)
        while left:
            own = self._progress.next_part(here=True) if self._progress.told.empty() else None
            if own is not None:
                left -= 1
                yield own, self._own(own, went_on)
                continue
            told = self._next_told()
            if told.kind == "failed":
                raise told.value
            went_on(told.part)
            if told.kind == "done":
                self._progress.shares[told.part] = 1.0
                left -= 1
                yield told.part, told.value

    def _next_told(self) -> _Told:
        while True:
            with suppress(queue.Empty):
                return self._progress.told.get(timeout=LOOK_SECONDS)

    def _own(self, index: int, went_on: Callable[[int], None]) -> Any:
        part = self._progress.parts[index]

        def report(share: float) -> None:
            self._progress.shares[index] = share
            went_on(index)

        made = _made(part, self._progress.common, report)
        report(1.0)
        return made


def _made(part: JobPart, common: Any, report: ShareReport) -> Any:
    """Do a part, its file included; what its function returns."""
    with part.file.open("wb") as file:
        return part.function(common, *part.arguments, put=file.write, report=report)


def portable(error: BaseException) -> BaseException:
    """The error, or one that says the same where it cannot go from one process to another."""
    try:
        pickle.loads(pickle.dumps(error))
    except Exception:  # noqa: BLE001 - whatever its class does
        return RuntimeError(f"{type(error).__name__}: {error}")
    return error


def serve() -> None:
    """What another process does: parts that its program hands it, until that closes its pipe."""
    sent = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a library prints goes elsewhere
    wanted: queue.SimpleQueue[Any] = queue.SimpleQueue()

    def listen() -> None:
        try:
            while True:
                wanted.put(pickle.load(sys.stdin.buffer))
        finally:
            os._exit(0)  # the program wants no more, or is gone: whatever goes on here is in vain

    threading.Thread(target=listen, daemon=True).start()

    def tell(kind: str, value: Any) -> None:
        pickle.dump(_Message(kind, value), sent, protocol=pickle.HIGHEST_PROTOCOL)
        sent.flush()

    common = wanted.get()
    while True:
        part: JobPart = wanted.get()
        try:
            made = _made(part, common, partial(tell, "share"))
        except BaseException as error:  # noqa: BLE001 - told there, where it is raised again
            tell("failed", portable(error))
        else:
            tell("done", made)
