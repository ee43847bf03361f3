"""The desk at which lessons are opened and changed: one process for all of them, started when it is first needed."""

from __future__ import annotations

import asyncio
import pickle
from collections.abc import Awaitable, Callable
from functools import partial
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.requests import HTTPConnection

from reedpath.errors import ReedpathError, SettingsError
from reedpath.jobs.band_choices import BandChoice, SaidPlaces
from reedpath.jobs.footage_of_versions import put_files
from reedpath.jobs.lesson_desk import ChangedLesson, DeskAnswer, DeskQuestion, serve_lesson_desk
from reedpath.jobs.lesson_views import LessonView
from reedpath.jobs.shelf_lessons import keep_version
from reedpath.lesson import Taught
from reedpath.shelf import LessonVersion, last_version
from reedpath.studio.pages import Spoken, Studio, studio_of
from reedpath.studio.processes import ChildProcess

# times that a change is made again when another version came in between
TRIES = 3


class LessonDesk:
    """A process that opens lessons, and one question after the other put to it."""

    def __init__(self, files: Path) -> None:
        self._files = files
        self._process: ChildProcess | None = None
        self._turn = asyncio.Lock()

    async def _ask(self, question: DeskQuestion) -> DeskAnswer:
        async with self._turn:
            if self._process is None or self._process.has_ended:
                self._process = await ChildProcess.start(serve_lesson_desk, str(self._files))
            try:
                await self._process.send(pickle.dumps(question, protocol=pickle.HIGHEST_PROTOCOL))
                message = await self._process.receive()
            except (BrokenPipeError, ConnectionResetError):
                message = None
            except asyncio.CancelledError:
                # its answer would be taken for that to the next question
                await self._end_process()
                raise
            if message is None:
                await self._end_process()
                raise SettingsError("studio.job_ended")
        answer: DeskAnswer = pickle.loads(message)
        if answer.error is not None:
            raise answer.error
        return answer

    async def view(self, version: LessonVersion, spoken: Spoken) -> LessonView:
        """A version as it is shown in a language."""
        answer = await self._ask(DeskQuestion(version, spoken.language, spoken.notes))
        assert answer.view is not None
        return answer.view

    async def places(self, version: LessonVersion, spoken: Spoken, band: BandChoice) -> tuple[SaidPlaces, ...]:
        """Where in the form each piece of a version stands, by what is chosen of the band, and would sit best."""
        return (await self._ask(DeskQuestion(version, spoken.language, spoken.notes, band=band))).places

    async def changed(self, version: LessonVersion, changes: tuple[Callable[[Taught], Taught], ...]) -> ChangedLesson:
        """A version changed; the changes must be picklable."""
        answer = await self._ask(DeskQuestion(version, changes=changes))
        assert answer.changed is not None
        return answer.changed

    async def _end_process(self) -> None:
        if self._process is not None:
            await self._process.end()
            self._process = None

    async def end(self) -> None:
        """End the process."""
        await self._end_process()


def desk_of(connection: HTTPConnection) -> LessonDesk:
    """The desk of a studio."""
    state = connection.app.state
    if not hasattr(state, "lesson_desk"):
        state.lesson_desk = LessonDesk(studio_of(connection).shelf.files.folder)
    desk: LessonDesk = state.lesson_desk
    return desk


async def end_desk(app: Starlette) -> None:
    """End the desk of a studio that closes."""
    if hasattr(app.state, "lesson_desk"):
        await app.state.lesson_desk.end()


async def keep_changes(
    connection: HTTPConnection, number: int, changes: tuple[Callable[[Taught], Taught], ...]
) -> tuple[LessonVersion, bool]:
    """Change the last version of a lesson and keep what comes of it; the version, and whether it is new.

    Raises `ReedpathError` when it cannot be changed so.
    """
    studio: Studio = studio_of(connection)
    for left in reversed(range(TRIES)):
        version = await studio.shelf.run(last_version, number)
        changed = await desk_of(connection).changed(version, changes)
        try:
            keep: Any = partial(keep_version, opened=changed.opened, kept=changed.kept)
            return await studio.shelf.run(keep)
        except ReedpathError as error:
            if error.key != "shelf.version_between" or not left:
                raise
    raise AssertionError("the last try ends it")


def file_keeper(studio: Studio, version: LessonVersion) -> Callable[[dict[str, str]], Awaitable[int]]:
    """What keeps the files that a job makes with the version that they are made of."""

    async def keep(made: dict[str, str]) -> int:
        return (await studio.shelf.run(partial(put_files, number=version.number, files=made))).version

    return keep
