"""A shelf's database opened: is it one, and of this version; and what SQLite says, put in our words."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import msgspec

from reedpath.data import shipped_folder
from reedpath.errors import Place, ReadError, ReedpathError, SettingsError, system_words

# "Reed" in ASCII: by this a database says whose it is (SQLite file format, bytes 68 to 71)
APPLICATION_ID = 0x52656564
_MAGIC = b"SQLite format 3\x00"


@cache
def migrations() -> tuple[str, ...]:
    """What makes a database of each version from that of the version before, the first from an empty one."""
    scripts = sorted((shipped_folder("reedpath.shelf") / "migrations").glob("*.sql"))
    return tuple(one.read_text(encoding="utf-8") for one in scripts)


# of the schema
VERSION = len(migrations())


def _told(error: sqlite3.Error, path: Path) -> ReedpathError | None:
    """What SQLite says of a file, as an error of ours; None for a fault of the program."""
    where = Place(file=str(path))
    primary = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if primary == sqlite3.SQLITE_NOTADB:
        return ReadError("shelf.no_shelf", where=where)
    if primary in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return SettingsError("shelf.open_elsewhere", where=where)
    if primary == sqlite3.SQLITE_CORRUPT:
        return ReadError("shelf.damaged", where=where)
    if primary in (
        sqlite3.SQLITE_FULL,
        sqlite3.SQLITE_IOERR,
        sqlite3.SQLITE_READONLY,
        sqlite3.SQLITE_CANTOPEN,
        sqlite3.SQLITE_PERM,
        sqlite3.SQLITE_AUTH,
    ):
        return SettingsError("shelf.disk", where=where, why=str(error))
    return None


@contextmanager
def told_by_database(path: Path) -> Iterator[None]:
    """Put what SQLite and the system say of a shelf into words of ours."""
    try:
        yield
    except sqlite3.Error as error:
        told = _told(error, path)
        if told is None:
            raise
        raise told from error
    except (msgspec.ValidationError, msgspec.DecodeError) as error:  # a record that another program has written
        raise ReadError("shelf.damaged", where=Place(file=str(path))) from error
    except OSError as error:
        raise SettingsError("shelf.disk", where=Place(file=str(path)), why=system_words(error)) from error


@contextmanager
def transaction(database: sqlite3.Connection) -> Iterator[None]:
    """What is done in here is done whole or not at all; who is in it may roll it back."""
    database.execute("BEGIN IMMEDIATE")
    try:
        yield
        if database.in_transaction:
            database.execute("COMMIT")
    except BaseException:
        if database.in_transaction:
            database.execute("ROLLBACK")
        raise


def _statements(script: str) -> Iterator[str]:
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""


def _number(database: sqlite3.Connection, pragma: str) -> int:
    return int(database.execute(f"PRAGMA {pragma}").fetchone()[0])


def _version_of(database: sqlite3.Connection, path: Path) -> int:
    """The version of a shelf, 0 for a database that holds nothing; nothing is written before this is known."""
    version, owner = _number(database, "user_version"), _number(database, "application_id")
    if owner != APPLICATION_ID:
        is_empty = not owner and not version and not _number(database, "schema_version")
        if is_empty and database.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0:
            return 0
        raise ReadError("shelf.no_shelf", where=Place(file=str(path)))
    if version > VERSION:
        raise ReadError("shelf.newer", where=Place(file=str(path)), found=version, known=VERSION)
    return version


def _migrate(database: sqlite3.Connection, version: int) -> None:
    """Bring a database to this version, in one transaction."""
    with transaction(database):
        for script in migrations()[version:]:
            for statement in _statements(script):
                database.execute(statement)
        database.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        database.execute(f"PRAGMA user_version = {VERSION}")


def _check_head(path: Path) -> None:
    """A ReadError for a file that is no database, told by its first bytes, so that SQLite need not touch it."""
    if path.is_dir():
        raise ReadError("jobs.is_folder", where=Place(file=str(path)))
    with path.open("rb") as file:
        head = file.read(len(_MAGIC))
    if head and head != _MAGIC:
        raise ReadError("shelf.no_shelf", where=Place(file=str(path)))


def open_database(path: Path, *, make: bool) -> sqlite3.Connection:
    """A shelf's database, ready to be used; made where there is none and it may be.

    Every commit is on the disk when it returns (``synchronous=FULL``), what is deleted is written over
    (``secure_delete``), and nothing that stands in the file may call functions of ours (``trusted_schema``).

    Raises `ReadError` when there is none, it is no shelf, or one of a newer version.
    """
    with told_by_database(path):
        if path.exists():
            _check_head(path)
        elif not make:
            raise ReadError("shelf.none_there", where=Place(file=str(path)))
        # the path as bytes of the system, so that a name of any encoding is one; the studio asks from several threads
        database = sqlite3.connect(os.fsencode(path), isolation_level=None, timeout=1.0, check_same_thread=False)
        try:
            database.row_factory = sqlite3.Row
            database.execute("PRAGMA trusted_schema = OFF")
            version = _version_of(database, path)
            database.execute("PRAGMA journal_mode = WAL")
            database.execute("PRAGMA synchronous = FULL")
            database.execute("PRAGMA secure_delete = ON")
            if version < VERSION:
                _migrate(database, version)
            database.execute("PRAGMA foreign_keys = ON")
        except BaseException:
            database.close()
            raise
        return database
