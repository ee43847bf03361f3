"""The shelf's jobs: sources, lessons, students and takes put on it, and all of it written out and brought in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from reedpath.additions import user_folder
from reedpath.arrange import Route, load_player
from reedpath.errors import Place, ReadError, ReedpathError, SettingsError, clean_text, system_words
from reedpath.jobs.asking import RouteRequest, best_route
from reedpath.jobs.collections import lesson_folders
from reedpath.jobs.disk import new_file, read_bytes, with_file, write_file
from reedpath.jobs.instruments import HarpChoice, chosen_harps
from reedpath.jobs.lesson_folders import lesson_bytes, read_taught
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.jobs.sources import SourceChoice, read_source
from reedpath.lesson import PlayingTechnique, is_lesson_of_pieces, phrases_taught, piece_folders, techniques_of
from reedpath.readers import DEFAULT_LIMITS, find_reader, reader_names, reader_of
from reedpath.shelf import (
    Imported,
    KeptAnswer,
    KeptLesson,
    KeptPhrase,
    KeptTake,
    LessonDifference,
    LessonVersion,
    OwnedHarp,
    PhrasePlayed,
    Shelf,
    Student,
    add_lesson_version,
    add_phrase,
    differences,
    erase_student,
    export_shelf,
    import_shelf,
    now_text,
    students_called,
)

__all__ = [
    "ShelfAdded",
    "StudentSaid",
    "add_take",
    "add_to_shelf",
    "erase_student_called",
    "export_to_zip",
    "import_zip",
    "lesson_differences",
    "put_student",
    "shelf_at",
    "student_called",
    "take_out_phrase",
    "versions_of",
    "words_of_phrase",
]

# the shelf where nobody names another: in the user's folder
FILE = "shelf.sqlite"
# bytes of an answer's file; one to a take of an hour has a tenth
MOST_ANSWER_BYTES = 64_000_000


def shelf_at(path: Path | None, *, make: bool = False) -> Shelf:
    """The shelf at a path, or the user's own; made where there is none and it may be. To be used in a ``with``."""
    return Shelf(path or user_folder() / FILE, make=make)


class ShelfAdded(Struct, frozen=True):
    """What came of putting something on a shelf.

    phrases, lessons : titles of what is new. there : titles of what was there already.
    unread : what says why something could not be read, for each such.
    """

    phrases: tuple[str, ...]
    lessons: tuple[str, ...]
    there: tuple[str, ...]
    unread: tuple[ReedpathError, ...]


class _Lesson(Struct, frozen=True):
    """A lesson folder, read."""

    folder: Path
    title: str
    data: bytes
    pieces: dict[str, bytes]
    taught: tuple[PhrasePlayed, ...]


def _played(route: Route, title: str, source: str) -> PhrasePlayed:
    notes = [one for one in route.events if one.choice.move is not None]
    difficulty = sum(one.effort.total for one in notes) / len(notes) if notes else None
    techniques = tuple(one.technique.value for one in techniques_of(route))
    return PhrasePlayed(route.phrase, title, difficulty, techniques, source)


def _read_lesson(folder: Path) -> _Lesson:
    taught = read_taught(folder)
    data = lesson_bytes(folder)
    pieces = {}
    if is_lesson_of_pieces(data):
        pieces = {inside: lesson_bytes(folder / inside) for inside in piece_folders(data)}
    title = taught.title or clean_text(folder.resolve().name)
    played = [_played(one.route, one.title or title, title) for one in phrases_taught(taught)]
    return _Lesson(folder, title, data, pieces, tuple(played))


def _read_source(path: Path, request: RouteRequest | None) -> Iterator[PhrasePlayed]:
    """The phrase of a source, or of each of its tunes; with its best route where one is asked for."""
    data = read_bytes(path, most_bytes=DEFAULT_LIMITS.source_bytes)
    choices = [SourceChoice()]
    try:
        if data and find_reader(data, name=str(path)).name == "abc":
            from reedpath.readers.abc import tune_numbers

            numbers = tune_numbers(data)
            choices = [SourceChoice(options={"tune": one}) for one in numbers] if len(numbers) > 1 else choices
    except ReedpathError as error:
        raise with_file(path, error) from None
    name = clean_text(path.name)
    for choice in choices:
        read = read_source(data, name=str(path), choice=choice)
        title = read.phrase.title or clean_text(path.stem)
        played = PhrasePlayed(read.phrase, title, source=name)
        if request is not None:
            try:
                route = best_route(read.phrase, request, read.typed)
                played = replace(_played(route, title, name), phrase=read.phrase)
            except ReedpathError:  # nothing plays it: it is kept all the same, and its difficulty is not known
                pass
        yield played


