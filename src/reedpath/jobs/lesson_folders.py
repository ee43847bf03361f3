"""Lessons read, of one phrase or of several pieces: from their folders, and from versions kept on a shelf."""

from __future__ import annotations

from functools import lru_cache
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING

from reedpath.errors import Place, ReadError, ReedpathError
from reedpath.jobs.disk import naming_file, read_bytes, with_file
from reedpath.lesson import Lesson, Taught, decode_lesson, decode_taught, is_lesson_of_pieces, piece_folders

if TYPE_CHECKING:
    from reedpath.shelf import LessonVersion

# the lesson's data: name in its folder
DATA = "lesson.json"
# bytes; a lesson of thousands of notes stays under this
MOST_LESSON_BYTES = 64_000_000
# versions whose lessons are kept in memory: reckoning the effort of a hundred notes anew takes 40 ms
MOST_READ = 512


def _data_path(folder: str | PathLike[str]) -> Path:
    """The file of a lesson folder that says what it teaches, which may also be named itself."""
    path = Path(folder)
    if path.is_dir():
        if not (path / DATA).exists():
            raise ReadError("jobs.no_lesson_there", where=Place(file=str(folder)))
        return path / DATA
    if path.is_file() and path.suffix.lower() != ".json":
        raise ReadError("jobs.source_for_lesson", where=Place(file=str(path)), source=path.name, name=path.stem)
    return path


def lesson_bytes(folder: str | PathLike[str]) -> bytes:
    """The bytes of a lesson's data; ReadError where there are none."""
    return read_bytes(_data_path(folder), most_bytes=MOST_LESSON_BYTES)


def read_taught(folder: str | PathLike[str]) -> Taught:
    """The lesson of a lesson folder, of one phrase or of several pieces, from its ``lesson.json``.

    Raises `ReadError` when the folder holds no lesson, or its data do not hold.
    """
    path = _data_path(folder)
    data = read_bytes(path, most_bytes=MOST_LESSON_BYTES)
    try:
        return decode_taught(data, lambda inside: read_lesson(path.parent / inside))
    except ReedpathError as error:
        raise error if error.where.file else with_file(path, error) from None


def read_lesson(folder: str | PathLike[str]) -> Lesson:
    """The lesson of one phrase of a lesson folder, from its ``lesson.json``, which may also be named itself.

    Raises `ReadError` when the folder holds no lesson, its data do not hold, or it is of several pieces, which are
    then named.
    """
    path = _data_path(folder)
    data = read_bytes(path, most_bytes=MOST_LESSON_BYTES)
    with naming_file(path):
        if is_lesson_of_pieces(data):
            folders = [str(path.parent / inside) for inside in piece_folders(data)]
            raise ReadError("jobs.several_pieces", count=len(folders), folders=folders)
        return decode_lesson(data)


def is_lesson_folder(folder: Path) -> bool:
    """Whether a folder is that of a lesson, not one that holds such; so is its ``lesson.json`` itself."""
    return (folder / DATA).is_file() or (folder.is_file() and folder.name == DATA)


def whole_above(folder: Path) -> Path | None:
    """The folder of the lesson of several pieces that a folder is a piece of; None where it is none."""
    folder = folder.resolve()
    data = folder.parent / DATA
    if not data.is_file():
        return None
    try:
        found = read_bytes(data, most_bytes=MOST_LESSON_BYTES)
        return folder.parent if is_lesson_of_pieces(found) and folder.name in piece_folders(found) else None
    except ReedpathError:
        return None


@lru_cache(maxsize=MOST_READ)
def lesson_of_texts(data: str, pieces: tuple[tuple[str, str], ...]) -> Taught:
    """The lesson of a ``lesson.json``, and of those of its pieces by their folders, where it has several."""
    return decode_taught(data.encode(), lambda folder: decode_lesson(dict(pieces)[folder].encode()))


def lesson_of_version(version: LessonVersion) -> Taught:
    """The lesson of a version on a shelf, as its data say it."""
    return lesson_of_texts(version.data, tuple(version.pieces.items()))
