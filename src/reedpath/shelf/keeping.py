"""What uses the files beside the database, whether all is whole, and a student erased without a trace."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator

import msgspec
from msgspec import Struct

from reedpath.shelf.opening import told_by_database, transaction
from reedpath.shelf.records import Student, from_columns
from reedpath.shelf.store import Shelf
from reedpath.shelf.words import folded


class ShelfCheck(Struct, frozen=True):
    """What was found when a shelf was looked through.

    problems : what SQLite says of the database, in its own words; empty for one that is whole.
    lost : names of files that a record names and that are not there, or have other bytes.
    cleared : how many files were removed that nothing named any more.
    """

    problems: tuple[str, ...]
    lost: tuple[str, ...]
    cleared: int

    @property
    def is_whole(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems and not self.lost


def _named(database: sqlite3.Connection) -> Iterator[str]:
    """Names of files in the records themselves."""
    for row in database.execute("SELECT sound FROM take WHERE sound <> ''"):
        yield row["sound"]
    for row in database.execute("SELECT files FROM lesson_version WHERE files <> '{}'"):
        yield from msgspec.json.decode(row["files"]).values()
    for row in database.execute("SELECT sound FROM waiting_take"):
        yield row["sound"]
    for row in database.execute("SELECT DISTINCT sound FROM draft_step WHERE sound <> ''"):
        yield row["sound"]


def _named_in_journal(database: sqlite3.Connection) -> Iterator[str]:
    """Names of files in what can be had again."""
    sql = "SELECT kind, before FROM journal WHERE kind IN ('take', 'lesson_version') AND before IS NOT NULL"
    for row in database.execute(sql):
        before = json.loads(row["before"])
        if row["kind"] == "take":
            yield before["sound"]
        else:
            yield from json.loads(before["files"]).values()


def used_files(shelf: Shelf) -> set[str]:
    """Names of the files that a record names, or one that can be had again by undoing."""
    with told_by_database(shelf.path):
        return {*_named(shelf.database), *_named_in_journal(shelf.database)} - {""}


def check_shelf(shelf: Shelf) -> ShelfCheck:
    """Look a shelf through: the database, its references, each file's bytes; and clear away what nothing names."""
    with told_by_database(shelf.path):
        database = shelf.database
        said = [str(row[0]) for row in database.execute("PRAGMA integrity_check")]
        problems = [one for one in said if one != "ok"]
        for row in database.execute("PRAGMA foreign_key_check"):
            problems.append(f"{row[0]} {row[1]}: {row[2]}")
        lost = tuple(name for name in sorted({*_named(database)}) if not shelf.files.holds(name))
        cleared = 0 if problems else shelf.files.sweep(used_files(shelf))
    return ShelfCheck(tuple(problems), lost, cleared)


def _numbers(database: sqlite3.Connection, kind: str, column: str, owners: set[int]) -> set[int]:
    """Numbers of the records that belong to others, now or in what can be had again."""
    found = set()
    for owner in owners:
        found |= {row[0] for row in database.execute(f"SELECT number FROM {kind} WHERE {column} = ?", (owner,))}
        sql = "SELECT record FROM journal WHERE kind = ? AND json_extract(before, ?) = ?"
        found |= {row[0] for row in database.execute(sql, (kind, f"$.{column}", owner))}
    return found


def erase_student(shelf: Shelf, student: Student) -> None:
    """Take a student off the shelf with all that belongs to him or her, out of the journal and the files too.

    Nothing of it can be had again, and nothing of it is left in the database's file. Other steps can be undone still.
    """
    with told_by_database(shelf.path):
        database = shelf.database
        with transaction(database):
            takes = _numbers(database, "take", "student", {student.number})
            gone = {
                "student": {student.number},
                "take": takes,
                "harp": _numbers(database, "harp", "student", {student.number}),
                "answer": _numbers(database, "answer", "take", takes),
                "letter": _numbers(database, "letter", "student", {student.number}),
                "held_note": _numbers(database, "held_note", "student", {student.number}),
            }
            for kind, numbers in gone.items():
                for number in numbers:
                    database.execute("DELETE FROM journal WHERE kind = ? AND record = ?", (kind, number))
            database.execute("DELETE FROM waiting_take WHERE student = ?", (student.number,))
            database.execute("DELETE FROM student WHERE number = ?", (student.number,))
            database.execute("DELETE FROM step WHERE number NOT IN (SELECT step FROM journal)")
        database.execute("VACUUM")
        database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        shelf.files.sweep(used_files(shelf))
    shelf.changes += 1


def students_called(shelf: Shelf, name: str) -> list[Student]:
    """Students of a name, also those who were taken off the shelf and could be had back by undoing."""
    with told_by_database(shelf.path):
        found = {one.number: one for one in shelf.all(Student)}
        sql = "SELECT before FROM journal WHERE kind = 'student' AND before IS NOT NULL"
        for row in shelf.database.execute(sql):
            student = from_columns(Student, json.loads(row["before"]))
            found.setdefault(student.number, student)
    return [one for one in found.values() if folded(one.name) == folded(name)]
