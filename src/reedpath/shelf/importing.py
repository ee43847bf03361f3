"""A zip of a shelf brought in: all of it in one step, or nothing.

What is on the shelf already stays as it is there: its owner may have changed it since. Everything in the zip is
checked before it is kept: its list by the shapes of the records, phrases, lessons and answers as the program's own
files, sounds and drafts by the SHA-256 in their names. What a draft says the workbench checks when it is opened.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, BinaryIO, TypeAlias

import msgspec
from msgspec import Struct

from reedpath.data import from_plain, plain_of_version, read_json
from reedpath.errors import Place, ReadError, ReedpathError
from reedpath.lesson import decode_lesson, decode_taught, is_lesson_of_pieces, piece_folders
from reedpath.phrase import decode_phrase
from reedpath.shelf.drafts import ListedDraft, add_listed_draft, listed_drafts, uid_of_draft
from reedpath.shelf.kept_files import KeptFiles
from reedpath.shelf.making import digest_of_text
from reedpath.shelf.melodies import Melody, melody_of
from reedpath.shelf.opening import told_by_database, transaction
from reedpath.shelf.records import KINDS, OWNERS, KeptTake, LessonVersion, ShelfRecord
from reedpath.shelf.store import Shelf
from reedpath.shelf.waiting_takes import ListedWaitingTake, WaitingTake, all_waiting_takes, put_waiting_take
from reedpath.shelf.zipped import (
    LIST,
    MOST_LIST,
    SHELF_SCHEMA,
    VERSION,
    ShelfFile,
    ShelfZip,
    data_name,
    draft_name,
    reading_zip,
)


class Imported(Struct, frozen=True):
    """What came of bringing a zip in.

    added : how many records of each kind.
    there : how many were there already, as they are in the zip.
    kept : titles and names of those that are there otherwise, and stayed as they are there.
    lost : names of files that the zip names and does not hold.
    drafts : how many came onto the workbench; one that was there already does not.
    waiting : how many takes came that are to be heard; likewise.
    """

    added: Mapping[str, int]
    there: int
    kept: tuple[str, ...]
    lost: tuple[str, ...]
    drafts: int = 0
    waiting: int = 0


# what stands in the zip as a text and is known to be right: SHA-256 of it, and of a phrase the melody
CheckedTexts: TypeAlias = dict[str, Melody | None]


def _check(kind: str, data: bytes, pieces: Mapping[str, bytes]) -> Melody | None:
    """Read a text as the program reads its own files; of a phrase the melody."""
    if kind == "phrase":
        return melody_of(decode_phrase(data))
    if kind == "lesson_version":
        decode_taught(data, lambda folder: decode_lesson(pieces[folder]))
    else:
        plain_of_answer(data)
    return None


def _with_texts(kind: str, plain: dict[str, Any], zipped: ShelfZip, checked: CheckedTexts) -> dict[str, Any]:
    """The plain data of a record with what lies in files of its own, which are checked where they are not yet."""
    uid = plain.get("uid")
    if not isinstance(uid, str):
        raise ReadError("shelf.no_uid")
    name = data_name(kind, ShelfRecord(uid=uid))
    if name is None:
        return plain
    data = zipped.text(name)
    try:
        folders = piece_folders(data) if kind == "lesson_version" and is_lesson_of_pieces(data) else ()
        pieces = {one: zipped.text(f"lessons/{uid}/{one}/lesson.json") for one in folders}
        digest = digest_of_text(b"\0".join((kind.encode(), data, *pieces.values())))
        if digest not in checked:
            checked[digest] = _check(kind, data, pieces)
    except ReedpathError as error:
        raise error.inside(Place(file=name)) from None
    plain |= {"data": data.decode()}
    if kind == "phrase":
        plain |= {"melody": checked[digest], "digest": digest_of_text(data)}
    if kind == "lesson_version":
        plain |= {"pieces": {folder: text.decode() for folder, text in pieces.items()}}
    return plain


def plain_of_answer(data: bytes) -> Any:
    """The plain data of an answer's file; ReadError for what is none."""
    return plain_of_version(data, schema="reedpath/answer", version=2, older={})


