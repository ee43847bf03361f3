"""Revising a lesson of several pieces: the tab of each piece's folder, and the steps of the whole."""

from __future__ import annotations

from collections.abc import Mapping
from os import PathLike
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from reedpath.errors import ReadError, SettingsError
from reedpath.harp import Move
from reedpath.jobs.disk import naming_file
from reedpath.jobs.folder_plans import made_files
from reedpath.jobs.folders import Written
from reedpath.jobs.lesson_folders import lesson_bytes, read_taught
from reedpath.jobs.lessons_of_pieces import make_pieces_in_folder
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.jobs.revising import (
    STEPS,
    TAB,
    edited_file,
    made_again,
    newly_unfit,
    read_changed_tab,
    unfit_words,
    with_changed_moves,
)
from reedpath.jobs.wording_of_lessons import SaidOfLesson, in_languages
from reedpath.lesson import (
    LessonOfPieces,
    MadeSteps,
    OwnWords,
    WholeWords,
    decode_steps,
    decode_whole_steps,
    format_steps_of_pieces,
    holding_whole_words,
    program_whole_steps,
    read_steps_of_pieces,
)
from reedpath.wording import load_catalogue

__all__ = [
    "PiecesRead",
    "RevisedPiece",
    "RevisedPieces",
    "changed_pieces_in_folder",
    "revise_pieces",
    "said_of_pieces",
]


class RevisedPiece(Struct, frozen=True):
    """What became of what was changed by hand in one piece.

    moves : the events that were changed in its tab, by index.
    new_words : own words that are new or were changed.
    unfit : own words that no longer fit what is played, and are kept without being said.
    """

    moves: Mapping[int, Move] = {}
    new_words: tuple[OwnWords, ...] = ()
    unfit: tuple[OwnWords, ...] = ()


class RevisedPieces(Struct, frozen=True):
    """A lesson of several pieces made again.

    lesson : as it is now.
    written : what came of writing its folder.
    pieces : what became of what was changed in each piece.
    new_words, unfit : of words about the whole, likewise.
    older : files of the folder that other commands made of what was changed, as it was.
    again : those that were made again.
    """

    lesson: LessonOfPieces
    written: Written
    pieces: tuple[RevisedPiece, ...]
    new_words: tuple[WholeWords, ...] = ()
    unfit: tuple[WholeWords, ...] = ()
    older: tuple[str, ...] = ()
    again: tuple[str, ...] = ()


def _lesson_in(folder: Path) -> LessonOfPieces:
    lesson = read_taught(folder)
    if not isinstance(lesson, LessonOfPieces):
        raise ReadError("jobs.no_lesson_there")
    return lesson


def _made_steps(folder: Path, lesson: LessonOfPieces) -> MadeSteps:
    """The steps of the folder as they were made."""
    of_pieces = [decode_steps(lesson_bytes(folder / piece.folder)) for piece in lesson.pieces]
    return MadeSteps(decode_whole_steps(lesson_bytes(folder)), of_pieces)


def _unfit_of_whole(lesson: LessonOfPieces) -> tuple[WholeWords, ...]:
    """Words about the whole that no longer fit what the program says there."""
    holding = {
        words
        for language in lesson.languages
        for words in holding_whole_words(lesson, language, program_whole_steps(lesson, load_catalogue(language)))
    }
    return tuple(one for one in lesson.own_words if one.language in lesson.languages and one not in holding)


def said_of_pieces(lesson: LessonOfPieces, said: SaidOfLesson) -> LessonOfPieces:
    """The lesson with what is said of the whole; an empty note takes one away."""
    if said.part_names:
        raise SettingsError("jobs.part_names_of_pieces")
    fields = {name: text for name in ("title", "author", "date") if (text := getattr(said, name)) is not None}
    notes = {**lesson.notes, **in_languages(said.notes, lesson.languages)}
    return replace(lesson, notes={language: note for language, note in notes.items() if note}, **fields)


