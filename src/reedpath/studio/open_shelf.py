"""The shelf while the studio is open: one thread has it, so that no page waits for another's disk."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Concatenate, ParamSpec, TypeVar

from reedpath.jobs.shelves import shelf_at
from reedpath.shelf import FoundPhrase, KeptFiles, PhraseQuery, PhraseSearch, Shelf, Student

P = ParamSpec("P")
T = TypeVar("T")


class OpenShelf:
    """A shelf, and the thread that alone touches it."""

    def __init__(self, path: Path | None) -> None:
        """Open the shelf at a path, or the user's own; made where there is none.

        Raises `ReedpathError` when it is open elsewhere, or no shelf.
        """
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="shelf")
        try:
            self._shelf: Shelf = self._thread.submit(lambda: shelf_at(path, make=True)).result()
        except BaseException:
            self._thread.shutdown()
            raise
        self._search = PhraseSearch(self._shelf)

    @property
    def path(self) -> Path:
        """Of the database."""
        return self._shelf.path

    @property
    def changes(self) -> int:
        """Counted, so that who shows something of it knows when to look again."""
        return self._shelf.changes

    @property
    def files(self) -> KeptFiles:
        """The files beside the database; they may be read and brought in by any process."""
        return self._shelf.files

    async def run(self, function: Callable[Concatenate[Shelf, P], T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Call ``function(shelf, ...)`` in the shelf's thread; it should not take long, since all else waits."""
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._thread, lambda: function(self._shelf, *args, **kwargs))

    def now(self, function: Callable[Concatenate[Shelf, P], T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Call ``function(shelf, ...)`` in the shelf's thread and wait for it, for who is in no event loop."""
        return self._thread.submit(lambda: function(self._shelf, *args, **kwargs)).result()

    async def find(self, query: PhraseQuery, *, skip: int = 0) -> tuple[list[FoundPhrase], int]:
        """Those of the phrases found that come after the first ones, and how many are found in all."""
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._thread, lambda: self._search.find_some(query, skip=skip))

    def file_path(self, kept: str) -> Path:
        """The path of a kept file, by its name; ValueError for a name that none has."""
        return self._shelf.files.path(kept)

    def close(self) -> None:
        """Close the shelf."""
        self._thread.submit(self._shelf.close).result()
        self._thread.shutdown()


def undoing(shelf: Shelf) -> dict[str, str | None]:
    """Words for the steps that are undone and done again next, as pages show them."""
    return {"undo": shelf.next_word(), "redo": shelf.next_word(undone=True)}


def students_by_name(shelf: Shelf) -> list[tuple[int, str]]:
    """Number and name of each student, by name."""
    return sorted(((one.number, one.name) for one in shelf.all(Student)), key=lambda one: one[1].casefold())
