"""Many lessons at once: found in folders, put into an index, their hand-outs joined."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec import Struct

from reedpath.arrange import PlayedOn, RetuningSurvey, load_player, survey_retunings
from reedpath.errors import Place, ReadError, ReedpathError
from reedpath.jobs.disk import naming_file, read_bytes
from reedpath.jobs.folders import UNFINISHED, Written, writing_into
from reedpath.jobs.lesson_folders import read_taught, whole_above
from reedpath.lesson import Taught, phrases_taught
from reedpath.page import IndexedLesson, encode_lesson_index, join_pdfs
from reedpath.wording import load_catalogue

# bytes of a hand-out that is read, at most
MOST_SHEET_BYTES = 1 << 28
PAGE, SHEETS = "index.html", "sheets.pdf"


class FoundLesson(Struct, frozen=True):
    """A lesson, of one phrase or of several pieces, and the folder it was found in."""

    folder: Path
    lesson: Taught


class FoundLessons(Struct, frozen=True):
    """What was found in folders.

    lessons : in order of title, then of folder.
    unread : what says why a lesson could not be read, for each such.
    """

    lessons: tuple[FoundLesson, ...]
    unread: tuple[ReedpathError, ...] = ()


def lesson_folders(root: Path) -> Iterator[Path]:
    """Folders with a lesson, in a folder and all those in it; hidden ones and what a writing put aside left out.

    A piece of a lesson of several is in that lesson's folder, and none of its own.
    """
    for path in sorted(root.rglob("lesson.json")):
        inside = path.relative_to(root).parts
        is_aside = any(part.startswith(".") or part.endswith(UNFINISHED) for part in inside)
        if not is_aside and (path.parent == root or whole_above(path.parent) is None):
            yield path.parent


def find_lessons(roots: Sequence[Path]) -> FoundLessons:
    """The lessons in folders, each folder being that of a lesson or one that holds such, at any depth.

    Raises `ReadError` when a folder is not there, or no lesson is in any.
    """
    found: dict[Path, FoundLesson] = {}
    unread: list[ReedpathError] = []
    for root in roots:
        if not root.exists():
            raise ReadError("jobs.no_folder", where=Place(file=str(root)))
        for folder in lesson_folders(root) if root.is_dir() else (root.parent,):
            try:
                found.setdefault(folder.resolve(), FoundLesson(folder, read_taught(folder)))
            except ReedpathError as error:
                unread.append(error)
    if not found and unread:
        raise unread[0]
    if not found:
        raise ReadError("jobs.no_lessons_there", where=Place(file=", ".join(map(str, roots))))
    ordered = sorted(found.values(), key=lambda one: (one.lesson.title.casefold(), str(one.folder)))
    return FoundLessons(tuple(ordered), tuple(unread))


def _sheets(lessons: Sequence[IndexedLesson], root: Path) -> Iterator[tuple[str, bytes]]:
    for one in lessons:
        if "sheet.pdf" in one.files:
            path = root / one.place / "sheet.pdf"
            yield one.lesson.title or one.place, read_bytes(path, most_bytes=MOST_SHEET_BYTES)


def retunings_for(lessons: Sequence[Taught], *, reeds: int) -> RetuningSurvey:
    """The small retunings that make lessons easiest, all together, each for the player that it was made for.

    reeds : how many reeds are retuned at most, 1 or 2.
    """
    routes = [phrase.route for one in lessons for phrase in phrases_taught(one)]
    played = [PlayedOn(one.phrase, one.harp, load_player(one.level or None)) for one in routes]
    return survey_retunings(played, reeds=reeds)


def make_lesson_index(
    root: Path, *, language: str | None = None, replace: bool = False
) -> tuple[FoundLessons, Written]:
    """Write an index of the lessons in a folder: ``index.html``, and ``sheets.pdf`` with all their hand-outs.

    language : of the page; the first lesson's first for None.
    replace : whether files of these names may be written over.

    Raises `ReedpathError` when no lesson is there, or a hand-out is no PDF.
    """
    found = find_lessons([root])
    words = load_catalogue(language or found.lessons[0].lesson.languages[0])
    lessons = [
        IndexedLesson(
            one.lesson,
            one.folder.relative_to(root).as_posix(),
            frozenset(file.name for file in one.folder.iterdir() if file.is_file()),
        )
        for one in found.lessons
    ]
    with naming_file(root):
        sheets = list(_sheets(lessons, root))
        joined = join_pdfs(sheets, title=words.say("index.all_sheets"), language=words.name) if sheets else None
    with writing_into(root, command="index", anew=True, replace=replace) as writing:
        page = encode_lesson_index(lessons, words, all_sheets=SHEETS if joined is not None else None)
        (writing.files / PAGE).write_bytes(page)
        if joined is not None:
            (writing.files / SHEETS).write_bytes(joined)
    return found, writing.written
