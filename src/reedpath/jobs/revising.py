"""Revising: a lesson made again from its folder, with everything in it that was changed by hand.

A lesson of several pieces has a tab in the folder of each piece, and the steps of all of them in one text. What is
hers and what the program made is told apart by the list of made files and by the lesson's own data: the tab
and the steps as they were made follow from ``lesson.json``. What she changed goes into the lesson and so into all
that is made of it. A file that has something in it which the lesson cannot hold is kept beside the new one.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from os import PathLike
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import Pin, with_moves
from reedpath.errors import Place, ReadError, SettingsError
from reedpath.harp import Move
from reedpath.jobs.disk import naming_file, read_bytes
from reedpath.jobs.folder_plans import made_files
from reedpath.jobs.folders import Written
from reedpath.jobs.lesson_edits import with_words_said
from reedpath.jobs.lesson_folders import lesson_bytes, read_taught, whole_above
from reedpath.jobs.lessons import tab_text
from reedpath.jobs.making_lessons import make_in_folder
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.jobs.wording_of_lessons import SaidOfLesson
from reedpath.lesson import (
    Lesson,
    LessonOfPieces,
    MadeSteps,
    OwnWords,
    Taught,
    WholeWords,
    decode_steps,
    decode_whole_steps,
    format_steps,
    format_steps_of_pieces,
    holding_whole_words,
    holding_words,
    phrases_taught,
    program_steps,
    program_whole_steps,
    read_steps,
    read_steps_of_pieces,
    remade_lesson,
)
from reedpath.page import read_tab
from reedpath.wording import load_catalogue

# files of the folder that are read back
TAB, STEPS = "tab.txt", "steps.md"
# bytes of a tab or of steps; those of a lesson of thousands of notes stay under this
MOST_EDITED_BYTES = 8_000_000


class RevisedPiece(Struct, frozen=True):
    """What became of what was changed by hand in a piece, or in the only phrase of a lesson.

    moves : the events that were changed in its tab, by index.
    new_words : own words that are new or were changed.
    unfit : own words that no longer fit what is played, and are kept without being said.
    """

    moves: Mapping[int, Move] = {}
    new_words: tuple[OwnWords, ...] = ()
    unfit: tuple[OwnWords, ...] = ()


class Revised(Struct, frozen=True):
    """A lesson made again.

    lesson : as it is now.
    written : what came of writing its folder.
    pieces : what became of each piece; one for a lesson of one phrase.
    new_words, unfit : of words about the whole of several pieces, likewise.
    older : files of the folder that other commands made of what was changed, as it was.
    again : those that were made again.
    """

    lesson: Taught
    written: Written
    pieces: tuple[RevisedPiece, ...]
    new_words: tuple[WholeWords, ...] = ()
    unfit: tuple[WholeWords, ...] = ()
    older: tuple[str, ...] = ()
    again: tuple[str, ...] = ()


class FolderRead(Struct, frozen=True):
    """What was read of a folder.

    lesson : with everything in it that was changed by hand.
    moves : those that were changed in the tab of each phrase, by index of their events.
    whole : SHA-256 of the files that were changed and are in the lesson with everything, by name.
    """

    lesson: Taught
    moves: tuple[Mapping[int, Move], ...]
    whole: Mapping[str, str]


def _edited_file(folder: Path, name: str, made: str) -> tuple[str, str] | None:
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


def _unfit_words(lesson: Lesson) -> tuple[OwnWords, ...]:
    """Own words that no longer fit what the lesson plays."""
    languages = {words.language for words in lesson.own_words} & set(lesson.languages)
    holding = {
        words
        for language in languages
        for words in holding_words(lesson, language, program_steps(lesson, load_catalogue(language)))
    }
    return tuple(words for words in lesson.own_words if words not in holding)


def _unfit_of_whole(lesson: Taught) -> tuple[WholeWords, ...]:
    """Words about the whole of several pieces that no longer fit what the program says there."""
    if isinstance(lesson, Lesson):
        return ()
    holding = {
        words
        for language in lesson.languages
        for words in holding_whole_words(lesson, language, program_whole_steps(lesson, load_catalogue(language)))
    }
    return tuple(one for one in lesson.own_words if one.language in lesson.languages and one not in holding)


def _all_still_fit(now: Taught, before: Taught) -> bool:
    """Whether all own words that are new fit, and all that did fit before."""
    pairs = zip(phrases_taught(now), phrases_taught(before), strict=True)
    return set(_unfit_of_whole(now)) <= set(_unfit_of_whole(before)) and all(
        set(_unfit_words(one)) <= set(_unfit_words(was)) for one, was in pairs
    )


class TabRead(Struct, frozen=True):
    """What was changed by hand in the tab of a folder.

    moves : by index of their events.
    whole : SHA-256 of the tab where everything written into it is in these.
    """

    moves: Mapping[int, Move] = {}
    whole: str | None = None


def _read_changed_tab(folder: Path, lesson: Lesson) -> TabRead:
    """What was changed in the tab of a lesson's folder; ReadError, naming the file, for what cannot be read."""
    tab = _edited_file(folder, TAB, tab_text(lesson))
    if tab is None:
        return TabRead()
    with naming_file(folder / TAB):
        read = read_tab(tab[0], lesson, tab_text(lesson))
    return TabRead(read.moves, tab[1] if read.whole else None)


def _with_changed_moves(lesson: Lesson, moves: Mapping[int, Move]) -> Lesson:
    """The lesson with other moves for some events, each pinned."""
    if not moves:
        return lesson
    pins = [pin for pin in lesson.pins if pin.event not in moves]
    remade = remade_lesson(lesson, with_moves(lesson.route, moves))
    return replace(remade, pins=(*pins, *(Pin(index, move) for index, move in moves.items())))