class _Bringing:
    """A zip on its way onto a shelf."""

    def __init__(self, shelf: Shelf, zipped: ShelfZip, checked: CheckedTexts) -> None:
        self.shelf = shelf
        self.zipped = zipped
        self.checked = checked
        # numbers here by the uids of the zip
        self.numbers: dict[str, dict[str, int]] = {kind: {} for kind in KINDS}
        self.added = dict.fromkeys(KINDS, 0)
        self.there = 0
        self.kept: list[str] = []
        self.files: set[str] = set()
        self.drafts: list[tuple[ListedDraft, str]] = []
        self.waiting: list[ListedWaitingTake] = []

    def _record(self, kind: str, plain: Mapping[str, Any]) -> ShelfRecord:
        values = _with_texts(kind, dict(plain), self.zipped, self.checked) | {"number": 0}
        for column, owner in OWNERS.get(kind, {}).items():
            uid = values.get(column)
            if uid is not None:
                if not isinstance(uid, str) or uid not in self.numbers[owner]:
                    raise ReadError("shelf.no_owner", kind=kind, uid=str(uid))
                values[column] = self.numbers[owner][uid]
        return from_plain(values, KINDS[kind])

    def bring(self, kind: str, plain: Mapping[str, Any]) -> None:
        """Keep a record, unless one of its uid is there."""
        record = self._record(kind, plain)
        if not record.uid or record.uid in self.numbers[kind]:
            raise ReadError("shelf.no_uid")
        found = self.shelf.all(KINDS[kind], uid=record.uid)
        if not found and isinstance(record, LessonVersion):
            record = self._next_version(record)
        if found:
            self.numbers[kind][record.uid] = found[0].number
            if _is_same(record, found[0]):
                self.there += 1
            else:
                self.kept.append(_called(found[0]))
            return
        self.numbers[kind][record.uid] = self.shelf.add(record).number
        self.added[kind] += 1
        if isinstance(record, KeptTake) and record.sound:
            self.files.add(record.sound)
        if isinstance(record, LessonVersion):
            self.files.update(record.files.values())

    def bring_drafts(self, listed: Sequence[ListedDraft]) -> None:
        """Take the texts of the drafts that are not there."""
        seen = set[str]()
        there = listed_drafts(self.shelf)
        for draft in listed:
            if not draft.uid or draft.uid in seen:
                raise ReadError("shelf.no_uid")
            seen.add(draft.uid)
            name = draft_name(draft.uid)
            data = self.zipped.text(name)
            if uid_of_draft(data) != draft.uid:
                raise ReadError("shelf.zip_changed", name=name)
            read_json(data, dict, file=name)
            if draft.uid in there:
                self.there += 1
                continue
            self.drafts.append((draft, data.decode()))
            if draft.sound:
                self.files.add(draft.sound)

    def bring_waiting(self, listed: Sequence[ListedWaitingTake]) -> None:
        """Take the takes that wait and are not there; they are to be heard again."""
        there = {(one.name, one.sound) for one in all_waiting_takes(self.shelf)}
        self.waiting = [one for one in listed if (one.name, one.sound) not in there]
        self.there += len(listed) - len(self.waiting)
        self.files.update(one.sound for one in self.waiting)

    def lay_out(self) -> None:
        """Put the drafts that were brought on the workbench, and let the takes wait whose sound came."""
        for draft, text in self.drafts:
            add_listed_draft(self.shelf, draft, text)
        for one in self.waiting:
            if self.shelf.files.holds(one.sound):
                student = self.numbers["student"].get(one.student)
                version = self.numbers["lesson_version"].get(one.version)
                put_waiting_take(self.shelf, WaitingTake(one.name, one.sound, student, version, one.added))

    def _next_version(self, record: LessonVersion) -> LessonVersion:
        """A version whose number another one has here comes after all."""
        taken = {one.version for one in self.shelf.all(LessonVersion, lesson=record.lesson)}
        return msgspec.structs.replace(record, version=max(taken) + 1) if record.version in taken else record

    def bring_file(self, name: str, files: KeptFiles) -> bool:
        """Keep a sound; whether the zip holds it."""
        if files.holds(name):
            return True
        inside = f"files/{name}"
        if inside not in self.zipped:
            return False
        with self.zipped.file(inside) as file:
            if files.keep(file, name=name) != name:
                raise ReadError("shelf.zip_changed", name=inside)
        return True


def _is_same(brought: ShelfRecord, there: ShelfRecord) -> bool:
    """Whether two records of a uid say the same, but for the numbers that each shelf gives."""
    brought = msgspec.structs.replace(brought, number=there.number)
    if isinstance(brought, LessonVersion) and isinstance(there, LessonVersion):
        brought = msgspec.structs.replace(brought, version=there.version)
    return brought == there


def _called(record: ShelfRecord) -> str:
    """What a person calls a record."""
    for name in ("title", "name", "key"):
        if getattr(record, name, ""):
            return str(getattr(record, name))
    return record.uid


def _listed(zipped: ShelfZip) -> ShelfFile:
    text = zipped.text(LIST, most=MOST_LIST)
    return from_plain(plain_of_version(text, schema=SHELF_SCHEMA, version=VERSION, older={}), ShelfFile)


def check_zip(file: BinaryIO, tell: Callable[[int, int], None]) -> CheckedTexts:
    """Check the texts that an open zip holds, without a shelf: what takes longest in bringing them in.

    tell : told how many records are looked at, and of how many.

    Raises `ReadError` for what `import_shelf` would not take because of a text.
    """
    checked: CheckedTexts = {}
    with reading_zip(file) as zipped:
        records = [(kind, plain) for kind, plains in _listed(zipped).records.items() for plain in plains]
        for done, (kind, plain) in enumerate(records):
            tell(done, len(records))
            if kind in KINDS:
                _with_texts(kind, dict(plain), zipped, checked)
    return checked


def import_shelf(shelf: Shelf, file: BinaryIO, checked: CheckedTexts | None = None) -> Imported:
    """Bring in what an open zip holds, as one step; ``checked``: what `check_zip` has found of it.

    Raises `ReadError` for what is no zip, or none of a shelf, or holds anything that does not hold; nothing is then
    changed.
    """
    with reading_zip(file) as zipped:
        listed, bringing = _listed(zipped), _Bringing(shelf, zipped, {} if checked is None else checked)
        lost = []
        with shelf.step("import"):
            for kind in KINDS:
                for index, plain in enumerate(listed.records.get(kind, ())):
                    try:
                        bringing.bring(kind, plain)
                    except ReedpathError as error:
                        raise error.inside(Place(file=LIST, field=f"records.{kind}[{index}]")) from None
            bringing.bring_drafts(listed.drafts)
            bringing.bring_waiting(listed.waiting)
            for name in sorted(bringing.files):
                if not bringing.bring_file(name, shelf.files):
                    lost.append(name)
            is_step = any(bringing.added.values())
            if is_step:
                bringing.lay_out()
        # a step in which no record changes is none, and takes back all that was done in it
        if not is_step and (bringing.drafts or bringing.waiting):
            with told_by_database(shelf.path), transaction(shelf.database):
                bringing.lay_out()
    drafts, waiting = len(bringing.drafts), len(bringing.waiting)
    return Imported(bringing.added, bringing.there, tuple(bringing.kept), tuple(lost), drafts, waiting)
