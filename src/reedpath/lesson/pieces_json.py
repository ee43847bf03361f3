"""A lesson of several pieces as a JSON file: what is said of the whole, and which folders its pieces are in.

Everything of a piece stands in the ``lesson.json`` of its own folder, and nowhere else (docs/lesson.md).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated, Literal

from msgspec import Meta, Struct, field

from reedpath.data import encode_json, from_plain, plain_of_version, schema_of
from reedpath.data.numbers import Index
from reedpath.errors import Place, ReadError
from reedpath.lesson.lesson_json import decode_lesson
from reedpath.lesson.model import Lesson
from reedpath.lesson.pieces import FolderName, LessonOfPieces, Piece, Taught, VariantKind, WholeWords, pieces_faults
from reedpath.lesson.pieces_steps import WholeBlock, whole_steps

# what such a file says it is
PIECES_SCHEMA = "reedpath/lesson-of-pieces"
# of its shape, raised when a reader of the old one would misread it
VERSION: Literal[1] = 1


class PieceEntry(Struct, frozen=True, omit_defaults=True):
    """A piece as it is written: all but what is taught of it.

    folder : name of its own folder inside the lesson's, where its ``lesson.json`` is.
    variant_of : index of the piece that it is a variant of.
    variant : what it is beside that one.
    """

    folder: FolderName
    variant_of: Index | None = None
    variant: VariantKind | None = None


class LessonOfPiecesFile(Struct, frozen=True, kw_only=True, tag_field="schema", tag=PIECES_SCHEMA):
    """A lesson of several pieces as it is written.

    version : of the shape of the file.
    title : of the whole.
    pieces : in the order in which they are taught.
    play_through : indexes of the pieces that are played one after the other at the end.
    author, date : who made it and when, in their own words.
    notes : to the student, before everything, by language.
    own_words : what is said of the whole otherwise than the program says it.
    steps : what the teacher says beside the pieces' own steps, by language; it follows from the rest.
    """

    version: Literal[1]
    title: str
    pieces: Annotated[tuple[PieceEntry, ...], Meta(min_length=1)]
    play_through: tuple[Index, ...] = ()
    author: str = ""
    date: str = ""
    notes: Mapping[str, str] = field(default_factory=dict)
    own_words: tuple[WholeWords, ...] = ()
    steps: dict[str, tuple[WholeBlock, ...]] = field(default_factory=dict)


def lesson_of_pieces_file(lesson: LessonOfPieces) -> LessonOfPiecesFile:
    """A lesson of several pieces as it is written."""
    return LessonOfPiecesFile(
        version=VERSION,
        title=lesson.title,
        pieces=tuple(PieceEntry(one.folder, one.variant_of, one.variant) for one in lesson.pieces),
        play_through=lesson.play_through,
        author=lesson.author,
        date=lesson.date,
        notes=lesson.notes,
        own_words=lesson.own_words,
        steps={language: whole_steps(lesson, language) for language in lesson.languages},
    )


def encode_lesson_of_pieces(lesson: LessonOfPieces) -> bytes:
    """The file of a lesson of several pieces; each piece has one of its own (`lesson_json.encode_lesson`)."""
    return encode_json(lesson_of_pieces_file(lesson))


def is_lesson_of_pieces(data: bytes) -> bool:
    """Whether a lesson's file is of several pieces, told by what it says of itself; its shape is not looked at."""
    return schema_of(data) == PIECES_SCHEMA


def _file(data: bytes) -> LessonOfPiecesFile:
    return from_plain(plain_of_version(data, schema=PIECES_SCHEMA, version=VERSION, older={}), LessonOfPiecesFile)


def piece_folders(data: bytes) -> tuple[str, ...]:
    """Names of the folders of the pieces of such a file, in order; ReadError as for the whole."""
    return tuple(entry.folder for entry in _file(data).pieces)


def decode_whole_steps(data: bytes) -> dict[str, tuple[WholeBlock, ...]]:
    """What the teacher says of the whole, as such a file was written with it, by language."""
    return _file(data).steps


def decode_lesson_of_pieces(data: bytes, lesson_in: Callable[[str], Lesson]) -> LessonOfPieces:
    """
    The lesson of such a file.

    lesson_in : the lesson of the piece in a folder of that name.

    Raises `ReadError`, naming the field ("pieces[1].variant_of") and the value at fault; and as ``lesson_in`` raises.
    """
    file = _file(data)
    lesson = LessonOfPieces(
        title=file.title,
        pieces=tuple(
            Piece(entry.folder, lesson_in(entry.folder), entry.variant_of, entry.variant) for entry in file.pieces
        ),
        play_through=file.play_through,
        author=file.author,
        date=file.date,
        notes=file.notes,
        own_words=file.own_words,
    )
    for fault in pieces_faults(lesson):
        raise ReadError(f"lesson.{fault.key}", where=Place(field=fault.field), **fault.values)
    return lesson


def decode_taught(data: bytes, lesson_in: Callable[[str], Lesson]) -> Taught:
    """The lesson of a lesson's file, of one phrase or of several pieces; as for `decode_lesson_of_pieces`."""
    return decode_lesson_of_pieces(data, lesson_in) if is_lesson_of_pieces(data) else decode_lesson(data)