class _Reading:
    """A folder while it is read: the lesson with what was changed, and what of the files is in it with everything."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.moves: list[Mapping[int, Move]] = []
        self.whole: dict[str, str] = {}

    def lesson(self) -> LessonOfPieces:
        """The lesson with everything in it that was changed by hand."""
        before = _lesson_in(self.folder)
        steps = edited_file(self.folder, STEPS, format_steps_of_pieces(before))
        revised = before
        if steps is not None:
            with naming_file(self.folder / STEPS):
                revised = read_steps_of_pieces(steps[0], before, _made_steps(self.folder, before))
        pieces = []
        for was, now in zip(before.pieces, revised.pieces, strict=True):
            tab = read_changed_tab(self.folder / was.folder, was.lesson)
            self.moves.append(tab.moves)
            if tab.whole is not None:
                self.whole[f"{was.folder}/{TAB}"] = tab.whole
            pieces.append(replace(now, lesson=with_changed_moves(now.lesson, tab.moves)))
        revised = replace(revised, pieces=tuple(pieces))
        if steps is not None and not self._newly_unfit(revised, before):
            self.whole[STEPS] = steps[1]
        return revised

    def _newly_unfit(self, revised: LessonOfPieces, before: LessonOfPieces) -> bool:
        """Whether words do not fit that are new or did fit before."""
        of_whole = set(_unfit_of_whole(revised))
        pairs = zip(revised.pieces, before.pieces, strict=True)
        return (
            any(newly_unfit(now.lesson, was.lesson) for now, was in pairs)
            or bool(of_whole - set(before.own_words))
            or bool(of_whole - set(_unfit_of_whole(before)))
        )


class PiecesRead(Struct, frozen=True):
    """What was read of the folder of a lesson of several pieces.

    lesson : with everything in it that was changed by hand.
    whole : SHA-256 of the files that were changed and are in the lesson with everything, by name.
    """

    lesson: LessonOfPieces
    whole: Mapping[str, str] = {}


def changed_pieces_in_folder(folder: Path) -> PiecesRead:
    """A folder's lesson with what was changed by hand; ReedpathError for what cannot be read."""
    reading = _Reading(folder)
    lesson = reading.lesson()
    return PiecesRead(lesson, dict(reading.whole))


def _older(folder: Path, lesson: LessonOfPieces, before: LessonOfPieces) -> tuple[str, ...]:
    """Files that other commands made of what was changed."""
    if lesson == before:
        return ()
    changed = [now.folder for now, was in zip(lesson.pieces, before.pieces, strict=True) if now != was]
    return tuple(
        f"{inside}/{name}" if inside else name
        for inside in ("", *changed)
        for name, made in sorted(made_files(folder / inside).items())
        if made.command != "lesson"
    )


def revise_pieces(
    folder: str | PathLike[str], said: SaidOfLesson | None = None, *, all_again: bool = False,
    progress: Progress = silent,
) -> RevisedPieces:  # fmt: skip
    """Make a lesson of several pieces again from its folder, with what was changed by hand.

    That is the ``tab.txt`` of each piece and the ``steps.md`` of the whole; a changed sentence belongs to the piece
    under whose heading it stands. All else in the folder is treated as when a lesson is made anew.

    Parameters
    ----------
    said : of the whole lesson, beside what was changed in its folder.
    all_again : whether the sounds and films that other commands made there are made again too.

    Raises
    ------
    ReedpathError
        When there is no such lesson, or something in a tab or the steps cannot be read; the folder is then as it was.
    """
    place = Path(folder)
    before = _lesson_in(place)
    place = place if place.is_dir() else place.parent
    reading = _Reading(place)

    def revised(progress: Progress) -> LessonOfPieces:
        progress(ProgressStep("arranging", 0, 1))
        lesson = reading.lesson()
        return said_of_pieces(lesson, said) if said else lesson

    made = make_pieces_in_folder(revised, place, replace_lesson=True, progress=progress, taken_in=reading.whole)
    lesson = made.lesson
    pieces = []
    for moves, now, was in zip(reading.moves, lesson.pieces, before.pieces, strict=True):
        unfit, old = unfit_words(now.lesson), was.lesson.own_words
        new = tuple(words for words in now.lesson.own_words if words not in old and words not in unfit)
        pieces.append(RevisedPiece(moves, new, unfit))
    unfit_of_whole = _unfit_of_whole(lesson)
    new_of_whole = tuple(
        words for words in lesson.own_words if words not in before.own_words and words not in unfit_of_whole
    )
    again = made_again(place, lesson, progress) if all_again else ()
    older = tuple(name for name in _older(place, lesson, before) if name not in again)
    return RevisedPieces(lesson, made.written, tuple(pieces), new_of_whole, unfit_of_whole, older, again)
