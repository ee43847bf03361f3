"""Takes that came in and are not a student's yet: to be heard, or to be asked about.

They are kept from the moment they come, so that none is lost where the program ends before each is answered. They are
not records of the shelf: the journal does not hold them.
"""

from __future__ import annotations

from pathlib import Path

import msgspec
from msgspec import Struct

from reedpath.errors import SettingsError, clean_text
from reedpath.shelf.journal import now_text
from reedpath.shelf.keeping import used_files
from reedpath.shelf.opening import told_by_database, transaction
from reedpath.shelf.records import Kept, Line, Uid
from reedpath.shelf.store import Shelf


class WaitingTake(Struct, frozen=True):
    """A take that waits.

    number : by which it is called; 0 before it is kept.
    name : of the recording when it was brought in. sound : the kept file.
    student, version : numbers of the student and of the version of the lesson, where these are said.
    found : what was found of it when it was heard, as JSON; empty before.
    added : when it came in, as ISO 8601 writes it.
    """

    name: str
    sound: str
    student: int | None = None
    version: int | None = None
    added: str = ""
    found: str = ""
    number: int = 0


class ListedWaitingTake(Struct, frozen=True):
    """A take that waits, as the list of a zip has it.

    name : of the recording when it was brought in. sound : the kept file. added : when, as ISO 8601 writes it.
    student, version : uids of those that are said, empty where they are not.
    """

    name: Line
    sound: Kept
    student: Uid = ""
    version: Uid = ""
    added: Line = ""


def add_waiting_take(
    shelf: Shelf, path: Path, *, name: str, student: int | None = None, version: int | None = None, added: str = ""
) -> WaitingTake:
    """Keep a recording that came in, until it is answered."""
    with path.open("rb") as file:
        sound = shelf.files.keep(file, name=name)
    with told_by_database(shelf.path), transaction(shelf.database):
        take = WaitingTake(clean_text(name), sound, student, version, added or now_text())
        number = put_waiting_take(shelf, take)
    return waiting_take(shelf, number)


def put_waiting_take(shelf: Shelf, take: WaitingTake) -> int:
    """Let a take wait, whose recording is kept already; its number. Within a transaction."""
    made = shelf.database.execute(
        "INSERT INTO waiting_take (name, sound, student, version, added) VALUES (?, ?, ?, ?, ?)",
        (take.name, take.sound, take.student, take.version, take.added),
    )
    return int(made.lastrowid or 0)


def all_waiting_takes(shelf: Shelf) -> list[WaitingTake]:
    """All of them, in the order in which they came."""
    with told_by_database(shelf.path):
        rows = shelf.database.execute("SELECT * FROM waiting_take ORDER BY number").fetchall()
    return [msgspec.convert(dict(row), WaitingTake) for row in rows]


def waiting_take(shelf: Shelf, number: int) -> WaitingTake:
    """The one of a number; SettingsError where there is none."""
    with told_by_database(shelf.path):
        row = shelf.database.execute("SELECT * FROM waiting_take WHERE number = ?", (number,)).fetchone()
    if row is None:
        raise SettingsError("shelf.no_record", number=number)
    return msgspec.convert(dict(row), WaitingTake)


def keep_findings(shelf: Shelf, number: int, found: str) -> None:
    """Keep what was found of a take."""
    with told_by_database(shelf.path), transaction(shelf.database):
        shelf.database.execute("UPDATE waiting_take SET found = ? WHERE number = ?", (found, number))


def say_of_waiting_take(shelf: Shelf, number: int, *, student: int, version: int, keeps: bool = True) -> WaitingTake:
    """Keep whose a take is, and what it plays, as a person says it.

    keeps : whether what was found of it stays; else it goes in the same write, so that it is never met beside what
        is said now.
    """
    with told_by_database(shelf.path), transaction(shelf.database):
        shelf.database.execute(
            "UPDATE waiting_take SET student = ?, version = ?, found = CASE WHEN ? THEN found ELSE '' END "
            "WHERE number = ?",
            (student, version, keeps, number),
        )
    return waiting_take(shelf, number)


def end_waiting(shelf: Shelf, number: int) -> None:
    """A take waits no more, since it is a student's by now: its file has a name there."""
    with told_by_database(shelf.path), transaction(shelf.database):
        shelf.database.execute("DELETE FROM waiting_take WHERE number = ?", (number,))


def remove_waiting_take(shelf: Shelf, number: int) -> None:
    """Take away one that nobody wants, and its file where nothing else names it."""
    sound = waiting_take(shelf, number).sound
    end_waiting(shelf, number)
    if sound not in used_files(shelf):
        shelf.files.path(sound).unlink(missing_ok=True)
