"""The journal: what every record was before a step changed it, so that any step can be undone, and done again.

Triggers write it, made anew for each connection from the columns that there are. To undo a step is to put back what
its entries hold, the last first, and to keep in them what was there instead; to do it again is the same the other way
round. References are checked when all is put back, since meanwhile a take may be there before its student.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

from msgspec import Struct

from reedpath.shelf.opening import transaction
from reedpath.shelf.records import KINDS


class ShelfStep(Struct, frozen=True):
    """A change as a whole.

    what : its kind, a word ("add", "import"), never what it is about: a student who is erased leaves no name here.
    at : when. records : how many were changed.
    """

    number: int
    what: str
    at: str
    records: int


def now_text() -> str:
    """The time, in UTC to the second, as ISO 8601 writes it."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def _columns(database: sqlite3.Connection, kind: str) -> list[str]:
    return [row["name"] for row in database.execute(f"PRAGMA table_info({kind})")]


def watch(database: sqlite3.Connection) -> None:
    """Let every change of a record be written down while a step is going on."""
    database.execute("CREATE TEMP TABLE going_on (step INTEGER NOT NULL)")
    for kind in KINDS:
        before = ", ".join(f"'{name}', OLD.{name}" for name in _columns(database, kind))
        for event, row, held in (
            ("INSERT", "NEW", "NULL"),
            ("UPDATE", "OLD", f"json_object({before})"),
            ("DELETE", "OLD", f"json_object({before})"),
        ):
            database.execute(
                f"CREATE TEMP TRIGGER {kind}_{event} AFTER {event} ON main.{kind} BEGIN "
                f"INSERT INTO journal (step, kind, record, before) "
                f"SELECT step, '{kind}', {row}.number, {held} FROM going_on; END"
            )


# of a step, that it changes something
_CHANGES = "EXISTS (SELECT 1 FROM journal WHERE journal.step = step.number)"


@contextmanager
def recorded(database: sqlite3.Connection, what: str, *, undoable: bool = True) -> Iterator[int]:
    """A transaction that is one step of the journal; steps that were undone can't be done again after it.

    One in which nothing changes is none, and leaves all as it is. One that is not ``undoable`` leaves no step behind.
    """
    with transaction(database):
        database.execute("DELETE FROM step WHERE undone = 1")
        made = database.execute("INSERT INTO step (what, at) VALUES (?, ?)", (what, now_text()))
        step = int(made.lastrowid or 0)
        database.execute("INSERT INTO going_on VALUES (?)", (step,))
        try:
            yield step
        finally:
            database.execute("DELETE FROM going_on")
        if not changed_records(database, step):
            database.execute("ROLLBACK")
        elif not undoable:
            database.execute("DELETE FROM step WHERE number = ?", (step,))


def changed_records(database: sqlite3.Connection, step: int) -> set[tuple[str, int]]:
    """Kinds and numbers of the records that a step changes."""
    rows = database.execute("SELECT DISTINCT kind, record FROM journal WHERE step = ?", (step,))
    return {(row["kind"], row["record"]) for row in rows}


def steps_back(database: sqlite3.Connection, *, undone: bool = False) -> Iterator[ShelfStep]:
    """The steps that can be undone, the last first; or those that can be done again, the first first."""
    order = "ASC" if undone else "DESC"
    # counted step by step as they are asked for: who wants the next one does not wait for all
    rows = database.execute(
        "SELECT number, what, at, "
        "(SELECT count(DISTINCT kind || record) FROM journal WHERE journal.step = step.number) AS records "
        f"FROM step WHERE undone = ? AND {_CHANGES} ORDER BY number {order}",
        (int(undone),),
    )
    return (ShelfStep(**dict(row)) for row in rows)


def next_word(database: sqlite3.Connection, *, undone: bool = False) -> str | None:
    """The word for the first of `steps_back`, whose records are not counted; None where there is none."""
    order = "ASC" if undone else "DESC"
    row = database.execute(
        f"SELECT what FROM step WHERE undone = ? AND {_CHANGES} ORDER BY number {order} LIMIT 1", (int(undone),)
    ).fetchone()
    return None if row is None else str(row["what"])


def _put(database: sqlite3.Connection, kind: str, record: int, row: str | None) -> None:
    """Let a record be what an entry holds."""
    database.execute(f"DELETE FROM {kind} WHERE number = ?", (record,))
    if row is not None:
        columns = json.loads(row)
        names, gaps = ", ".join(columns), ", ".join("?" * len(columns))
        database.execute(f"INSERT INTO {kind} ({names}) VALUES ({gaps})", tuple(columns.values()))


def _held(database: sqlite3.Connection, kind: str, record: int) -> str | None:
    """A record as an entry holds it."""
    row = database.execute(f"SELECT * FROM {kind} WHERE number = ?", (record,)).fetchone()
    return None if row is None else json.dumps(dict(row), ensure_ascii=False)


@contextmanager
def swap(database: sqlite3.Connection, step: int, *, undo: bool) -> Iterator[None]:
    """Undo a step, or do it again; what is done in here belongs to the same transaction."""
    database.execute("PRAGMA foreign_keys = OFF")
    try:
        with transaction(database):
            order = "DESC" if undo else "ASC"
            entries = database.execute(
                f"SELECT * FROM journal WHERE step = ? ORDER BY number {order}", (step,)
            ).fetchall()
            for entry in entries:
                now = _held(database, entry["kind"], entry["record"])
                _put(database, entry["kind"], entry["record"], entry["before"])
                database.execute("UPDATE journal SET before = ? WHERE number = ?", (now, entry["number"]))
            database.execute("UPDATE step SET undone = ? WHERE number = ?", (int(undo), step))
            assert not database.execute("PRAGMA foreign_key_check").fetchall()
            yield
    finally:
        database.execute("PRAGMA foreign_keys = ON")
