"""The shelf itself: records added, changed, removed and found again, each change a step that can be undone."""

from __future__ import annotations

import os
import secrets
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeVar

import msgspec

from reedpath.errors import Place, SettingsError
from reedpath.file_locks import hold_file
from reedpath.shelf.journal import ShelfStep, changed_records, next_word, recorded, steps_back, swap, watch
from reedpath.shelf.kept_files import KeptFiles
from reedpath.shelf.opening import open_database, told_by_database
from reedpath.shelf.records import KINDS, ShelfRecord, from_columns, kind_of, to_columns
from reedpath.shelf.words import phrase_words

R = TypeVar("R", bound=ShelfRecord)


class Shelf:
    """A shelf that is open, and open nowhere else until it is closed; used in a ``with``.

    path : of its database; its files lie in a folder beside it.
    files : that folder.
    changes : counted, so that who keeps something of the shelf in memory knows when to look again.
    """

    def __init__(self, path: Path, *, make: bool = False, files: KeptFiles | None = None) -> None:
        """Open a shelf, or make one.

        make : whether one is made where there is none.
        files : those of the shelf that this one is a copy of (`copy_to`); None for its own.

        Raises `ReedpathError` when there is none, it is no shelf, damaged, of a newer version, or open elsewhere.
        """
        self.path = path
        self.files = files or KeptFiles(path.with_name(f"{path.name}.files"))
        self.changes = 0
        self._lock_path = path.with_name(f"{path.name}.lock")
        with told_by_database(path):
            self._lock = self._held(make=make)
        try:
            self.database = open_database(path, make=make)
            with told_by_database(path):
                watch(self.database)
        except BaseException:
            self._let_go()
            raise

    def _held(self, *, make: bool) -> int | None:
        """The lock; None where there is nothing to be held, so that a look at what is not there leaves nothing."""
        if make:
            self.path.parent.mkdir(parents=True, exist_ok=True)
        elif not self.path.exists():
            return None
        held = hold_file(self._lock_path)
        if held is None:
            raise SettingsError("shelf.open_elsewhere", where=Place(file=str(self.path)))
        return held

    def _let_go(self) -> None:
        if self._lock is not None:
            with suppress(OSError):
                self._lock_path.unlink(missing_ok=True)
            os.close(self._lock)
            self._lock = None

    def copy_to(self, path: Path) -> None:
        """Copy the database as it stands, without its files, for who reads it for long while this one is used."""
        with told_by_database(self.path), closing(sqlite3.connect(os.fsencode(path))) as copy:
            # what is lost with the system is made again; SQLite's manual, "PRAGMA synchronous"
            copy.execute("PRAGMA synchronous = OFF")
            self.database.backup(copy)

    def close(self) -> None:
        """Close the shelf."""
        self.database.close()
        self._let_go()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None
    ) -> None:
        self.close()

    # ------------------------------------------------------------------------------------------------ changes

    @contextmanager
    def step(self, what: str, *, undoable: bool = True) -> Iterator[None]:
        """Changes that are made, and undone, together; ``what`` is a word for their kind.

        undoable : whether Undo takes them back; not for what nobody has done, such as a demo's records.
        """
        with told_by_database(self.path), recorded(self.database, what, undoable=undoable) as number:
            yield
            self._see_to_words(number)
        self.changes += 1

    def _see_to_words(self, step: int) -> None:
        """Let the phrases that a step changed be searched by what they are now."""
        for kind, number in changed_records(self.database, step):
            if kind == "phrase":
                self.database.execute("DELETE FROM phrase_words WHERE rowid = ?", (number,))
                row = self.database.execute(
                    "SELECT number, title, key, tags, techniques FROM phrase WHERE number = ?", (number,)
                ).fetchone()
                if row is not None:
                    self.database.execute(
                        "INSERT INTO phrase_words (rowid, words, tags, techniques) VALUES (?, ?, ?, ?)",
                        (number, *phrase_words(dict(row))),
                    )

    def add(self, record: R) -> R:
        """Keep a record; it comes back with its number and its name. Within a `step`."""
        named = record if record.uid else msgspec.structs.replace(record, uid=secrets.token_hex(8))
        row = to_columns(named)
        names, gaps = ", ".join(row), ", ".join("?" * len(row))
        table = kind_of(type(record))
        made = self.database.execute(f"INSERT INTO {table} ({names}) VALUES ({gaps})", tuple(row.values()))
        return msgspec.structs.replace(named, number=int(made.lastrowid or 0))

    def change(self, record: ShelfRecord) -> None:
        """Let a record be what this one says, which has its number. Within a `step`."""
        row = to_columns(record)
        said = ", ".join(f"{name} = ?" for name in row)
        table = kind_of(type(record))
        self.database.execute(f"UPDATE {table} SET {said} WHERE number = ?", (*row.values(), record.number))

    def remove(self, record: ShelfRecord) -> None:
        """Take a record off the shelf, and all that belongs to it: a student's takes, say. Within a `step`."""
        self.database.execute(f"DELETE FROM {kind_of(type(record))} WHERE number = ?", (record.number,))

    def undo(self) -> ShelfStep | None:
        """Undo the last step that is not undone; None where there is none."""
        return self._swapped(undo=True)

    def redo(self) -> ShelfStep | None:
        """Do the step again that was undone last; None where there is none."""
        return self._swapped(undo=False)

    def _swapped(self, *, undo: bool) -> ShelfStep | None:
        with told_by_database(self.path):
            step = self.next_step(undone=not undo)
            if step is not None:
                with swap(self.database, step.number, undo=undo):
                    self._see_to_words(step.number)
                self.changes += 1
            return step

    def next_step(self, *, undone: bool = False) -> ShelfStep | None:
        """The step that is undone next, or done again next; None where there is none."""
        with told_by_database(self.path):
            return next(steps_back(self.database, undone=undone), None)

    def next_word(self, *, undone: bool = False) -> str | None:
        """The word for the step that is undone next, or done again next; told sooner than `next_step`."""
        with told_by_database(self.path):
            return next_word(self.database, undone=undone)

    def steps(self, *, undone: bool = False) -> list[ShelfStep]:
        """The steps that can be undone, the last first; or those that can be done again, the next first."""
        with told_by_database(self.path):
            return list(steps_back(self.database, undone=undone))

    # ---------------------------------------------------------------------------------------------- what is there

    def all(self, kind: type[R], **having: Any) -> list[R]:
        """Records of a kind, in the order in which they came; those that have such values in their columns."""
        said = " AND ".join(f"{name} IS ?" for name in having) or "1"
        sql = f"SELECT * FROM {kind_of(kind)} WHERE {said} ORDER BY number"
        with told_by_database(self.path):
            return [from_columns(kind, dict(row)) for row in self.database.execute(sql, tuple(having.values()))]

    def last(self, kind: type[R], **having: Any) -> R | None:
        """The record of a kind that came last of those that `all` gives; None where there is none."""
        said = " AND ".join(f"{name} IS ?" for name in having) or "1"
        sql = f"SELECT * FROM {kind_of(kind)} WHERE {said} ORDER BY number DESC LIMIT 1"
        with told_by_database(self.path):
            row = self.database.execute(sql, tuple(having.values())).fetchone()
        return None if row is None else from_columns(kind, dict(row))

    def get(self, kind: type[R], number: int) -> R:
        """The record of a number; SettingsError where there is none."""
        found = self.all(kind, number=number)
        if not found:
            raise SettingsError("shelf.no_record", number=number)
        return found[0]

    def counts(self) -> dict[str, int]:
        """How many records there are of each kind."""
        with told_by_database(self.path):
            return {kind: int(self.database.execute(f"SELECT count(*) FROM {kind}").fetchone()[0]) for kind in KINDS}
