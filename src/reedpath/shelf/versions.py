"""The versions of a lesson: found by their numbers, and two side by side, what differs told place by place."""

from __future__ import annotations

import json
from collections.abc import Iterator
from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Any

import msgspec
from msgspec import Struct

from reedpath.errors import SettingsError
from reedpath.shelf.opening import told_by_database
from reedpath.shelf.records import KeptLesson, LessonVersion

if TYPE_CHECKING:
    from reedpath.shelf.store import Shelf

# what follows from the rest of a lesson, and would say everything twice
_FOLLOWS = frozenset({"steps", "cautions", "schema"})


class LessonDifference(Struct, frozen=True):
    """A place where two versions differ.

    place : keys and indexes from the top of ``lesson.json``, and before them the piece's folder where there are
        several: ("route", "events", 3, "choice", "move").
    before, after : plain data, None for nothing.
    """

    place: tuple[str | int, ...]
    before: Any
    after: Any


def _text(value: Any) -> str:
    return json.dumps(value, sort_keys=True)


def _in_rows(before: list[Any], after: list[Any], place: tuple[str | int, ...]) -> Iterator[LessonDifference]:
    """Entries of equal rows are compared one by one; else those that were put in, left out or replaced are told."""
    if len(before) == len(after):
        for index, (old, new) in enumerate(zip(before, after, strict=True)):
            yield from _between(old, new, (*place, index))
        return
    olds, news = [_text(one) for one in before], [_text(one) for one in after]
    for kind, first, last, start, stop in SequenceMatcher(None, olds, news, autojunk=False).get_opcodes():
        if kind != "equal":
            yield LessonDifference((*place, first), before[first:last] or None, after[start:stop] or None)


def _between(before: Any, after: Any, place: tuple[str | int, ...]) -> Iterator[LessonDifference]:
    if before == after:
        return
    if isinstance(before, dict) and isinstance(after, dict):
        for key in dict.fromkeys([*before, *after]):
            if place or key not in _FOLLOWS:
                yield from _between(before.get(key), after.get(key), (*place, key))
    elif isinstance(before, list) and isinstance(after, list):
        yield from _in_rows(before, after, place)
    else:
        yield LessonDifference(place, before, after)


class VersionFacts(Struct, frozen=True):
    """A version without what it says: its number on the shelf, which one, when it came, how many files it has."""

    number: int
    version: int
    added: str
    files: int


def version_numbered(shelf: Shelf, lesson: int, version: int | None = None) -> LessonVersion:
    """A version of a lesson, the last for None; SettingsError where there is none."""
    shelf.get(KeptLesson, lesson)
    last = shelf.last(LessonVersion, lesson=lesson)
    if last is None:
        raise SettingsError("shelf.no_record", number=lesson)
    if version is None:
        return last
    found = shelf.last(LessonVersion, lesson=lesson, version=version)
    if found is None:
        raise SettingsError("shelf.no_version", version=version, last=last.version)
    return found


def last_version(shelf: Shelf, lesson: int) -> LessonVersion:
    """The last version of a lesson; SettingsError where there is none."""
    return version_numbered(shelf, lesson)


def two_versions(
    shelf: Shelf, lesson: int, before: int | None, after: int | None
) -> tuple[LessonVersion, LessonVersion]:
    """Two versions of a lesson to be compared: those asked for, else the last and the one before it."""
    earlier = max(1, last_version(shelf, lesson).version - 1) if before is None else before
    return version_numbered(shelf, lesson, earlier), version_numbered(shelf, lesson, after)


def version_list(shelf: Shelf, lesson: int) -> list[VersionFacts]:
    """The versions of a lesson, the newest first, without reading what they say."""
    sql = "SELECT number, version, added, files FROM lesson_version WHERE lesson = ? ORDER BY version DESC"
    with told_by_database(shelf.path):
        rows = shelf.database.execute(sql, (lesson,)).fetchall()
    return [VersionFacts(row[0], row[1], row[2], len(msgspec.json.decode(row[3]))) for row in rows]


def differences(before: LessonVersion, after: LessonVersion) -> tuple[LessonDifference, ...]:
    """Where two versions differ, in the order of the lesson's file, then piece by piece."""
    found = list(_between(msgspec.json.decode(before.data), msgspec.json.decode(after.data), ()))
    for folder in dict.fromkeys([*before.pieces, *after.pieces]):
        old, new = before.pieces.get(folder), after.pieces.get(folder)
        inside = _between(
            None if old is None else msgspec.json.decode(old), None if new is None else msgspec.json.decode(new), ()
        )
        found += [LessonDifference((folder, *one.place), one.before, one.after) for one in inside]
    return tuple(found)
