"""Drafts: what lies on the workbench, kept with every change, with the steps back and forth from it.

They are not records of the shelf: the journal does not hold them. A zip of the whole shelf has each as it is now.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

from msgspec import Struct

from reedpath.errors import SettingsError
from reedpath.shelf.journal import now_text
from reedpath.shelf.making import digest_of_text
from reedpath.shelf.opening import told_by_database, transaction
from reedpath.shelf.records import KeptOrNone, Line, Uid
from reedpath.shelf.store import Shelf

# steps back that are kept of one draft; ours
MOST_STEPS = 100

# digits of the SHA-256 of a draft by which a zip calls it, as many as a record's uid has
_UID_DIGITS = 16

# a draft after the one before, in its place, or one of those that are there already
DraftChange: TypeAlias = Literal["step", "same", "undo", "redo"]


class KeptDraft(Struct, frozen=True):
    """A draft as it is listed.

    changed : when, as ISO 8601 writes it. away : whether it was put away.
    """

    number: int
    title: str
    changed: str
    away: bool


class KeptDraftSteps(Struct, frozen=True):
    """A draft as JSON, with those before it and those that were undone, each in the order in which they were made."""

    before: tuple[str, ...]
    now: str
    after: tuple[str, ...]


class ListedDraft(Struct, frozen=True):
    """A draft as the list of a zip has it.

    uid : the first sixteen digits of the SHA-256 of its text: the same draft has the same.
    title : as it is listed. sound : the kept recording that it was heard in, empty for none.
    changed : when, as ISO 8601 writes it. away : whether it was put away.
    """

    uid: Uid
    title: Line = ""
    sound: KeptOrNone = ""
    changed: Line = ""
    away: bool = False


def new_draft(shelf: Shelf, data: str, *, title: str = "") -> int:
    """A new draft; its number."""
    with told_by_database(shelf.path), transaction(shelf.database):
        made = shelf.database.execute(
            "INSERT INTO draft (title, sound, step, changed) VALUES (?, '', 0, ?)", (title, now_text())
        )
        number = int(made.lastrowid or 0)
        _add_step(shelf, number, data, "")
        return number


def _add_step(shelf: Shelf, number: int, data: str, sound: str) -> None:
    made = shelf.database.execute(
        "INSERT INTO draft_step (draft, data, sound) VALUES (?, ?, ?)", (number, data, sound)
    )
    shelf.database.execute("UPDATE draft SET step = ? WHERE number = ?", (made.lastrowid, number))


def _current(shelf: Shelf, number: int) -> int:
    row = shelf.database.execute("SELECT step FROM draft WHERE number = ?", (number,)).fetchone()
    if row is None:
        raise SettingsError("shelf.no_draft", number=number)
    return int(row["step"])


def keep_draft(shelf: Shelf, number: int, data: str, *, title: str, sound: str, how: DraftChange) -> None:
    """Keep what a draft has become.

    Raises `SettingsError` when there is no draft of that number.
    """
    database = shelf.database
    with told_by_database(shelf.path), transaction(database):
        step = _current(shelf, number)
        if how in ("undo", "redo"):
            side, order = ("<", "DESC") if how == "undo" else (">", "ASC")
            row = database.execute(
                f"SELECT number FROM draft_step WHERE draft = ? AND number {side} ? ORDER BY number {order} LIMIT 1",
                (number, step),
            ).fetchone()
            if row is not None:
                database.execute("UPDATE draft SET step = ? WHERE number = ?", (row["number"], number))
        else:
            database.execute("DELETE FROM draft_step WHERE draft = ? AND number > ?", (number, step))
            if how == "same":
                database.execute("UPDATE draft_step SET data = ?, sound = ? WHERE number = ?", (data, sound, step))
            else:
                _add_step(shelf, number, data, sound)
                database.execute(
                    "DELETE FROM draft_step WHERE draft = ? AND number NOT IN "
                    "(SELECT number FROM draft_step WHERE draft = ? ORDER BY number DESC LIMIT ?)",
                    (number, number, MOST_STEPS + 1),
                )
        database.execute(
            "UPDATE draft SET title = ?, sound = ?, away = 0, changed = ? WHERE number = ?",
            (title, sound, now_text(), number),
        )


def draft_steps(shelf: Shelf, number: int) -> KeptDraftSteps:
    """A draft with its past; SettingsError where there is none of that number."""
    with told_by_database(shelf.path):
        step = _current(shelf, number)
        rows = shelf.database.execute(
            "SELECT number, data FROM draft_step WHERE draft = ? ORDER BY number", (number,)
        ).fetchall()
    before = tuple(row["data"] for row in rows if row["number"] < step)
    after = tuple(row["data"] for row in rows if row["number"] > step)
    return KeptDraftSteps(before, next(row["data"] for row in rows if row["number"] == step), after)


def all_drafts(shelf: Shelf) -> list[KeptDraft]:
    """The drafts, the one changed last first."""
    with told_by_database(shelf.path):
        rows = shelf.database.execute(
            "SELECT number, title, changed, away FROM draft ORDER BY changed DESC, number DESC"
        )
        return [KeptDraft(row["number"], row["title"], row["changed"], bool(row["away"])) for row in rows]


def put_away(shelf: Shelf, number: int, *, away: bool = True) -> None:
    """Put a draft away, or take it out again; nothing of it is lost."""
    with told_by_database(shelf.path), transaction(shelf.database):
        _current(shelf, number)
        shelf.database.execute("UPDATE draft SET away = ? WHERE number = ?", (int(away), number))


def uid_of_draft(data: bytes) -> str:
    """By what a zip calls a draft."""
    return digest_of_text(data)[:_UID_DIGITS]


def listed_drafts(shelf: Shelf) -> dict[str, tuple[ListedDraft, str]]:
    """Each draft as it is now and its text, by its uid, in the order in which they were begun; alike ones once."""
    with told_by_database(shelf.path):
        rows = shelf.database.execute(
            "SELECT title, draft_step.sound, changed, away, data FROM draft "
            "JOIN draft_step ON draft_step.number = draft.step ORDER BY away DESC, draft.number"
        ).fetchall()
    found: dict[str, tuple[ListedDraft, str]] = {}
    for row in rows:  # of those alike, one that is not put away counts: it comes later
        uid = uid_of_draft(row["data"].encode())
        found.pop(uid, None)
        found[uid] = (ListedDraft(uid, row["title"], row["sound"], row["changed"], bool(row["away"])), row["data"])
    return found


def add_listed_draft(shelf: Shelf, draft: ListedDraft, data: str) -> None:
    """Lay a draft of a zip on the workbench. Within a transaction."""
    made = shelf.database.execute(
        "INSERT INTO draft (title, sound, step, away, changed) VALUES (?, ?, 0, ?, ?)",
        (draft.title, draft.sound, int(draft.away), draft.changed),
    )
    _add_step(shelf, int(made.lastrowid or 0), data, draft.sound)
