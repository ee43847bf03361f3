"""Processes of the studio: each job, workbench and rehearsal has one of its own, spoken with in messages."""

from __future__ import annotations

import asyncio
import os
import pickle
import signal
from asyncio import subprocess
from collections.abc import Callable
from contextlib import suppress
from typing import Any, Self

from reedpath.jobs.conversations import LENGTH_BYTES, Opening, serve_conversation
from reedpath.jobs.processes import interpreter

# bytes of addresses that a process may take: a film of an hour, or a recording of one, needs less than a third
MEMORY_BYTES = 6 << 30
# bytes of one message; a lesson's ribbon of 1,000 notes has about one million
MOST_MESSAGE_BYTES = 64 << 20


class ChildProcess:
    """A process that runs a function of a module, and the messages to and from it."""

    def __init__(self, process: subprocess.Process) -> None:
        self._process = process
        assert process.stdin is not None
        assert process.stdout is not None
        self._sent, self._come = process.stdin, process.stdout

    @classmethod
    async def start(
        cls, function: Callable[..., Any], *arguments: Any, nice: int = 0, memory_bytes: int = MEMORY_BYTES
    ) -> Self:
        """Start a process that calls ``function(channel, *arguments)``; what it is given must be picklable."""
        command, settings = interpreter(serve_conversation)
        if settings.pop("process_group", None) is not None:
            settings["start_new_session"] = True  # a group too; how far a process stands back is told by its session
        made = cls(await asyncio.create_subprocess_exec(*command, **settings))
        try:
            await made.send(pickle.dumps(Opening(function, arguments, nice, memory_bytes)))
        except BaseException:  # cancelled, say: then nobody else knows of the process
            await made.end()
            raise
        return made

    async def send(self, message: bytes) -> None:
        """Say something; ``BrokenPipeError`` or ``ConnectionResetError`` where the process has ended."""
        self._sent.write(len(message).to_bytes(LENGTH_BYTES, "big") + message)
        await self._sent.drain()

    async def receive(self) -> bytes | None:
        """The next message; None when the process has ended."""
        try:
            length = int.from_bytes(await self._come.readexactly(LENGTH_BYTES), "big")
            return await self._come.readexactly(length) if length <= MOST_MESSAGE_BYTES else None
        except (asyncio.IncompleteReadError, ConnectionError):
            return None

    @property
    def has_ended(self) -> bool:
        """Whether it has ended."""
        return self._process.returncode is not None

    async def end(self) -> None:
        """End it at once, whatever it is doing, and wait until nothing of it is left."""
        if not self.has_ended:
            with suppress(ProcessLookupError):
                if hasattr(os, "killpg"):
                    os.killpg(self._process.pid, signal.SIGKILL)
                else:
                    self._process.kill()
        self._sent.close()
        await self._process.wait()
