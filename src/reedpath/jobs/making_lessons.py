"""Making lessons: everything that a teacher hands out, in a folder that appears only when all of it is there."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Generic, TypeVar

from msgspec.structs import replace as replace_fields

from reedpath.errors import Place, ReadError, SettingsError
from reedpath.jobs.folder_making import FolderMaking
from reedpath.jobs.folder_plans import LIST
from reedpath.jobs.folders import Written, holds_nothing, writing_into
from reedpath.jobs.kept_sounds import KeptSounds
from reedpath.jobs.lesson_folders import read_taught, whole_above
from reedpath.jobs.lessons import LessonWishes, check_paper, lesson_from, making_of_lesson
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import Lesson, LessonOfPieces, Taught

if TYPE_CHECKING:
    from reedpath.jobs.arranging import RouteRequest
    from reedpath.jobs.lessons_of_pieces import AskedPiece, WholeWishes
    from reedpath.jobs.sources import ReadPhrase

TaughtLesson = TypeVar("TaughtLesson", bound=Taught)


@dataclass(frozen=True, slots=True)
class MadeLesson(Generic[TaughtLesson]):
    """A lesson, of one phrase or of several pieces, and what came of writing its folder."""

    lesson: TaughtLesson
    written: Written


def may_write_lesson(folder: Path, *, replace: bool) -> None:
    """A SettingsError for a folder that holds something, unless it is a lesson that may be made anew."""
    if holds_nothing(folder):
        return
    where = Place(file=str(folder))
    above = whole_above(folder)
    if above is not None:
        raise SettingsError("jobs.piece_of_a_lesson", where=where, folder=str(above))
    if not replace:
        raise SettingsError("jobs.folder_not_empty", where=where)
    if not (folder / LIST).is_file():
        try:
            read_taught(folder)
        except ReadError as error:
            raise SettingsError("jobs.folder_without_lesson", where=where) from error


def _making(lesson: Taught, folder: Path, progress: Progress) -> FolderMaking:
    """How everything of a lesson is made in a folder."""
    if isinstance(lesson, LessonOfPieces):
        from reedpath.jobs.lessons_of_pieces import making_of_pieces  # which enters more, for such alone

        return making_of_pieces(lesson, folder, progress)
    return making_of_lesson(lesson, folder, progress)


def make_in_folder(
    lesson_of: Callable[[Progress], TaughtLesson],
    out: Path,
    *,
    replace: bool,
    progress: Progress,
    taken_in: Mapping[str, str] | None = None,
) -> MadeLesson[TaughtLesson]:
    """Make everything of a lesson, of one phrase or of several pieces, in a folder.

    A sound that lies there already, and is what would be made, is kept (`kept_sounds`).

    lesson_of : the lesson itself, asked for once it is sure that the folder may be written.
    taken_in : SHA-256 of files edited by hand that the lesson has taken everything from, known once it is made.
    """
    may_write = partial(may_write_lesson, replace=replace)
    with writing_into(out, command="lesson", anew=True, may_write=may_write, taken_in=taken_in) as writing:
        lesson = lesson_of(progress)
        making = _making(lesson, writing.files, progress)
        names = making.names(KeptSounds(out))
        writing.sounds = making.sounds_in
    return MadeLesson(lesson, replace_fields(writing.written, files=names))


def write_lesson(
    lesson: Lesson,
    folder: str | PathLike[str],
    *,
    paper: str | None = None,
    replace: bool = False,
    progress: Progress = silent,
) -> Written:
    """Write a lesson folder: tab, score, pictures, steps, hand-out, play-alongs, page and data; all appear or none.

    paper : of the hand-out, "a4" or "letter"; the lesson's own for None.
    replace : whether the lesson is made anew in a folder that holds one; what was edited by hand is kept.

    Raises `ReedpathError` when something of it cannot be made, or the folder cannot be written.
    """
    paper = paper or lesson.paper
    check_paper(paper)
    on_paper = replace_fields(lesson, paper=paper)
    return make_in_folder(lambda _: on_paper, Path(folder), replace=replace, progress=progress).written


def make_lesson_folder(
    read: ReadPhrase,
    request: RouteRequest,
    wishes: LessonWishes,
    out: Path,
    *,
    replace: bool = False,
    progress: Progress = silent,
) -> MadeLesson[Lesson]:
    """Make the lesson of a phrase in a folder, which appears only when everything is in it.

    Raises `ReedpathError` when the phrase cannot be arranged, a wish cannot be had, or the folder cannot be written.
    """
    wishes.check()

    def made(progress: Progress) -> Lesson:
        progress(ProgressStep("arranging", 0, 1))
        return lesson_from(read, request, wishes)

    return make_in_folder(made, out, replace=replace, progress=progress)


def write_lesson_of_pieces(
    lesson: LessonOfPieces, folder: str | PathLike[str], *, replace: bool = False, progress: Progress = silent
) -> Written:
    """Write the folder of a lesson of several pieces; all of it appears or none.

    replace : whether the lesson is made anew in a folder that holds one; what was edited by hand is kept.
    """
    return make_in_folder(lambda _: lesson, Path(folder), replace=replace, progress=progress).written


def make_lesson_of_pieces_folder(
    pieces: Sequence[AskedPiece],
    wishes: WholeWishes,
    out: Path,
    *,
    replace: bool = False,
    progress: Progress = silent,
) -> MadeLesson[LessonOfPieces]:
    """Make a lesson of several pieces in a folder, which appears only when everything is in it.

    Raises `ReedpathError` when a piece cannot be arranged, a wish cannot be had, or the folder cannot be written;
    naming the source.
    """
    from reedpath.jobs.lessons_of_pieces import check_pieces, lesson_of

    check_pieces(pieces, wishes)
    return make_in_folder(
        lambda progress: lesson_of(pieces, wishes, progress), out, replace=replace, progress=progress
    )
