"""Revising: a lesson made again from its folder, with everything in it that was changed by hand.

What is hers and what the program made is told apart by the list of made files and by the lesson's own data: the tab
and the steps as they were made follow from ``lesson.json``. What she changed goes into the lesson and so into all
that is made of it. A file that has something in it which the lesson cannot hold is kept beside the new one.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from os import PathLike
from pathlib import Path

from msgspec import Struct, field
from msgspec.structs import replace

from reedpath.arrange import Pin, with_moves
from reedpath.errors import Place, ReadError, SettingsError
from reedpath.harp import Move
from reedpath.jobs.disk import naming_file, read_bytes
from reedpath.jobs.folder_plans import made_files
from reedpath.jobs.folders import Written
from reedpath.jobs.lesson_folders import lesson_bytes, read_lesson, whole_above
from reedpath.jobs.lessons import make_in_folder, tab_text
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.jobs.wording_of_lessons import SaidOfLesson, said_of_lesson
from reedpath.lesson import (
    Lesson,
    OwnWords,
    Taught,
    decode_steps,
    format_steps,
    holding_words,
    program_steps,
    read_steps,
    remade_lesson,
)
from reedpath.page import read_tab
from reedpath.wording import load_catalogue

__all__ = [
    "STEPS",
    "TAB",
    "FolderRead",
    "Revised",
    "changed_in_folder",
    "edited_file",
    "made_again",
    "newly_unfit",
    "read_changed_tab",
    "revise_lesson",
    "unfit_words",
    "with_changed_moves",
]

# files of the folder that are read back
TAB, STEPS = "tab.txt", "steps.md"
# bytes of a tab or of steps; those of a lesson of thousands of notes stay under this
MOST_EDITED_BYTES = 8_000_000


class Revised(Struct, frozen=True):
    """A lesson made again.

    lesson : as it is now.
    written : what came of writing its folder.
    moves : the events that were changed in the tab, by index.
    new_words : own words that are new or were changed.
    unfit : own words that no longer fit what is played, and are kept without being said.
    older : files of the folder that other commands made of the lesson as it was.
    again : those that were made again.
    """

    lesson: Lesson
    written: Written
    moves: Mapping[int, Move] = {}
    new_words: tuple[OwnWords, ...] = ()
    unfit: tuple[OwnWords, ...] = ()
    older: tuple[str, ...] = ()
    again: tuple[str, ...] = ()


class FolderRead(Struct, frozen=True):
    """What was read of a folder.

    lesson : with everything in it that was changed by hand.
    whole : SHA-256 of the files that were changed and are in the lesson with everything, by name.
    """

    lesson: Lesson
    moves: Mapping[int, Move]
    whole: Mapping[str, str] = field(default_factory=dict)


def edited_file(folder: Path, name: str, made: str) -> tuple[str, str] | None:
    """Text and SHA-256 of a file that is not as it was made; None for one that is, and for one that is gone."""
    path = folder / name
    if not path.exists():
        return None
    data = read_bytes(path, most_bytes=MOST_EDITED_BYTES)
    digest = hashlib.sha256(data).hexdigest()
    listed = made_files(folder).get(name)
    if data == made.encode() or (listed is not None and listed.sha256 == digest):
        return None
    try:
        return data.decode("utf-8-sig"), digest
    except UnicodeDecodeError as error:
        raise ReadError("jobs.no_utf8", where=Place(file=str(path), byte=error.start)) from error


def unfit_words(lesson: Lesson) -> tuple[OwnWords, ...]:
    """Own words that no longer fit what the lesson plays."""
    languages = {words.language for words in lesson.own_words} & set(lesson.languages)
    holding = {
        words
        for language in languages
        for words in holding_words(lesson, language, program_steps(lesson, load_catalogue(language)))
    }
    return tuple(words for words in lesson.own_words if words not in holding)


class TabRead(Struct, frozen=True):
    """What was changed by hand in the tab of a folder.

    moves : by index of their events.
    whole : SHA-256 of the tab where everything written into it is in these.
    """

    moves: Mapping[int, Move] = {}
    whole: str | None = None


def read_changed_tab(folder: Path, lesson: Lesson) -> TabRead:
    """What was changed in the tab of a lesson's folder; ReadError, naming the file, for what cannot be read."""
    tab = edited_file(folder, TAB, tab_text(lesson))
    if tab is None:
        return TabRead()
    with naming_file(folder / TAB):
        read = read_tab(tab[0], lesson, tab_text(lesson))
    return TabRead(read.moves, tab[1] if read.whole else None)


