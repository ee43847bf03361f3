"""What the shelf keeps: one kind of record for each table, its fields being the columns (``migrations``)."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated, Any, TypeAlias, TypeVar

import msgspec
from msgspec import Meta, Struct

from reedpath.shelf.kept_files import KEPT_NAME
from reedpath.shelf.melodies import Melody

# what a column holds, and a row by its columns
Columns: TypeAlias = dict[str, str | int | float | None]

Uid = Annotated[str, Meta(pattern=r"\A([0-9a-f]{16})?\Z")]
Hex = Annotated[str, Meta(pattern=r"\A[0-9a-f]{64}\Z")]
# a file that is kept beside the database, and none
Kept = Annotated[str, Meta(pattern=KEPT_NAME)]
KeptOrNone = Annotated[str, Meta(pattern=rf"{KEPT_NAME}|\A\Z")]
# characters of a title, a name, a note; ours: no person writes more
Line = Annotated[str, Meta(max_length=1000)]
Text = Annotated[str, Meta(max_length=100_000)]
# a name in a lesson's folder, or in one inside it: never a way out of it
FileName = Annotated[str, Meta(pattern=r"\A(?!\.)[^/\\:\x00-\x1f]{1,255}(/(?!\.)[^/\\:\x00-\x1f]{1,255})?\Z")]
Number = Annotated[int, Meta(ge=1)]
# seconds for which nobody holds a note, and cents beyond which no note is in tune; ours
LONGEST_SECONDS, WIDEST_CENTS = 600.0, 200.0
# points of effort a note; a route of the hardest notes has some 30
Difficulty = Annotated[float, Meta(ge=0, le=1_000_000)]


class ShelfRecord(Struct, frozen=True, kw_only=True):
    """What all records have.

    number : by which it is called on this shelf; 0 before it is kept.
    uid : sixteen hexadecimal digits that no other record has, on any shelf; empty before it is kept.
    """

    number: int = 0
    uid: Uid = ""


class KeptPhrase(ShelfRecord, frozen=True, kw_only=True):
    """A phrase.

    key : its name ("E", "Am"), empty where unknown.
    tags : the owner's words for it.
    techniques : names of what its best route asks for (`lesson.PlayingTechnique`).
    difficulty : points of effort a note on that route; None where no route was looked for.
    melody : by which it is found by tune.
    data : the phrase's file, as text. digest : its SHA-256.
    source : name of the file that it came from.
    added : when, as ISO 8601 writes it; likewise everywhere here.
    """

    title: Line
    key: Line = ""
    tags: tuple[Line, ...] = ()
    techniques: tuple[Line, ...] = ()
    difficulty: Difficulty | None = None
    melody: Melody
    data: str
    digest: Hex
    source: Line = ""
    added: Line = ""


class Student(ShelfRecord, frozen=True, kw_only=True):
    """A student: name, level, and the techniques that he or she has."""

    name: Line
    level: Line = ""
    techniques: tuple[Line, ...] = ()
    note: Text = ""
    added: Line = ""


class OwnedHarp(ShelfRecord, frozen=True, kw_only=True):
    """A harp that a student owns, or the teacher, where there is no student.

    key : of the harp ("A", "Low F"). tuning : its name.
    """

    student: Number | None = None
    key: Line
    tuning: Line = "standard"
    note: Text = ""


class KeptLesson(ShelfRecord, frozen=True, kw_only=True):
    """A lesson: what all its versions share.

    band : what was chosen of the band that plays along, as JSON text; empty for nothing.
    band_sounds : of which kind play-alongs with it are made whenever the lesson is made; empty for none.
    """

    title: Line
    tags: tuple[Line, ...] = ()
    band: Text = ""
    band_sounds: Line = ""


class LessonVersion(ShelfRecord, frozen=True, kw_only=True):
    """A lesson as it was at a time.

    version : counted from 1.
    data : its ``lesson.json``, as text. pieces : those of its pieces, by their folders, where it has several.
    files : what else lay in its folder, name of the kept file by name there.
    """

    lesson: Number
    version: Number
    data: str
    pieces: Mapping[str, str] = {}
    files: Mapping[FileName, Kept] = {}
    note: Text = ""
    added: Line = ""


class TaughtPhrase(ShelfRecord, frozen=True, kw_only=True):
    """That a version of a lesson teaches a phrase."""

    version: Number
    phrase: Number


class KeptTake(ShelfRecord, frozen=True, kw_only=True):
    """A student's take.

    version : of the lesson that was played, None where that is not known.
    name : of the recording when it was brought in. sound : the kept file, empty for none.
    """

    student: Number
    version: Number | None = None
    name: Line
    sound: KeptOrNone = ""
    note: Text = ""
    added: Line = ""


class KeptAnswer(ShelfRecord, frozen=True, kw_only=True):
    """The answer to a take: its ``answer.json``, as text."""

    take: Number
    data: str
    added: Line = ""


class KeptLetter(ShelfRecord, frozen=True, kw_only=True):
    """A letter to a student.

    language : its short name. proposed : as the program wrote it. text : as the teacher has it.
    """

    student: Number
    language: Line
    proposed: Text
    text: Text
    added: Line = ""


class KeptHeldNote(ShelfRecord, frozen=True, kw_only=True):
    """A note that was held in tune by a student, or by the teacher, where there is no student.

    key, tuning, move : of the harp, and what was played on it, as tab.
    seconds : without a break. cents : middle of the pitch less the target. unsteady_cents : its standard deviation.
    tolerance_cents : off the target, within which it counted as in tune.
    """

    student: Number | None = None
    key: Line
    tuning: Line = "standard"
    move: Line
    seconds: Annotated[float, Meta(ge=0, le=LONGEST_SECONDS)]
    cents: Annotated[float, Meta(ge=-WIDEST_CENTS, le=WIDEST_CENTS)]
    unsteady_cents: Annotated[float, Meta(ge=0, le=WIDEST_CENTS)]
    tolerance_cents: Annotated[float, Meta(gt=0, le=WIDEST_CENTS)]
    added: Line = ""


# kinds by their tables, those first that others belong to
KINDS: Mapping[str, type[ShelfRecord]] = MappingProxyType(
    {
        "phrase": KeptPhrase,
        "student": Student,
        "harp": OwnedHarp,
        "lesson": KeptLesson,
        "lesson_version": LessonVersion,
        "taught": TaughtPhrase,
        "take": KeptTake,
        "answer": KeptAnswer,
        "letter": KeptLetter,
        "held_note": KeptHeldNote,
    }
)
# columns that hold the number of a record of another table
OWNERS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "harp": {"student": "student"},
        "lesson_version": {"lesson": "lesson"},
        "taught": {"version": "lesson_version", "phrase": "phrase"},
        "take": {"student": "student", "version": "lesson_version"},
        "answer": {"take": "take"},
        "letter": {"student": "student"},
        "held_note": {"student": "student"},
    }
)
R = TypeVar("R", bound=ShelfRecord)


def kind_of(record: type[ShelfRecord]) -> str:
    """The table that holds records of a class."""
    return next(name for name, one in KINDS.items() if one is record)


def _lists_of(kind: type[ShelfRecord]) -> tuple[str, ...]:
    """Columns of JSON: lists and shapes."""
    info = msgspec.inspect.type_info(kind)
    assert isinstance(info, msgspec.inspect.StructType)
    shapes = (msgspec.inspect.VarTupleType, msgspec.inspect.DictType, msgspec.inspect.StructType)
    return tuple(field.name for field in info.fields if isinstance(field.type, shapes))


_LISTS = {kind: _lists_of(kind) for kind in KINDS.values()}


def to_columns(record: ShelfRecord) -> Columns:
    """A record as a row, its number left out."""
    row: dict[str, Any] = {name: getattr(record, name) for name in record.__struct_fields__ if name != "number"}
    for name in _LISTS[type(record)]:
        row[name] = msgspec.json.encode(row[name]).decode()
    return row


def from_columns(kind: type[R], row: Mapping[str, Any]) -> R:
    """A record from a row."""
    plain = dict(row)
    for name in _LISTS[kind]:
        plain[name] = msgspec.json.decode(plain[name])
    return msgspec.convert(plain, kind)
