"""Lessons of the shelf: opened for editing, kept anew as a version, written out as a folder, made whole.

A version is a lesson as it was at a time. What a person changes gives the next one; what was made of the version
before (sheet, page, sounds, films) is not carried on, for it no longer says the same. Her own files are: those that
no list of made files has as they are.
"""

from __future__ import annotations

import os
import secrets
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.data import read_json
from reedpath.errors import Place, SettingsError, clean_text
from reedpath.jobs.folder_plans import LIST, MadeFiles, parted, refused
from reedpath.jobs.folders import holds_nothing
from reedpath.jobs.lesson_folders import DATA, lesson_of_version, read_taught
from reedpath.jobs.progress import Progress, silent
from reedpath.jobs.revising import STEPS, TAB, changed_in_folder, revise_lesson
from reedpath.jobs.sounds_of_versions import lay_earlier_sounds
from reedpath.lesson import (
    Lesson,
    Taught,
    encode_lesson,
    encode_lesson_of_pieces,
    phrases_taught,
    techniques_of,
)
from reedpath.shelf import (
    KeptFiles,
    KeptLesson,
    LessonToKeep,
    LessonVersion,
    PhrasePlayed,
    Shelf,
    add_lesson_version,
    last_version,
)


class OpenedLesson(Struct, frozen=True):
    """A version opened for editing.

    number, version : of the lesson, and of its version.
    lesson : with what was changed by hand in the tab and the steps of its folder.
    files : all kept files that it had then.
    own_files : those that are hers and go with the next version, by their names in the folder.
    """

    number: int
    version: int
    lesson: Taught
    files: Mapping[str, str] = {}
    own_files: Mapping[str, str] = {}


def played_route(route: Route, title: str, source: str) -> PhrasePlayed:
    """The phrase of a route, with how hard it is there and what it asks for."""
    notes = [one for one in route.events if one.choice.move is not None]
    difficulty = sum(one.effort.total for one in notes) / len(notes) if notes else None
    techniques = tuple(one.technique.value for one in techniques_of(route))
    return PhrasePlayed(route.phrase, title, difficulty, techniques, source)


def lesson_to_keep(taught: Taught, *, unnamed: str = "") -> LessonToKeep:
    """A lesson as it is put on the shelf; ``unnamed`` is the title of one that has none."""
    title = taught.title or clean_text(unnamed)
    pieces = {}
    if isinstance(taught, Lesson):
        data = encode_lesson(taught)
    else:
        data = encode_lesson_of_pieces(taught)
        pieces = {piece.folder: encode_lesson(piece.lesson) for piece in taught.pieces}
    played = tuple(played_route(one.route, one.title or title, title) for one in phrases_taught(taught))
    return LessonToKeep(title, data, pieces, played)


# ------------------------------------------------------------------------------------------------- files of a version


def _listed(files: KeptFiles, version: LessonVersion) -> dict[str, str]:
    """SHA-256 of what the lists of made files say was made, by name."""
    found: dict[str, str] = {}
    for name, kept in version.files.items():
        inside, last = parted(name)
        if last == LIST:
            listed = read_json(files.path(kept).read_bytes(), MadeFiles, file=name)
            found |= {f"{inside}/{one}" if inside else one: made.sha256 for one, made in listed.files.items()}
    return found


def _own_files(files: KeptFiles, version: LessonVersion) -> dict[str, str]:
    """Kept files that are a person's own."""
    listed = _listed(files, version)
    return {
        name: kept
        for name, kept in version.files.items()
        if parted(name)[1] != LIST and not kept.startswith(listed.get(name, "-"))
    }


def open_version(files: KeptFiles, version: LessonVersion) -> OpenedLesson:
    """A version opened for editing; what was changed by hand in its tab and its steps is in the lesson.

    Raises `ReedpathError` when something in a changed tab or changed steps cannot be read.
    """
    own = _own_files(files, version)
    lesson = lesson_of_version(version)
    if any(parted(name)[1] in (TAB, STEPS) for name in own):
        with tempfile.TemporaryDirectory() as aside:
            folder = Path(aside) / "lesson"
            write_kept_lesson(files, version, folder)
            changed = changed_in_folder(folder)
        lesson = changed.lesson
        own = {name: kept for name, kept in own.items() if not kept.startswith(changed.whole.get(name, "-"))}
        own = {_kept_aside(name): kept for name, kept in own.items()}
    return OpenedLesson(version.lesson, version.version, lesson, version.files, own)


def _kept_aside(name: str) -> str:
    """The name under which a tab or steps are kept of which the lesson could not take everything."""
    inside, last = parted(name)
    if last not in (TAB, STEPS):
        return name
    stem, _, ending = last.rpartition(".")
    return f"{inside}/{stem}.kept.{ending}" if inside else f"{stem}.kept.{ending}"