def _sources_in(folder: Path, lessons: Sequence[Path]) -> Iterator[Path]:
    """Files in a folder that a reader may know by their endings; those in lesson folders and hidden ones left out."""
    endings = {ending for name in reader_names() for ending in reader_of(name).suffixes}
    for path in sorted(folder.rglob("*")):
        is_hidden = any(part.startswith(".") for part in path.relative_to(folder).parts)
        is_in_lesson = any(path.is_relative_to(one) for one in lessons)
        if path.suffix.lower() in endings and path.is_file() and not is_hidden and not is_in_lesson:
            yield path


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
            sources += _sources_in(path, inside)
        else:
            sources.append(path)
    return lessons, sources


def _kept_files(shelf: Shelf, lesson: _Lesson) -> dict[str, str]:
    """Copies of all else that lies in a lesson's folder, by name there."""
    kept = {}
    for inside in ("", *lesson.pieces):
        for path in sorted((lesson.folder / inside).iterdir()):
            if path.is_file() and not path.name.startswith(".") and path.name != "lesson.json":
                name = f"{inside}/{path.name}" if inside else path.name
                with path.open("rb") as file:
                    kept[name] = shelf.files.keep(file, name=path.name)
    return kept


def add_to_shelf(
    shelf: Shelf,
    paths: Sequence[Path],
    *,
    tags: Sequence[str] = (),
    request: RouteRequest | None = None,
    with_files: bool = False,
    progress: Progress = silent,
) -> ShelfAdded:
    """Put sources and lessons on a shelf, as one step.

    Parameters
    ----------
    paths : sources, lesson folders, or folders that hold such, at any depth.
    request : how a source is arranged, for its difficulty and techniques; None not to.
    with_files : whether the sounds, films and other files of lessons are kept too.

    Raises
    ------
    ReadError
        When a path is not there, or nothing can be read.
    """
    folders, sources = _found(paths)
    total = len(folders) + len(sources)
    unread: list[ReedpathError] = []
    lessons: list[_Lesson] = []
    phrases: list[PhrasePlayed] = []
    for done, path in enumerate([*folders, *sources]):
        progress(ProgressStep("reading", done, total, share=done / max(1, total)))
        try:
            if done < len(folders):
                lessons.append(_read_lesson(path))
            else:
                phrases += _read_source(path, request)
        except ReedpathError as error:
            unread.append(error)
    if not lessons and not phrases:
        if unread:
            raise unread[0]
        raise ReadError("shelf.nothing_to_add", where=Place(file=", ".join(map(str, paths))))
    new_phrases: list[str] = []
    new_lessons: list[str] = []
    there: list[str] = []
    with shelf.step("add"):
        for lesson in lessons:
            files = _kept_files(shelf, lesson) if with_files else {}
            _, is_new = add_lesson_version(
                shelf, lesson.title, lesson.data, pieces=lesson.pieces, taught=lesson.taught, files=files, tags=tags
            )
            (new_lessons if is_new else there).append(lesson.title)
        for one in phrases:
            _, is_new = add_phrase(shelf, one, tags=tags)
            (new_phrases if is_new else there).append(one.title)
    return ShelfAdded(tuple(new_phrases), tuple(new_lessons), tuple(there), tuple(unread))


class StudentSaid(Struct, frozen=True):
    """What is said of a student; None for what is not said.

    harps : keys. techniques : names of techniques that the student has.
    """

    level: str | None = None
    harps: tuple[str, ...] | None = None
    techniques: tuple[str, ...] | None = None
    note: str | None = None


def _checked(said: StudentSaid) -> None:
    """A SettingsError for a level, a harp or a technique that there is not."""
    load_player(said.level)
    chosen_harps(HarpChoice(), owned=said.harps or ())
    known = [one.value for one in PlayingTechnique]
    for name in said.techniques or ():
        if name not in known:
            raise SettingsError("jobs.unknown_technique", name=name, names=known)


def student_called(shelf: Shelf, name: str) -> Student:
    """The student of a name; SettingsError where there is none, or several."""
    every = shelf.all(Student)
    found = [one for one in every if one.name.casefold() == name.casefold()]
    if not found:
        raise SettingsError("shelf.no_student", name=name, names=[one.name for one in every])
    if len(found) > 1:
        raise SettingsError("shelf.two_students", name=name, count=len(found))
    return found[0]


def put_student(shelf: Shelf, name: str, said: StudentSaid) -> tuple[Student, tuple[OwnedHarp, ...]]:
    """Put a student on the shelf, or say more of one who is there; and his or her harps."""
    _checked(said)
    name = clean_text(name)
    with shelf.step("student"):
        found = [one for one in shelf.all(Student) if one.name.casefold() == name.casefold()]
        student = student_called(shelf, name) if found else shelf.add(Student(name=name, added=now_text()))
        grown = replace(
            student,
            level=student.level if said.level is None else said.level,
            techniques=student.techniques if said.techniques is None else said.techniques,
            note=student.note if said.note is None else clean_text(said.note),
        )
        if grown != student:
            shelf.change(grown)
        if said.harps is not None:
            for harp in shelf.all(OwnedHarp, student=student.number):
                shelf.remove(harp)
            for key in said.harps:
                shelf.add(OwnedHarp(student=student.number, key=key))
        return grown, tuple(shelf.all(OwnedHarp, student=student.number))


