"""Sources and lessons put on a shelf, with what their best routes ask for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from reedpath.errors import Place, ReadError, ReedpathError, clean_text
from reedpath.jobs.arranging import RouteRequest, best_route
from reedpath.jobs.disk import naming_file, read_bytes
from reedpath.jobs.lesson_folders import lesson_bytes, read_taught
from reedpath.jobs.many_lessons import lesson_folders
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.jobs.shelf_lessons import files_of_folder, lesson_to_keep, played_route
from reedpath.jobs.sources import SourceChoice, read_source, sources_in, tune_choices
from reedpath.readers import DEFAULT_LIMITS
from reedpath.shelf import LessonToKeep, PhrasePlayed, Shelf, add_lesson_version, add_phrase


class ShelfAdded(Struct, frozen=True):
    """What came of putting something on a shelf.

    phrases, lessons : titles of what is new. there : titles of what was there already.
    unread : what says why something could not be read, for each such.
    """

    phrases: tuple[str, ...]
    lessons: tuple[str, ...]
    there: tuple[str, ...]
    unread: tuple[ReedpathError, ...]


class ReadForShelf(Struct, frozen=True):
    """What was read to be put on a shelf: lessons with their folders, phrases; ``unread`` as in `ShelfAdded`."""

    lessons: tuple[tuple[Path, LessonToKeep], ...]
    phrases: tuple[PhrasePlayed, ...]
    unread: tuple[ReedpathError, ...]


def _read_lesson(folder: Path) -> LessonToKeep:
    """The lesson of a folder, its data to the byte as they are there."""
    kept = lesson_to_keep(read_taught(folder), unnamed=folder.resolve().name)
    pieces = {inside: lesson_bytes(folder / inside) for inside in kept.pieces}
    return replace(kept, data=lesson_bytes(folder), pieces=pieces)


def _read_source(path: Path, request: RouteRequest | None) -> Iterator[PhrasePlayed]:
    """The phrase of a source, or of each of its tunes; with its best route where one is asked for."""
    data = read_bytes(path, most_bytes=DEFAULT_LIMITS.source_bytes)
    with naming_file(path):
        choices = tune_choices(data, name=str(path), choice=SourceChoice())
    name = clean_text(path.name)
    for choice in choices:
        read = read_source(data, name=str(path), choice=choice)
        title = read.phrase.title or clean_text(path.stem)
        played = PhrasePlayed(read.phrase, title, source=name)
        if request is not None:
            try:
                route = best_route(read.phrase, request, read.typed)
                played = replace(played_route(route, title, name), phrase=read.phrase)
            except ReedpathError:  # nothing plays it: it is kept all the same, and its difficulty is not known
                pass
        yield played


def _found(paths: Sequence[Path]) -> tuple[list[Path], list[Path]]:
    """Lesson folders and sources that are named, or lie in folders that are."""
    lessons: list[Path] = []
    sources: list[Path] = []
    for path in paths:
        if not path.exists():
            raise ReadError("jobs.no_file", where=Place(file=str(path)))
        if path.is_dir():
            inside = list(lesson_folders(path))
            lessons += inside
            sources += sources_in(path, inside)
        else:
            sources.append(path)
    return lessons, sources


def read_for_shelf(
    paths: Sequence[Path], *, request: RouteRequest | None = None, progress: Progress = silent
) -> ReadForShelf:
    """Read sources and lessons that are to be put on a shelf; no shelf need be open for it.

    paths : sources, lesson folders, or folders that hold such, at any depth.
    request : how a source is arranged, for its difficulty and techniques; None not to.

    Raises `ReadError` when a path is not there, or nothing can be read.
    """
    folders, sources = _found(paths)
    total = len(folders) + len(sources)
    unread: list[ReedpathError] = []
    lessons: list[tuple[Path, LessonToKeep]] = []
    phrases: list[PhrasePlayed] = []
    for done, path in enumerate([*folders, *sources]):
        progress(ProgressStep("reading", done, total, share=done / max(1, total)))
        try:
            if done < len(folders):
                lessons.append((path, _read_lesson(path)))
            else:
                phrases += _read_source(path, request)
        except ReedpathError as error:
            unread.append(error)
    if not lessons and not phrases:
        if unread:
            raise unread[0]
        raise ReadError("shelf.nothing_to_add", where=Place(file=", ".join(map(str, paths))))
    return ReadForShelf(tuple(lessons), tuple(phrases), tuple(unread))


def put_on_shelf(
    shelf: Shelf, read: ReadForShelf, *, tags: Sequence[str] = (), with_files: bool = False
) -> ShelfAdded:
    """Put what was read on a shelf, as one step.

    with_files : whether the sounds, films and other files of lessons are kept too.
    """
    new_phrases: list[str] = []
    new_lessons: list[str] = []
    there: list[str] = []
    with shelf.step("add"):
        for folder, lesson in read.lessons:
            files = files_of_folder(shelf.files, folder, tuple(lesson.pieces)) if with_files else {}
            _, is_new = add_lesson_version(shelf, lesson, files=files, tags=tags)
            (new_lessons if is_new else there).append(lesson.title)
        for one in read.phrases:
            _, is_new = add_phrase(shelf, one, tags=tags)
            (new_phrases if is_new else there).append(one.title)
    return ShelfAdded(tuple(new_phrases), tuple(new_lessons), tuple(there), read.unread)


def add_to_shelf(
    shelf: Shelf,
    paths: Sequence[Path],
    *,
    tags: Sequence[str] = (),
    request: RouteRequest | None = None,
    with_files: bool = False,
    progress: Progress = silent,
) -> ShelfAdded:
    """Read sources and lessons (`read_for_shelf`) and put them on a shelf (`put_on_shelf`)."""
    read = read_for_shelf(paths, request=request, progress=progress)
    return put_on_shelf(shelf, read, tags=tags, with_files=with_files)
