"""The shelf's jobs: words changed, versions compared, all of it written out and brought in, a student erased."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from msgspec.structs import replace

from reedpath.additions import user_folder
from reedpath.errors import ReedpathError, SettingsError, clean_text
from reedpath.jobs.disk import new_file, opened, with_file, write_file
from reedpath.jobs.folder_plans import refuse_a_file
from reedpath.jobs.progress import Progress, ProgressStep
from reedpath.shelf import KeptFiles, KeptLesson, KeptPhrase, LessonVersion, Shelf, Student

if TYPE_CHECKING:
    from reedpath.shelf import CheckedTexts, Imported, LessonDifference

# the shelf where nobody names another: in the user's folder
FILE = "shelf.sqlite"


def shelf_path(path: Path | None) -> Path:
    """Where the shelf is: at a path, or the user's own."""
    return path or user_folder() / FILE


def shelf_at(path: Path | None, *, make: bool = False) -> Shelf:
    """The shelf at a path, or the user's own; made where there is none and it may be. To be used in a ``with``."""
    return Shelf(shelf_path(path), make=make)


def student_called(shelf: Shelf, name: str) -> Student:
    """The student of a name; SettingsError where there is none, or several."""
    every = shelf.all(Student)
    found = [one for one in every if one.name.casefold() == name.casefold()]
    if not found:
        raise SettingsError("shelf.no_student", name=name, names=[one.name for one in every])
    if len(found) > 1:
        raise SettingsError("shelf.two_students", name=name, count=len(found))
    return found[0]


def lesson_called(shelf: Shelf, title: str) -> KeptLesson:
    """The lesson of a title; SettingsError where there is none."""
    lessons = shelf.all(KeptLesson)
    found = [one for one in lessons if one.title.casefold() == title.casefold()]
    if not found:
        raise SettingsError("shelf.no_lesson", title=title, titles=[one.title for one in lessons])
    return found[0]


def erase_student_called(shelf: Shelf, name: str) -> Student:
    """Erase all that the shelf has of a student, also of one who was taken off it before."""
    from reedpath.shelf import erase_student, students_called

    found = students_called(shelf, name)
    if not found:
        raise SettingsError("shelf.no_student", name=name, names=[one.name for one in shelf.all(Student)])
    if len(found) > 1:
        raise SettingsError("shelf.two_students", name=name, count=len(found))
    erase_student(shelf, found[0])
    return found[0]


def export_to_zip(shelf: Shelf, path: Path, *, student: str | None = None, replace: bool = False) -> dict[str, int]:
    """Write a shelf, or one student of it, into a zip; how many records of each kind."""
    from reedpath.shelf import export_shelf

    refuse_a_file(path, replace=replace)
    who = student_called(shelf, student) if student is not None else None
    with new_file(path) as file:
        return export_shelf(shelf, file, student=who)


def export_apart(
    folder: Path, copy: Path, files: KeptFiles, student: int | None = None, *, progress: Progress
) -> Path:
    """Write a copy of a shelf, or one student of it, into a zip in a job's folder, and take the copy away.

    copy : of the database (`Shelf.copy_to`). files : those of the shelf itself.
    """
    from reedpath.shelf import export_shelf

    path = folder / "shelf.zip"
    try:
        with Shelf(copy, files=files) as shelf, new_file(path) as file:
            export_shelf(shelf, file, student=None if student is None else shelf.get(Student, student))
    finally:
        for one in copy.parent.glob(f"{copy.name}*"):
            one.unlink()
    return path


def check_zip_apart(path: Path, *, progress: Progress) -> CheckedTexts:
    """Check what a zip holds, in a job's process, for `import_zip`."""
    from reedpath.shelf import check_zip

    def tell(done: int, total: int) -> None:
        if done % 100 == 0:
            progress(ProgressStep("reading", done, total, share=done / max(1, total)))

    with _opened_zip(path) as file:
        return check_zip(file, tell)


def import_zip(shelf: Shelf, path: Path, checked: CheckedTexts | None = None) -> Imported:
    """Bring in what a zip holds."""
    from reedpath.shelf import import_shelf  # every reader of the program's own files

    with _opened_zip(path) as file:
        return import_shelf(shelf, file, checked)


@contextmanager
def _opened_zip(path: Path) -> Iterator[BinaryIO]:
    """A zip of a shelf, open; what is wrong in it is told with its name."""
    try:
        with opened(path) as file:
            yield file
    except ReedpathError as error:
        raise with_file(path, error) if error.key.startswith(("shelf.zip", "shelf.no_", "data.")) else error from None


def lesson_differences(
    shelf: Shelf, title: str, *, before: int | None = None, after: int | None = None
) -> tuple[LessonVersion, LessonVersion, tuple[LessonDifference, ...]]:
    """Two versions of a lesson and what differs; the last two where none is named."""
    from reedpath.shelf import differences, two_versions

    old, new = two_versions(shelf, lesson_called(shelf, title).number, before, after)
    return old, new, differences(old, new)


def words_of_phrase(
    shelf: Shelf, number: int, *, title: str | None, tags: Sequence[str] = (), not_tags: Sequence[str] = ()
) -> KeptPhrase:
    """Give a phrase of the shelf another title, more tags, or fewer; what is not said stays."""
    phrase = shelf.get(KeptPhrase, number)
    without = {one.casefold() for one in not_tags}
    every = dict.fromkeys([*phrase.tags, *map(clean_text, tags)])
    changed = replace(
        phrase,
        title=phrase.title if title is None else clean_text(title),
        tags=tuple(one for one in every if one.casefold() not in without),
    )
    with shelf.step("words"):
        if changed != phrase:
            shelf.change(changed)
    return changed


def take_out_phrase(shelf: Shelf, number: int, path: Path, *, replace: bool = False) -> KeptPhrase:
    """Write a phrase of the shelf into a file, which every command reads; it stays on the shelf."""
    phrase = shelf.get(KeptPhrase, number)
    refuse_a_file(path, replace=replace)
    write_file(path, phrase.data.encode())
    return phrase
