"""Takes that were answered: a record beside each answer says whose it is, of what, and by its bytes which recording.

So the answers of earlier weeks are found again in their folders, without a database.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from reedpath.data import encode_json, read_json
from reedpath.errors import ReedpathError
from reedpath.jobs.answering import write_answer_files
from reedpath.jobs.disk import read_bytes
from reedpath.jobs.folders import UNFINISHED, Written, writing_into
from reedpath.jobs.students import MOST_ANSWER_BYTES
from reedpath.jobs.take_matching import words_of_name
from reedpath.jobs.take_names import date_named
from reedpath.jobs.take_tasks import ANSWER
from reedpath.shelf import KeptAnswer, KeptLesson, KeptTake, LessonVersion, Shelf, Student

# the record of a take: name of its file; the overview's files: their name without an ending
RECORD, OVERVIEW = "take.json", "overview"
MOST_RECORD_BYTES = 1_000_000
# characters that some system takes in no name (POSIX, Windows), and letters of a folder's name at most; ours
_NOT_IN_NAMES = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f]+')
MOST_LETTERS = 60


class TakeRecord(Struct, frozen=True, tag_field="schema", tag="reedpath/answered-take", kw_only=True):
    """What is known of a take that was answered, as it is written.

    file : what it was called. sha256 : of its bytes. recorded : the day. modified : time of the file's last change.
    student : whose it is, empty where that is not known. is_said : whether the teacher said whose.
    lesson : title of the lesson. piece : folder of the piece that was played, in records of earlier versions; now the
        answer says which pieces are heard.
    """

    version: Literal[1] = 1
    file: str
    sha256: str
    recorded: str
    modified: str
    student: str
    is_said: bool = False
    lesson: str
    piece: str = ""

    @property
    def when(self) -> tuple[str, str, str]:
        """By what takes are put in the order of time."""
        return self.recorded, self.modified, self.file


class TakeWithAnswer(Struct, frozen=True):
    """A take with its answer.

    folder : name of the answer's folder; empty where it is kept in none.
    data : its ``answer.json``.
    """

    record: TakeRecord
    folder: str
    data: bytes


def _answered_in(folder: Path, name: str) -> TakeWithAnswer | None:
    """The take that a folder answers; None where it answers none, or what is there can't be read."""
    try:
        record = read_json(read_bytes(folder / RECORD, most_bytes=MOST_RECORD_BYTES), TakeRecord)
        date.fromisoformat(record.recorded)
        return TakeWithAnswer(record, name, read_bytes(folder / ANSWER, most_bytes=MOST_ANSWER_BYTES))
    except (ReedpathError, ValueError):  # changed by hand beyond reading: it is left alone
        return None


def answered_takes(out: Path) -> tuple[TakeWithAnswer, ...]:
    """The takes that are answered in a folder, in the order of time."""
    found: list[TakeWithAnswer] = []
    for folder in sorted(out.iterdir()) if out.is_dir() else ():
        if folder.name == UNFINISHED or not (folder / RECORD).is_file():
            continue
        answered = _answered_in(folder, folder.name)
        if answered is not None:
            found.append(answered)
    return tuple(sorted(found, key=lambda one: one.record.when))


def answered_takes_beside(out: Path) -> tuple[TakeWithAnswer, ...]:
    """The takes that are answered in the folders beside one that have an overview too: those of other weeks."""
    here = out.resolve()
    found: dict[str, TakeWithAnswer] = {}
    for folder in sorted(here.parent.iterdir()) if here.parent.is_dir() else ():
        if folder != here and (folder / f"{OVERVIEW}.json").is_file():
            for one in answered_takes(folder):
                found.setdefault(one.record.sha256, one)
    return tuple(sorted(found.values(), key=lambda one: one.record.when))


def answered_takes_on_shelf(shelf: Shelf) -> tuple[TakeWithAnswer, ...]:
    """The takes on a shelf that have an answer, in the order of time; each with the last one."""
    students = {one.number: one.name for one in shelf.all(Student)}
    versions = {one.number: one.lesson for one in shelf.all(LessonVersion)}
    titles = {one.number: one.title for one in shelf.all(KeptLesson)}
    answers = {one.take: one for one in shelf.all(KeptAnswer)}
    found = []
    for take in shelf.all(KeptTake):
        answer = answers.get(take.number)
        if answer is None or take.version is None:
            continue
        at = take.added or answer.added
        record = TakeRecord(
            file=take.name,
            sha256=take.sound.partition(".")[0] or f"take {take.number}",
            recorded=str(date_named(take.name) or at[:10]),
            modified=at,
            student=students[take.student],
            lesson=titles[versions[take.version]],
        )
        found.append(TakeWithAnswer(record, "", answer.data.encode()))
    return tuple(sorted(found, key=lambda one: one.record.when))


def _folder_name(record: TakeRecord) -> str:
    """What the folder of an answer is to be called: as the recording, with the student's name before it."""
    stem = Path(record.file).stem
    named = stem if words_of_name(record.student) <= words_of_name(stem) else f"{record.student} {stem}"
    return _NOT_IN_NAMES.sub(" ", named)[:MOST_LETTERS].strip(" .") or "take"


def _free_folder(out: Path, record: TakeRecord, before: Sequence[TakeWithAnswer]) -> str:
    """Its folder where it has one already, else a name that nothing has."""
    own = next((one.folder for one in before if one.record.sha256 == record.sha256), None)
    if own is not None:
        return own
    name, number = _folder_name(record), 1
    free = name
    while (out / free).exists():
        number += 1
        free = f"{name} {number}"
    return free


def keep_answered_take(
    out: Path, record: TakeRecord, files: Mapping[str, bytes], before: Sequence[TakeWithAnswer]
) -> tuple[TakeWithAnswer, Written]:
    """Write an answer into a folder of its own inside another; what was edited by hand in it is kept beside.

    before : the takes that are answered there already.
    """
    folder = _free_folder(out, record, before)
    # a folder that an earlier answer to the same recording has may be written into again
    written = write_answer_files(
        {**files, RECORD: encode_json(record)}, out / folder, replace=(out / folder).exists()
    )
    return TakeWithAnswer(record, folder, files[ANSWER]), written


def keep_record(out: Path, answered: TakeWithAnswer, student: str, *, is_said: bool) -> TakeWithAnswer:
    """The same answer with another student, as the teacher says now."""
    record = replace(answered.record, student=student, is_said=is_said)
    if record == answered.record:
        return answered
    if answered.folder:
        with writing_into(out / answered.folder, command="listen") as writing:
            (writing.files / RECORD).write_bytes(encode_json(record))
    return replace(answered, record=record)


def every_answer(groups: Sequence[Sequence[TakeWithAnswer]]) -> Iterator[TakeWithAnswer]:
    """The takes of several groups, each recording once, those of the first groups before all others."""
    seen: set[str] = set()
    for group in groups:
        for one in group:
            if one.record.sha256 not in seen:
                seen.add(one.record.sha256)
                yield one