def _steps_text(lesson: Taught) -> str:
    return format_steps(lesson) if isinstance(lesson, Lesson) else format_steps_of_pieces(lesson)


def _with_changed_steps(lesson: Taught, text: str, folder: Path) -> Taught:
    """The lesson with what was changed in its steps; a changed sentence belongs to the piece that it stands under."""
    if isinstance(lesson, Lesson):
        made = decode_steps(lesson_bytes(folder))
        with naming_file(folder / STEPS):
            found = read_steps(text, lesson, made)
        return replace(lesson, title=found.title, own_words=found.own_words)
    of_pieces = [decode_steps(lesson_bytes(folder / piece.folder)) for piece in lesson.pieces]
    made_of_pieces = MadeSteps(decode_whole_steps(lesson_bytes(folder)), of_pieces)
    with naming_file(folder / STEPS):
        return read_steps_of_pieces(text, lesson, made_of_pieces)


def _with_phrases(lesson: Taught, phrases: Sequence[Lesson]) -> Taught:
    """The lesson with other lessons for its phrases."""
    if isinstance(lesson, Lesson):
        return phrases[0]
    pieces = (replace(piece, lesson=one) for piece, one in zip(lesson.pieces, phrases, strict=True))
    return replace(lesson, pieces=tuple(pieces))


def changed_in_folder(folder: Path) -> FolderRead:
    """The lesson of a folder with what was changed by hand; ReedpathError, with the file, for what can't be read."""
    before = read_taught(folder)
    insides = [""] if isinstance(before, Lesson) else [piece.folder for piece in before.pieces]
    tabs = {
        inside: _read_changed_tab(folder / inside, lesson)
        for inside, lesson in zip(insides, phrases_taught(before), strict=True)
    }
    steps = _edited_file(folder, STEPS, _steps_text(before))
    revised = before if steps is None else _with_changed_steps(before, steps[0], folder)
    phrases = zip(phrases_taught(revised), tabs.values(), strict=True)
    revised = _with_phrases(revised, [_with_changed_moves(lesson, tab.moves) for lesson, tab in phrases])
    whole = {f"{inside}/{TAB}" if inside else TAB: tab.whole for inside, tab in tabs.items() if tab.whole is not None}
    if steps is not None and _all_still_fit(revised, before):
        whole[STEPS] = steps[1]
    return FolderRead(revised, tuple(tab.moves for tab in tabs.values()), whole)


def _others_older(folder: Path, lesson: Taught, before: Taught) -> Iterator[str]:
    """Files that other commands made of what was changed."""
    if lesson == before:
        return
    changed = [""]
    if isinstance(lesson, LessonOfPieces) and isinstance(before, LessonOfPieces):
        pairs = zip(lesson.pieces, before.pieces, strict=True)
        changed += [now.folder for now, was in pairs if now != was]
    for inside in changed:
        for name, made in sorted(made_files(folder / inside).items()):
            if made.command != "lesson":
                yield f"{inside}/{name}" if inside else name


def revise_lesson(
    folder: str | PathLike[str], said: SaidOfLesson | None = None, *, all_again: bool = False,
    progress: Progress = silent,
) -> Revised:  # fmt: skip
    """Make a lesson again from its folder, with what was changed by hand in its tabs and its steps.

    That is the ``tab.txt`` of a lesson or of each of its pieces, and its ``steps.md``. All else in the folder is
    treated as when a lesson is made anew: what was edited is kept beside.

    said : of the whole lesson, beside what was changed in its folder.
    all_again : whether the sounds and films that other commands made there are made again too.

    Raises `ReedpathError` when there is no lesson, or something in a tab or the steps cannot be read; the folder is
    then as it was.
    """
    place = Path(folder)
    before = read_taught(place)
    place = place if place.is_dir() else place.parent
    above = whole_above(place)
    if above is not None:
        raise SettingsError("jobs.piece_of_a_lesson", where=Place(file=str(place)), folder=str(above))
    moves: list[Mapping[int, Move]] = []
    whole: dict[str, str] = {}

    def revised(progress: Progress) -> Taught:
        progress(ProgressStep("arranging", 0, 1))
        read = changed_in_folder(place)
        moves.extend(read.moves)
        whole.update(read.whole)
        return with_words_said(read.lesson, said) if said else read.lesson

    made = make_in_folder(revised, place, replace=True, progress=progress, taken_in=whole)
    lesson = made.lesson
    pieces = []
    for changed, now, was in zip(moves, phrases_taught(lesson), phrases_taught(before), strict=True):
        unfit = _unfit_words(now)
        new = tuple(words for words in now.own_words if words not in was.own_words and words not in unfit)
        pieces.append(RevisedPiece(changed, new, unfit))
    new_of_whole: tuple[WholeWords, ...] = ()
    unfit_of_whole = _unfit_of_whole(lesson)
    if isinstance(lesson, LessonOfPieces) and isinstance(before, LessonOfPieces):
        kept = {*before.own_words, *unfit_of_whole}
        new_of_whole = tuple(words for words in lesson.own_words if words not in kept)
    again: tuple[str, ...] = ()
    if all_again:
        from reedpath.jobs.making_again import make_again  # which enters the rooms that film and play

        again = make_again(place, lesson, progress=progress)
    older = tuple(name for name in _others_older(place, lesson, before) if name not in again)
    return Revised(lesson, made.written, tuple(pieces), new_of_whole, unfit_of_whole, older, again)
