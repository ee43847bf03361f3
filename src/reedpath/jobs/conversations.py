"""Conversations: what a process of its own does for a program, told and answered in messages.

The program starts an interpreter (`interpreter`) that runs `serve_conversation`, and sends it messages of bytes, each
after its length. The first says which function is to be called, with which arguments; that function then gets a
`Channel`. When the program closes its end, or is gone, the process ends too.
"""

from __future__ import annotations

import os
import pickle
import queue
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from typing import Any, BinaryIO

from msgspec import Struct

from reedpath.errors import ReedpathError, SettingsError
from reedpath.jobs.progress import Progress, ProgressStep

# bytes of a message's length, the highest first
LENGTH_BYTES = 4
# seconds that a process has for ending by itself after its program is gone
GRACE_SECONDS = 2.0


class Opening(Struct, frozen=True):
    """What a process is told first.

    function : of a module, so that the process finds it by its name.
    nice : how far it stands back behind other processes, 0 to 19.
    memory_bytes : of addresses that it may take at most, where the system can hold it to that; 0 for no bound.
    """

    function: Callable[..., Any]
    arguments: tuple[Any, ...]
    nice: int = 0
    memory_bytes: int = 0


class Channel:
    """The process's end of a conversation.

    when_gone : called in the thread that reads, after the other end is closed.
    """

    def __init__(self, sent: BinaryIO, come: BinaryIO, *, when_gone: Callable[[], None] = lambda: None) -> None:
        self._sent, self._come, self._when_gone = sent, come, when_gone
        self._lock = threading.Lock()
        self._messages: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        threading.Thread(target=self._read, daemon=True, name="messages").start()

    def _read(self) -> None:
        with suppress(OSError, ValueError):
            while len(head := self._come.read(LENGTH_BYTES)) == LENGTH_BYTES:
                length = int.from_bytes(head, "big")
                message = self._come.read(length)
                if len(message) < length:
                    break
                self._messages.put(message)
        self._messages.put(None)
        self._when_gone()

    @property
    def waiting(self) -> int:
        """How many messages have come and were not received yet: what a later one overtakes need not be answered."""
        return self._messages.qsize()

    def receive(self, *, seconds: float | None = None) -> bytes | None:
        """The next message; None when the other end is closed; ``TimeoutError`` when none comes in so long."""
        try:
            return self._messages.get(timeout=seconds)
        except queue.Empty as error:
            raise TimeoutError from error

    def send(self, message: bytes) -> None:
        """Say something."""
        with self._lock:
            self._sent.write(len(message).to_bytes(LENGTH_BYTES, "big") + message)
            self._sent.flush()


def _hold_memory(most_bytes: int) -> None:
    """Let this process take no more memory than that, where the system can see to it."""
    try:
        import resource
    except ImportError:  # not on this system
        return
    _soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    most = most_bytes if hard == resource.RLIM_INFINITY else min(most_bytes, hard)
    resource.setrlimit(resource.RLIMIT_AS, (most, hard))


def stand_back(nice: int) -> None:
    """Let other processes go first.

    Where the system weighs sessions against one another before processes (Linux: sched(7), "The autogroup feature"),
    the session of this process, which is its own, has to stand back too, or a browser would not feel its niceness.
    """
    if hasattr(os, "nice"):
        os.nice(nice)
    with suppress(OSError), open("/proc/self/autogroup", "w", encoding="ascii") as file:
        file.write(str(nice))


def _end_soon() -> None:
    time.sleep(GRACE_SECONDS)
    os._exit(0)


def serve_conversation() -> None:
    """What the process does: the function that the first message names."""
    sent = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a library prints goes elsewhere
    channel = Channel(sent, sys.stdin.buffer, when_gone=_end_soon)
    first = channel.receive()
    if first is None:
        return
    opening: Opening = pickle.loads(first)
    if opening.nice:
        stand_back(opening.nice)
    if opening.memory_bytes:
        _hold_memory(opening.memory_bytes)
    with suppress(BrokenPipeError):
        opening.function(channel, *opening.arguments)
    os._exit(0)  # threads of libraries need not be waited for


class JobNews(Struct, frozen=True):
    """What is told of a whole job: a step that begins, its result, or the error that ended it."""

    step: ProgressStep | None = None
    result: Any = None
    error: ReedpathError | None = None

    @property
    def is_end(self) -> bool:
        """Whether the job has ended with it."""
        return self.step is None


def told_error(error: Exception) -> ReedpathError:
    """An error as one for a person: ours as it is, of too little memory, or of a fault in the program."""
    if isinstance(error, ReedpathError):
        return error
    if isinstance(error, MemoryError):
        return SettingsError("jobs.no_memory")
    return SettingsError("cli.fault", kind=type(error).__name__, text=str(error))


def job_conversation(channel: Channel, function: Callable[..., Any], *arguments: Any) -> None:
    """A whole job: ``function(*arguments, progress=...)`` is called, and what comes of it told as `JobNews`."""

    def tell(news: JobNews) -> None:
        channel.send(pickle.dumps(news, protocol=pickle.HIGHEST_PROTOCOL))

    progress: Progress = lambda step: tell(JobNews(step=step))  # noqa: E731 - a Progress is a function
    try:
        result = function(*arguments, progress=progress)
    except Exception as error:  # noqa: BLE001 - told there
        if "REEDPATH_TRACE" in os.environ:
            import traceback

            traceback.print_exc()
        tell(JobNews(error=told_error(error)))
    else:
        tell(JobNews(result=result))
