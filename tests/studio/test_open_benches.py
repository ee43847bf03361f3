"""What an open workbench remembers of what its process tells, without a process."""

from __future__ import annotations

import asyncio
from types import SimpleNamespace
from typing import Any

from reedpath.jobs.workbench import WorkbenchPast, read_command
from reedpath.jobs.workbench.bringing import read_again
from reedpath.jobs.workbench.conversation import Workbench
from reedpath.jobs.workbench.draft import Draft, encode_draft
from reedpath.jobs.workbench.messages import WrittenShown, encode_message
from reedpath.studio.benches import OpenBench
from reedpath.studio.pages import Spoken


class BusyProcess:
    """A workbench that is still finding out what it tells at rest when a command comes."""

    def __init__(self, workbench: Workbench) -> None:
        self.workbench = workbench
        self.told: asyncio.Queue[bytes | None] = asyncio.Queue()

    async def send(self, data: bytes) -> None:
        told: list[Any] = [one for one in self.workbench.rest() if isinstance(one, WrittenShown)]
        told += self.workbench.answer(read_command(data))
        for one in told:
            await self.told.put(encode_message(one))

    async def receive(self) -> bytes | None:
        return await self.told.get()

    async def end(self) -> None:
        await self.told.put(None)


def test_what_was_found_out_in_other_words_while_they_changed_is_not_shown() -> None:
    draft, _, _ = read_again(Draft(text="harp: C\n4 -4 5 -5 6 -6 7 -7\n"))

    async def story() -> list[str]:
        process = BusyProcess(Workbench(WorkbenchPast(draft), language="fr"))
        steps: Any = SimpleNamespace(harps=(), draft=encode_draft(draft))
        shelf: Any = None
        bench = OpenBench(1, process, shelf, Spoken("fr"), steps)  # type: ignore[arg-type]
        written = []
        for spoken in (Spoken("fr"), Spoken("fr", "letters")):
            await bench.show_all(spoken)
            written.append("" if bench.written is None else bench.written.tab)
        await bench.end()
        return written

    as_before, other_words = asyncio.run(story())
    assert "do majeur" in as_before
    assert other_words == ""
