"""The zip of a shelf: its names, its list, and how it is read without believing it.

``shelf.json`` lists the records; what is a file of the program elsewhere is one here too: ``phrases/UID.json``,
``lessons/UID/lesson.json`` (and ``lessons/UID/PIECE/lesson.json``), ``answers/UID.json``. What lies on the workbench
is in ``drafts/UID.json``; sounds and films are in ``files``, as they are. A record is called by its uid, and so is
one that it belongs to.
"""

from __future__ import annotations

import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any, BinaryIO, Literal

from msgspec import Struct

from reedpath.errors import ReadError
from reedpath.shelf.drafts import ListedDraft
from reedpath.shelf.records import LessonVersion, ShelfRecord
from reedpath.shelf.waiting_takes import ListedWaitingTake

# the list of what is in the zip: its name there, what it says it is, and of which shape
LIST, SHELF_SCHEMA = "shelf.json", "reedpath/shelf"
VERSION: Literal[1] = 1
# bytes of a text in the zip, and of the list: a lesson of thousands of notes has 64 million at most
MOST_TEXT, MOST_LIST = 64_000_000, 512_000_000
# bytes of a sound or film, and how many entries; ours: a day of film, a hundred thousand takes
MOST_FILE, MOST_ENTRIES = 1 << 36, 400_000
# how many times as large as what is packed a text may be (JSON of ours is packed to a twentieth), and bytes below
# which it is not asked
MOST_PACKED, SMALL = 200, 1_000_000


class ShelfFile(Struct, frozen=True, tag_field="schema", tag=SHELF_SCHEMA):
    """The list of a zip.

    version : of the shape.
    records : plain data of each record without what lies in files of its own, by kind; numbers of other records are
        their uids.
    drafts : those of the workbench; none where the zip is of one student, or older than that.
    waiting : takes that are nobody's yet; likewise.
    """

    version: Literal[1]
    records: Mapping[str, tuple[dict[str, Any], ...]]
    drafts: tuple[ListedDraft, ...] = ()
    waiting: tuple[ListedWaitingTake, ...] = ()


# where the text of a kind of record lies
_FOLDERS = {
    "phrase": "phrases/{uid}.json",
    "lesson_version": "lessons/{uid}/lesson.json",
    "answer": "answers/{uid}.json",
}


def data_name(kind: str, record: ShelfRecord) -> str | None:
    """Where the text of a record lies in the zip; None for a kind that has none."""
    return _FOLDERS[kind].format(uid=record.uid) if kind in _FOLDERS else None


def piece_name(version: LessonVersion, folder: str) -> str:
    """Where the text of a piece of a lesson lies."""
    return f"lessons/{version.uid}/{folder}/lesson.json"


def draft_name(uid: str) -> str:
    """Where the text of a draft lies."""
    return f"drafts/{uid}.json"


# what the library raises of a zip that is broken, ValueError for places before its start; RuntimeError for a password
_BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    NotImplementedError,
    OverflowError,
    RuntimeError,
    ValueError,
)


@contextmanager
def _told_by_zip() -> Iterator[None]:
    """Put what the library says of a broken zip into words of ours."""
    try:
        yield
    except _BROKEN as error:
        raise ReadError("shelf.no_zip") from error


class ShelfZip:
    """A zip that is read. Only names that its list leads to are looked at, none ever becomes a path on the disk.

    Each may be no larger than it says and than is sensible, and is counted while it is read.
    """

    def __init__(self, zipped: zipfile.ZipFile) -> None:
        self._zip = zipped
        infos = zipped.infolist()
        self._infos = {one.filename: one for one in infos}
        if len(infos) > MOST_ENTRIES or len(self._infos) != len(infos):
            raise ReadError("shelf.zip_entries", count=len(infos), most=MOST_ENTRIES)

    def __contains__(self, name: str) -> bool:
        return name in self._infos

    def _info(self, name: str, most: int) -> zipfile.ZipInfo:
        info = self._infos.get(name)
        if info is None:
            raise ReadError("shelf.zip_without", name=name)
        if info.flag_bits & 1:
            raise ReadError("shelf.zip_locked", name=name)
        is_bomb = info.file_size > SMALL and info.file_size > MOST_PACKED * max(1, info.compress_size)
        if info.file_size > most or is_bomb:
            raise ReadError("shelf.zip_too_large", name=name, size=info.file_size)
        return info

    def text(self, name: str, *, most: int = MOST_TEXT) -> bytes:
        """The bytes of a text."""
        info = self._info(name, most)
        with _told_by_zip(), self._zip.open(info) as file:
            data = file.read(info.file_size + 1)
        if len(data) != info.file_size:
            raise ReadError("shelf.zip_too_large", name=name, size=info.file_size)
        return data

    @contextmanager
    def file(self, name: str) -> Iterator[BinaryIO]:
        """A sound or film, open; no more of it can be read than it says."""
        info = self._info(name, MOST_FILE)
        with _told_by_zip(), self._zip.open(info) as file:
            yield file  # type: ignore[misc]  # reads like any binary file


@contextmanager
def reading_zip(file: BinaryIO) -> Iterator[ShelfZip]:
    """An open file read as a zip; ReadError for what is none, or breaks off, or does not hold what it says."""
    with _told_by_zip():
        zipped = zipfile.ZipFile(file)
    with zipped:
        yield ShelfZip(zipped)
