"""Workbenches that are open: each draft has a process of its own, which all windows that show it talk with."""

from __future__ import annotations

import asyncio
import itertools
from collections.abc import Awaitable, Callable
from contextlib import suppress
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from reedpath.errors import SettingsError
from reedpath.jobs.own_harps import own_harps
from reedpath.jobs.workbench import (
    Command,
    Draft,
    DraftKept,
    HarpOwned,
    PricesShown,
    SurveyShown,
    TradeOffShown,
    WaysShown,
    WorkbenchMessage,
    WorkbenchPast,
    WorkbenchView,
    WrittenShown,
    converse,
    encode_command,
    read_draft,
    read_message,
)
from reedpath.jobs.workbench.commands import GiveLesson, ShowAgain
from reedpath.jobs.workbench.messages import LessonGiven, PartShown, WorkRested
from reedpath.shelf import KeptDraftSteps, Shelf, draft_steps, keep_draft
from reedpath.studio.open_shelf import OpenShelf
from reedpath.studio.pages import Spoken
from reedpath.studio.processes import ChildProcess

# seconds that a workbench nobody looks at stays open: a page that is loaded again finds it as it was
KEPT_OPEN_SECONDS = 60.0
# seconds within which a command is answered, else the process is taken for stuck; a phrase of 2,000 notes takes four
ANSWER_SECONDS = 60.0
# workbenches open at once, each some 80 MB; of more, the one that was looked at longest ago is closed
MOST_OPEN = 6

# told of each message that is shown
Shown = Callable[[WorkbenchMessage], Awaitable[None]]


def _past(steps: KeptDraftSteps) -> WorkbenchPast:
    return WorkbenchPast(
        read_draft(steps.now), tuple(map(read_draft, steps.before)), tuple(map(read_draft, steps.after))
    )


def _owned(shelf: Shelf) -> tuple[HarpOwned, ...]:
    return tuple(HarpOwned(one.key, one.tuning) for one in own_harps(shelf))


def _harps_and_past(shelf: Shelf, number: int) -> tuple[tuple[HarpOwned, ...], KeptDraftSteps]:
    return _owned(shelf), draft_steps(shelf, number)


class _Started(Struct, frozen=True):
    """What a workbench begins with: the harps that are owned, and the draft as JSON text."""

    harps: tuple[HarpOwned, ...]
    draft: str


class OpenBench:
    """A workbench: what it last showed, and who is told of what comes.

    view, ways, written, parts, survey, prices, trade_off : the last of each; what is of a state that is over is gone.
    """

    def __init__(self, number: int, process: ChildProcess, shelf: OpenShelf, spoken: Spoken, steps: _Started) -> None:
        self.number, self.spoken, self.harps = number, spoken, steps.harps
        self.watching: set[Shown] = set()
        self.view: WorkbenchView | None = None
        self.ways: WaysShown | None = None
        self.written: WrittenShown | None = None
        self.survey: SurveyShown | None = None
        self.prices: PricesShown | None = None
        self.trade_off: TradeOffShown | None = None
        self.parts: tuple[PartShown, ...] = ()
        self.rested = asyncio.Event()
        self.ended = asyncio.Event()
        self._draft = steps.draft
        self._process, self._shelf = process, shelf
        self._ids = itertools.count(1)
        self._worded_anew = -1  # the command whose view is the first in other words
        self._asked: dict[int, asyncio.Future[WorkbenchMessage]] = {}
        self._reading = asyncio.create_task(self._read())
        self._closing: asyncio.TimerHandle | None = None

    @property
    def draft(self) -> Draft:
        """The draft as it stands."""
        return read_draft(self._draft)

    async def _read(self) -> None:
        try:
            while (message := await self._process.receive()) is not None:
                await self._take(read_message(message))
        finally:
            self.ended.set()
            self.rested.set()
            for one in self._asked.values():
                if not one.done():
                    one.set_exception(SettingsError("studio.bench_ended"))

    async def _take(self, told: WorkbenchMessage) -> None:
        """Keep what is to be kept, remember what is shown, and tell who watches."""
        match told:
            case DraftKept():
                self._draft = told.draft
                await self._shelf.run(
                    keep_draft, self.number, told.draft, title=told.title, sound=told.sound, how=told.how
                )
                return
            case WorkbenchView():
                self._see(told)
            case WaysShown():
                self.ways = told
            case WrittenShown():
                self.written, self.parts = told, told.parts
            case SurveyShown():
                self.survey = told
            case PricesShown():
                self.prices = told
            case TradeOffShown():
                self.trade_off = told
            case WorkRested():
                self.rested.set()
        answers = getattr(told, "answers", 0)
        asked = self._asked.pop(answers, None) if answers else None
        if asked is not None and not asked.done():
            asked.set_result(told)
        for shown in tuple(self.watching):
            with suppress(RuntimeError, ConnectionError):  # a window that has just been closed
                await shown(told)

    def _see(self, told: WorkbenchView) -> None:
        """Remember a view; what was found out of another state, or meanwhile in other words, is gone."""
        other_state = self.view is None or self.view.number != told.number
        other_words = told.answers == self._worded_anew
        if other_state:
            self.ways = None
        if other_words:
            self.written = None
        if other_state or other_words:
            self.survey = self.prices = self.trade_off = None
        self.view = told
        self.parts = self.parts if told.parts is None else told.parts

    async def send(self, command: Command) -> int:
        """Give a command without waiting for what comes of it; its id."""
        id = next(self._ids)
        await self._send(command, id)
        return id

    async def _send(self, command: Command, id: int) -> None:
        self.rested.clear()
        if self.ended.is_set():
            raise SettingsError("studio.bench_ended")
        try:
            await self._process.send(encode_command(_numbered(command, id)))
        except (BrokenPipeError, ConnectionResetError) as error:
            raise SettingsError("studio.bench_ended") from error

    async def ask(self, command: Command) -> Any:
        """Give a command and wait for the view, or the lesson, that answers it."""
        return await self._ask(command, next(self._ids))

    async def _ask(self, command: Command, id: int) -> Any:
        future: asyncio.Future[WorkbenchMessage] = asyncio.get_running_loop().create_future()
        self._asked[id] = future
        try:
            await self._send(command, id)
            return await asyncio.wait_for(future, ANSWER_SECONDS)
        except TimeoutError as error:
            await self.end()
            raise SettingsError("studio.bench_ended") from error
        finally:
            self._asked.pop(id, None)

    async def show_all(self, spoken: Spoken, *, layout: str = "") -> WorkbenchView:
        """Everything anew, for a window that has nothing yet."""
        id = next(self._ids)
        if spoken != self.spoken:  # what was worded otherwise comes anew
            self.ways = self.written = self.survey = self.prices = self.trade_off = None
            self._worded_anew = id
        self.spoken = spoken
        view: WorkbenchView = await self._ask(ShowAgain(layout, spoken.language, spoken.notes), id)
        return view

    async def lesson(self, languages: tuple[str, ...]) -> LessonGiven:
        """The lesson of the route as it stands."""
        given: LessonGiven = await self.ask(GiveLesson(languages=languages))
        return given

    async def rest(self, seconds: float) -> None:
        """Wait until nothing is left to find out, but not longer than that."""
        with suppress(TimeoutError):
            await asyncio.wait_for(self.rested.wait(), seconds)

    async def end(self) -> None:
        """End its process; what was said is on the shelf."""
        await self._process.end()
        with suppress(asyncio.CancelledError):
            await self._reading