def versions_of(shelf: Shelf, title: str) -> list[LessonVersion]:
    """The versions of a lesson, by its title; SettingsError where there is none."""
    lessons = shelf.all(KeptLesson)
    found = [one for one in lessons if one.title.casefold() == title.casefold()]
    if not found:
        raise SettingsError("shelf.no_lesson", title=title, titles=[one.title for one in lessons])
    return shelf.all(LessonVersion, lesson=found[0].number)


def add_take(
    shelf: Shelf, recording: Path, *, student: str, lesson: str | None, answer: Path | None, note: str = ""
) -> KeptTake:
    """Put a student's take on the shelf, with its answer where there is one.

    lesson : title of the lesson that was played; its last version is meant.
    answer : an ``answer.json``, or the folder that it is in.
    """
    who = student_called(shelf, student)
    version = versions_of(shelf, lesson)[-1].number if lesson is not None else None
    data = None
    if answer is not None:
        path = answer / "answer.json" if answer.is_dir() else answer
        data = read_bytes(path, most_bytes=MOST_ANSWER_BYTES)
        try:
            from reedpath.shelf.importing import plain_of_answer

            plain_of_answer(data)
        except ReedpathError as error:
            raise with_file(path, error) from None
    try:
        with recording.open("rb") as file:
            sound = shelf.files.keep(file, name=recording.name)
    except IsADirectoryError as error:
        raise ReadError("jobs.is_folder", where=Place(file=str(recording))) from error
    except FileNotFoundError as error:
        raise ReadError("jobs.no_file", where=Place(file=str(recording))) from error
    except OSError as error:
        raise ReadError("jobs.file_unreadable", where=Place(file=str(recording)), why=system_words(error)) from error
    with shelf.step("take"):
        name = clean_text(recording.name)
        made = KeptTake(
            student=who.number, version=version, name=name, sound=sound, note=clean_text(note), added=now_text()
        )
        take = shelf.add(made)
        if data is not None:
            shelf.add(KeptAnswer(take=take.number, data=data.decode(), added=now_text()))
    return take


def erase_student_called(shelf: Shelf, name: str) -> Student:
    """Erase all that the shelf has of a student, also of one who was taken off it before."""
    found = students_called(shelf, name)
    if not found:
        raise SettingsError("shelf.no_student", name=name, names=[one.name for one in shelf.all(Student)])
    if len(found) > 1:
        raise SettingsError("shelf.two_students", name=name, count=len(found))
    erase_student(shelf, found[0])
    return found[0]


def export_to_zip(shelf: Shelf, path: Path, *, student: str | None = None, replace: bool = False) -> dict[str, int]:
    """Write a shelf, or one student of it, into a zip; how many records of each kind."""
    if path.exists() and not replace:
        raise SettingsError("jobs.file_there", where=Place(file=str(path)))
    who = student_called(shelf, student) if student is not None else None
    with new_file(path) as file:
        return export_shelf(shelf, file, student=who)


def import_zip(shelf: Shelf, path: Path) -> Imported:
    """Bring in what a zip holds."""
    try:
        with path.open("rb") as file:
            return import_shelf(shelf, file)
    except FileNotFoundError as error:
        raise ReadError("jobs.no_file", where=Place(file=str(path))) from error
    except IsADirectoryError as error:
        raise ReadError("jobs.is_folder", where=Place(file=str(path))) from error
    except ReedpathError as error:
        raise with_file(path, error) if error.key.startswith(("shelf.zip", "shelf.no_", "data.")) else error from None


def lesson_differences(
    shelf: Shelf, title: str, *, before: int | None = None, after: int | None = None
) -> tuple[LessonVersion, LessonVersion, tuple[LessonDifference, ...]]:
    """Two versions of a lesson and what differs; the last two where none is named."""
    versions = versions_of(shelf, title)
    by_number = {one.version: one for one in versions}
    chosen = []
    for asked, place in ((before, -2), (after, -1)):
        number = versions[max(place, -len(versions))].version if asked is None else asked
        if number not in by_number:
            raise SettingsError("shelf.no_version", version=number, last=versions[-1].version)
        chosen.append(by_number[number])
    return chosen[0], chosen[1], differences(*chosen)


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
    if path.exists() and not replace:
        raise SettingsError("jobs.file_there", where=Place(file=str(path)))
    write_file(path, phrase.data.encode())
    return phrase