def with_changed_moves(lesson: Lesson, moves: Mapping[int, Move]) -> Lesson:
    """The lesson with other moves for some events, each pinned."""
    if not moves:
        return lesson
    pins = [pin for pin in lesson.pins if pin.event not in moves]
    remade = remade_lesson(lesson, with_moves(lesson.route, moves))
    return replace(remade, pins=(*pins, *(Pin(index, move) for index, move in moves.items())))


def newly_unfit(lesson: Lesson, before: Lesson) -> set[OwnWords]:
    """Own words that do not fit, and are new or did fit before."""
    unfit = set(unfit_words(lesson))
    return (unfit - set(before.own_words)) | (unfit - set(unfit_words(before)))


def changed_in_folder(folder: Path) -> FolderRead:
    """The lesson of a folder with what was changed in its tab and its steps."""
    lesson, whole = read_lesson(folder), {}
    tab = read_changed_tab(folder, lesson)
    steps = edited_file(folder, STEPS, format_steps(lesson))
    revised = lesson
    if steps is not None:
        made = decode_steps(lesson_bytes(folder))
        with naming_file(folder / STEPS):
            found = read_steps(steps[0], lesson, made)
        revised = replace(revised, title=found.title, own_words=found.own_words)
    revised = with_changed_moves(revised, tab.moves)
    if tab.whole is not None:
        whole[TAB] = tab.whole
    if steps is not None and not newly_unfit(revised, lesson):
        whole[STEPS] = steps[1]
    return FolderRead(revised, tab.moves, whole)


def made_again(folder: Path, lesson: Taught, progress: Progress) -> tuple[str, ...]:
    """Names of the sounds and films of a folder, all made again."""
    from reedpath.jobs.making_again import make_again  # which enters the rooms that film and play

    return make_again(folder, lesson, progress=progress)


def revise_lesson(
    folder: str | PathLike[str], said: SaidOfLesson | None = None, *, all_again: bool = False,
    progress: Progress = silent,
) -> Revised:  # fmt: skip
    """Make a lesson again from its folder, with what was changed by hand in its ``tab.txt`` and its ``steps.md``.

    All else in the folder is treated as when a lesson is made anew: what was edited is kept beside.

    Parameters
    ----------
    said : of the whole lesson, beside what was changed in its folder.
    all_again : whether the sounds and films that other commands made there are made again too.

    Raises
    ------
    ReedpathError
        When there is no lesson, or something in the tab or the steps cannot be read; the folder is then as it was.
    """
    place = Path(folder)
    before = read_lesson(place)
    place = place if place.is_dir() else place.parent
    above = whole_above(place)
    if above is not None:
        raise SettingsError("jobs.piece_of_a_lesson", where=Place(file=str(place)), folder=str(above))
    moves: dict[int, Move] = {}
    whole: dict[str, str] = {}

    def revised(progress: Progress) -> Lesson:
        progress(ProgressStep("arranging", 0, 1))
        read = changed_in_folder(place)
        moves.update(read.moves)
        whole.update(read.whole)
        return said_of_lesson(read.lesson, said) if said else read.lesson

    made = make_in_folder(revised, place, replace=True, progress=progress, taken_in=whole)
    lesson = made.lesson
    unfit = unfit_words(lesson)
    new = tuple(words for words in lesson.own_words if words not in before.own_words and words not in unfit)
    changed = lesson != before
    again = made_again(place, lesson, progress) if all_again else ()
    others = {name for name, one in made_files(place).items() if one.command != "lesson"}
    older = tuple(sorted(others - set(again))) if changed else ()
    return Revised(lesson, made.written, moves, new, unfit, older, again)
