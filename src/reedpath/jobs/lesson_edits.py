"""A lesson edited: a line of it, what is said of it as a whole, tempos, drills, the order of its pieces.

Each takes a lesson of one phrase or of several pieces and gives it changed; of several, what is about one piece names
it by its index.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from msgspec.structs import replace

from reedpath.errors import SettingsError
from reedpath.jobs.wording_of_lessons import SaidOfLesson, said_of_lesson, said_of_pieces
from reedpath.lesson import (
    DrillWish,
    Lesson,
    LessonOfPieces,
    LineEdit,
    SaidLine,
    Taught,
    edited_whole,
    edited_words,
    in_order,
    lines_said,
    lines_said_of_whole,
    phrases_taught,
    with_drills,
    with_tempos,
)


def piece_of(taught: Taught, piece: int | None) -> Lesson:
    """The lesson of a piece; of a lesson of one phrase, that itself. SettingsError where there is no such piece."""
    every = phrases_taught(taught)
    index = 0 if isinstance(taught, Lesson) else piece
    if index is None or not 0 <= index < len(every):
        raise SettingsError("lesson.no_such_piece", number=(index or 0) + 1, count=len(every))
    return every[index]


def _in_piece(taught: Taught, piece: int | None, change: Callable[[Lesson], Lesson]) -> Taught:
    lesson = change(piece_of(taught, piece))
    if isinstance(taught, Lesson):
        return lesson
    pieces = (replace(one, lesson=lesson) if index == piece else one for index, one in enumerate(taught.pieces))
    return replace(taught, pieces=tuple(pieces))


def lines_in(taught: Taught, language: str, piece: int | None = None) -> tuple[SaidLine, ...]:
    """What is said in a language, line by line: of a piece, or, of several without one, of the whole."""
    if isinstance(taught, LessonOfPieces) and piece is None:
        return lines_said_of_whole(taught, language)
    return lines_said(piece_of(taught, piece), language)


def with_line_edited(taught: Taught, language: str, edit: LineEdit, piece: int | None = None) -> Taught:
    """A line of `lines_in` said otherwise, or a note put after it; SettingsError where it changed meanwhile."""
    if language not in phrases_taught(taught)[0].languages:
        raise SettingsError("lesson.no_such_language", name=language, languages=phrases_taught(taught)[0].languages)
    if isinstance(taught, LessonOfPieces) and piece is None:
        return edited_whole(taught, language, edit)
    return _in_piece(taught, piece, lambda lesson: edited_words(lesson, language, edit))


def with_words_said(taught: Taught, said: SaidOfLesson, piece: int | None = None) -> Taught:
    """Title, author, date, note to the student, names of parts: of a piece or of the whole; see `SaidOfLesson`."""
    if isinstance(taught, LessonOfPieces) and piece is None:
        return said_of_pieces(taught, said)
    return _in_piece(taught, piece, lambda lesson: said_of_lesson(lesson, said))


def with_tempos_chosen(taught: Taught, tempos: Sequence[float] | None, piece: int | None = None) -> Taught:
    """Tempos below the full one, in counted beats a minute; the program's for None."""
    return _in_piece(taught, piece, lambda lesson: with_tempos(lesson, tempos))


def with_drills_chosen(taught: Taught, drills: Sequence[DrillWish] | None, piece: int | None = None) -> Taught:
    """Drills, in their order; the program's for None."""
    return _in_piece(taught, piece, lambda lesson: with_drills(lesson, drills))


def with_pieces_in_order(taught: Taught, order: Sequence[int]) -> Taught:
    """The pieces in another order, or fewer of them; SettingsError for what is no order of them."""
    if isinstance(taught, LessonOfPieces):
        return in_order(taught, order)
    if list(order) != [0]:
        raise SettingsError("lesson.no_such_order", order=[one + 1 for one in order], count=1)
    return taught
