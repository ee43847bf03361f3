"""A shelf written out whole, or one student of it, as one zip of open formats."""

from __future__ import annotations

import zipfile
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, BinaryIO

from reedpath.data import as_plain, encode_json
from reedpath.shelf.drafts import ListedDraft, listed_drafts
from reedpath.shelf.kept_files import digest_of
from reedpath.shelf.opening import told_by_database
from reedpath.shelf.records import (
    KINDS,
    OWNERS,
    KeptAnswer,
    KeptHeldNote,
    KeptLesson,
    KeptLetter,
    KeptPhrase,
    KeptTake,
    LessonVersion,
    OwnedHarp,
    ShelfRecord,
    Student,
    TaughtPhrase,
)
from reedpath.shelf.store import Shelf
from reedpath.shelf.waiting_takes import ListedWaitingTake, all_waiting_takes
from reedpath.shelf.zipped import LIST, VERSION, ShelfFile, data_name, draft_name, piece_name

Records = Mapping[str, Sequence[Any]]


def _records_of(shelf: Shelf, student: Student | None) -> Records:
    """All records, or a student's and the lessons that were played, with their phrases."""
    if student is None:
        return {kind: shelf.all(one) for kind, one in KINDS.items()}
    takes = shelf.all(KeptTake, student=student.number)
    played = {one.version for one in takes}
    versions = [one for one in shelf.all(LessonVersion) if one.number in played]
    taught = [one for one in shelf.all(TaughtPhrase) if one.version in played]
    return {
        "phrase": [one for one in shelf.all(KeptPhrase) if one.number in {each.phrase for each in taught}],
        "student": [student],
        "harp": shelf.all(OwnedHarp, student=student.number),
        "lesson": [one for one in shelf.all(KeptLesson) if one.number in {each.lesson for each in versions}],
        "lesson_version": versions,
        "taught": taught,
        "take": takes,
        "answer": [one for take in takes for one in shelf.all(KeptAnswer, take=take.number)],
        "letter": shelf.all(KeptLetter, student=student.number),
        "held_note": shelf.all(KeptHeldNote, student=student.number),
    }


def _listed(kind: str, record: ShelfRecord, uids: Mapping[str, Mapping[int, str]]) -> dict[str, Any]:
    """A record as the list has it."""
    plain: dict[str, Any] = as_plain(record)
    for column, owner in OWNERS.get(kind, {}).items():
        plain[column] = None if plain[column] is None else uids[owner][plain[column]]
    if kind == "lesson_version":
        plain["pieces"] = list(plain["pieces"])
    return {name: value for name, value in plain.items() if name not in {"number", "data"}}


def _put_text(zipped: zipfile.ZipFile, name: str, data: bytes) -> None:
    zipped.writestr(zipfile.ZipInfo(name), data, compress_type=zipfile.ZIP_DEFLATED)


def _put_file(zipped: zipfile.ZipFile, shelf: Shelf, name: str) -> None:
    """A sound as it is; what is already packed by its format is not packed again."""
    with (
        shelf.files.path(name).open("rb") as file,
        zipped.open(zipfile.ZipInfo(f"files/{name}"), "w", force_zip64=True) as to,
    ):
        digest_of(file, into=to)  # type: ignore[arg-type]  # writes like any binary file


def _listed_waiting(shelf: Shelf, uids: Mapping[str, Mapping[int, str]]) -> tuple[ListedWaitingTake, ...]:
    return tuple(
        ListedWaitingTake(
            one.name,
            one.sound,
            uids["student"].get(one.student or 0, ""),
            uids["lesson_version"].get(one.version or 0, ""),
            one.added,
        )
        for one in all_waiting_takes(shelf)
    )


def _files_of(records: Records, others: Iterable[ListedDraft | ListedWaitingTake]) -> list[str]:
    sounds = {one.sound for one in (*records["take"], *others)} - {""}
    return sorted(sounds.union(*(version.files.values() for version in records["lesson_version"])))


def export_shelf(shelf: Shelf, file: BinaryIO, *, student: Student | None = None) -> dict[str, int]:
    """Write a shelf with the workbench's drafts, or one student of it, into an open file; how many of each kind.

    A sound that is lost (`check_shelf` says which) is left out.
    """
    with told_by_database(shelf.path):
        records = _records_of(shelf, student)
        drafts = listed_drafts(shelf) if student is None else {}
        listed_ones = tuple(one for one, _text in drafts.values())
        uids = {kind: {one.number: one.uid for one in records[kind]} for kind in KINDS}
        waiting = _listed_waiting(shelf, uids) if student is None else ()
        # in an order that does not depend on the numbers, which another shelf gives anew
        listed = {
            kind: tuple(_listed(kind, one, uids) for one in sorted(records[kind], key=lambda one: one.number))
            for kind in KINDS
        }
        with zipfile.ZipFile(file, "w") as zipped:
            _put_text(zipped, LIST, encode_json(ShelfFile(VERSION, listed, listed_ones, waiting)))
            for kind in KINDS:
                for one in records[kind]:
                    name = data_name(kind, one)
                    if name is not None:
                        _put_text(zipped, name, one.data.encode())
                    for folder, text in one.pieces.items() if isinstance(one, LessonVersion) else ():
                        _put_text(zipped, piece_name(one, folder), text.encode())
            for uid, (_one, text) in drafts.items():
                _put_text(zipped, draft_name(uid), text.encode())
            for name in _files_of(records, (*listed_ones, *waiting)):
                if shelf.files.path(name).is_file():
                    _put_file(zipped, shelf, name)
    return {kind: len(records[kind]) for kind in KINDS} | {"draft": len(drafts)}