def _may_be_written(out: Path) -> None:
    if os.path.lexists(out) and not out.is_dir():
        raise refused("jobs.file_in_the_way", out)
    if out.is_dir() and not holds_nothing(out):
        raise SettingsError("jobs.folder_not_empty", where=Place(file=str(out)))


def write_kept_lesson(files: KeptFiles, version: LessonVersion, out: Path) -> tuple[str, ...]:
    """Write a version out as a lesson folder, which every command takes; all of it appears or none. Its files.

    Raises `SettingsError` when something is there already, or it cannot be written.
    """
    _may_be_written(out)
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        aside = out.parent / f".{out.name}.{secrets.token_hex(4)}"
        aside.mkdir()
    except OSError as error:
        raise refused("jobs.folder_unwritable", out, why=str(error.strerror)) from error
    try:
        names = tuple(_write(files, version, aside))
        if out.is_dir():
            out.rmdir()
        aside.rename(out)
    except OSError as error:
        raise refused("jobs.folder_unwritable", out, why=str(error.strerror)) from error
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return names


def _write(files: KeptFiles, version: LessonVersion, folder: Path) -> Iterator[str]:
    texts = {DATA: version.data} | {f"{inside}/{DATA}": text for inside, text in version.pieces.items()}
    for name, text in texts.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(text.encode())
        yield name
    for name, kept in version.files.items():
        (folder / name).parent.mkdir(exist_ok=True)
        shutil.copyfile(files.path(kept), folder / name)
        yield name


def files_of_folder(files: KeptFiles, folder: Path, inside: tuple[str, ...] = ()) -> dict[str, str]:
    """Bring in copies of all that lies in a lesson's folder and those inside it beside its data; by name there."""
    kept = {}
    for one in ("", *inside):
        for path in sorted((folder / one).iterdir()):
            if path.is_file() and not path.name.startswith(".") and path.name != DATA:
                name = f"{one}/{path.name}" if one else path.name
                with path.open("rb") as file:
                    kept[name] = files.keep(file, name=path.name)
    return kept


# ------------------------------------------------------------------------------------------------------- kept anew


def _check_title(shelf: Shelf, number: int, title: str) -> None:
    for one in shelf.all(KeptLesson):
        if one.number != number and one.title.casefold() == title.casefold():
            raise SettingsError("shelf.lesson_title_there", title=title)


def keep_version(shelf: Shelf, opened: OpenedLesson, kept: LessonToKeep) -> tuple[LessonVersion, bool]:
    """Keep an opened lesson as it is now; its version, and whether that is a new one, which it is where it differs.

    kept : the lesson as it is now.

    Raises `SettingsError` when another version, or a file, came in between, which is then to be opened first; when
    another lesson has its title.
    """
    last = last_version(shelf, opened.number)
    if (last.version, last.files) != (opened.version, opened.files):
        raise SettingsError("shelf.version_between", version=last.version, opened=opened.version)
    pieces = {folder: data.decode() for folder, data in kept.pieces.items()}
    if (last.data, last.pieces) == (kept.data.decode(), pieces):
        return last, False
    _check_title(shelf, opened.number, kept.title)
    with shelf.step("lesson"):
        lesson = shelf.get(KeptLesson, opened.number)
        if lesson.title != kept.title:
            shelf.change(replace(lesson, title=kept.title))
        return add_lesson_version(shelf, kept, files=opened.own_files, lesson=opened.number)


def make_kept_lesson(
    files: KeptFiles, version: LessonVersion, *, earlier: LessonVersion | None = None, progress: Progress = silent
) -> LessonVersion:
    """Make everything of a version; the version with all files of its folder, to be put in its place on the shelf.

    What is hers stays, as when a folder is revised. Nothing but the files beside the database is touched.

    earlier : a version of which everything is made; what sounds as it did there is not made again.

    Raises `ReedpathError` when something of it cannot be made.
    """
    with tempfile.TemporaryDirectory(prefix="lesson-") as aside:
        folder = Path(aside) / "lesson"
        write_kept_lesson(files, version, folder)
        if earlier is not None:
            lay_earlier_sounds(files, earlier, folder)
        revise_lesson(folder, progress=progress)
        made = lesson_to_keep(read_taught(folder), unnamed="")
        return replace(
            version,
            data=made.data.decode(),
            pieces={inside: data.decode() for inside, data in made.pieces.items()},
            files=files_of_folder(files, folder, tuple(made.pieces)),
        )


def keep_made_version(shelf: Shelf, made: LessonVersion) -> LessonVersion:
    """Keep what was made of a version (`make_kept_lesson`) with it; as a new one where its folder said more."""
    version = shelf.get(LessonVersion, made.number)
    with shelf.step("made"):
        if (version.data, version.pieces) == (made.data, made.pieces):
            changed = replace(version, files={**version.files, **made.files})
            if changed != version:
                shelf.change(changed)
            return changed
        last = last_version(shelf, made.lesson)
        return shelf.add(replace(made, number=0, uid="", version=last.version + 1))
