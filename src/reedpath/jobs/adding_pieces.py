"""A further phrase taught by a lesson of the shelf, as a piece after those that it has."""

from __future__ import annotations

from itertools import count

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import level_names
from reedpath.harp import Harp
from reedpath.jobs.arranging import RouteRequest
from reedpath.jobs.instruments import HarpChoice, PlayerChoice
from reedpath.jobs.lesson_desk import ChangedLesson
from reedpath.jobs.lesson_views import notes_before_all
from reedpath.jobs.lessons import LessonWishes, lesson_from
from reedpath.jobs.lessons_of_pieces import folder_of_piece, joined
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.jobs.shelf_lessons import lesson_to_keep, open_version
from reedpath.jobs.sources import ReadPhrase
from reedpath.lesson import LessonOfPieces, Piece, Taught, checked_pieces, phrases_taught, with_note
from reedpath.phrase import Phrase, decode_phrase
from reedpath.shelf import KeptFiles, KeptPhrase, LessonVersion


class PieceWishes(Struct, frozen=True):
    """How a phrase is to be taught after those that a lesson has.

    harp : that it is played on; without a key the survey chooses; None for the harp of the piece before.
    owned : keys to choose from where the survey chooses; none for all twelve.
    level : name of the level, empty for that of the piece before.
    """

    harp: HarpChoice | None = None
    owned: tuple[str, ...] = ()
    level: str = ""


def _choice_of(harp: Harp) -> HarpChoice:
    return HarpChoice(harp.name, (harp.tuning.name,), harp.temperament.name, harp.a4_hz, harp.stretch_cents)


def _of_pieces(taught: Taught) -> LessonOfPieces:
    """The lesson as one of pieces; what is said of the whole of it (who made it, the note before all) stays so."""
    if isinstance(taught, LessonOfPieces):
        return taught
    notes = notes_before_all(taught)
    piece = with_note(replace(taught, author="", date=""), [(language, "") for language in notes])
    whole = joined([piece], title=taught.title, levels={}, fillers={}, in_a_row=True)
    return replace(whole, author=taught.author, date=taught.date, notes=notes)


def _free_folder(lesson: LessonOfPieces, title: str) -> str:
    taken = {piece.folder.casefold() for piece in lesson.pieces}
    names = (folder_of_piece(number, title) for number in count(len(lesson.pieces) + 1))
    return next(name for name in names if name not in taken)


def with_phrase_added(taught: Taught, phrase: Phrase, title: str, wishes: PieceWishes) -> LessonOfPieces:
    """The lesson with a further piece: notation, languages and paper as those before have.

    Where all pieces are played one after the other at the end, so is this one; another row is left as it is.

    Raises `ReedpathError` when the phrase can't be played so.
    """
    whole = _of_pieces(taught)
    like = phrases_taught(whole)[-1]
    level = wishes.level or (like.route.level if like.route.level in level_names() else None)
    request = RouteRequest(
        harp=wishes.harp or _choice_of(like.route.harp), owned=wishes.owned, player=PlayerChoice(level)
    )
    lesson = lesson_from(
        ReadPhrase(phrase, None), request, LessonWishes(title, like.notation, like.languages, like.paper)
    )
    own = tuple(index for index, piece in enumerate(whole.pieces) if piece.variant_of is None)
    row = whole.play_through
    if row == own or len(own) == 1:
        row = (*own, len(whole.pieces))
    pieces = (*whole.pieces, Piece(_free_folder(whole, lesson.title), lesson))
    return checked_pieces(replace(whole, pieces=pieces, play_through=row))


def add_piece_to_version(
    files: KeptFiles, version: LessonVersion, kept: KeptPhrase, wishes: PieceWishes, *, progress: Progress = silent
) -> ChangedLesson:
    """A job: a version with a phrase of the shelf added, to be kept (`shelf_lessons.keep_version`)."""
    progress(ProgressStep("arranging", 0, 1))
    opened = open_version(files, version)
    phrase = decode_phrase(kept.data.encode())
    lesson = with_phrase_added(opened.lesson, phrase, kept.title, wishes)
    made = lesson_to_keep(lesson)
    # the phrase is on the shelf as it was read; in the route it may be an octave away
    played = (*made.taught[:-1], replace(made.taught[-1], phrase=phrase))
    return ChangedLesson(replace(opened, lesson=lesson), replace(made, taught=played))