def _numbered(command: Command, id: int) -> Command:
    return replace(command, id=id)


class OpenBenches:
    """All workbenches that are open."""

    def __init__(self, shelf: OpenShelf) -> None:
        self._shelf = shelf
        self._open: dict[int, OpenBench] = {}
        self._starting: dict[int, asyncio.Lock] = {}
        self._closing: dict[int, asyncio.Task[None]] = {}

    async def get(self, number: int, spoken: Spoken, *, looks_again: bool = False) -> OpenBench:
        """The workbench of a draft, opened where it is not.

        looks_again : whether it is opened anew where other harps are owned by now.

        Raises `SettingsError` when there is no such draft.
        """
        harps = await self._shelf.run(_owned) if looks_again else None
        async with self._starting.setdefault(number, asyncio.Lock()):
            bench = self._open.pop(number, None)
            if bench is not None and harps is not None and bench.harps != harps:
                await bench.end()
            if bench is None or bench.ended.is_set():
                bench = await self._start(number, spoken)
            self._open[number] = bench  # the last one is the one looked at last
        self._stay(number)
        too_many = max(0, len(self._open) - MOST_OPEN)
        for other in [one for one, open in self._open.items() if not open.watching][:too_many]:
            await self.close(other)
        return bench

    async def _start(self, number: int, spoken: Spoken) -> OpenBench:
        harps, steps = await self._shelf.run(_harps_and_past, number)
        past = _past(steps)
        said = {"owned": harps, "language": spoken.language, "notes": spoken.notes}
        process = await ChildProcess.start(converse, past, said)
        return OpenBench(number, process, self._shelf, spoken, _Started(harps, steps.now))

    def _stay(self, number: int) -> None:
        """Let a workbench stay open for a while."""
        self.watched(number)
        self._closing[number] = asyncio.create_task(self._close_later(number))

    def watched(self, number: int) -> None:
        """Let a workbench stay open as long as somebody watches."""
        closing = self._closing.pop(number, None)
        if closing is not None:
            closing.cancel()

    def left(self, number: int) -> None:
        """Somebody has closed a window; where it was the last, the workbench is closed after a while."""
        bench = self._open.get(number)
        if bench is not None and not bench.watching:
            self._stay(number)

    async def _close_later(self, number: int) -> None:
        await asyncio.sleep(KEPT_OPEN_SECONDS)
        bench = self._open.get(number)
        if bench is not None and not bench.watching:
            self._closing.pop(number, None)
            await self.close(number)

    async def close(self, number: int) -> None:
        """Close a workbench."""
        self.watched(number)
        bench = self._open.pop(number, None)
        if bench is not None:
            await bench.end()

    async def end(self) -> None:
        """Close all."""
        for number in list(self._open):
            await self.close(number)
