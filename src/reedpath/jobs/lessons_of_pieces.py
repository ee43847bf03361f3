"""A lesson of several pieces: from what is asked for to its data, and how its folder and its pieces' are made."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

from msgspec import Struct, field
from msgspec.structs import replace

from reedpath.arrange import load_player
from reedpath.errors import Place, ReedpathError, SettingsError
from reedpath.jobs.arranging import RouteRequest, check_request, typed_harp
from reedpath.jobs.folder_making import PAGE, Files, FolderMaking, LadderSound, Making
from reedpath.jobs.lesson_pages import page_of_pieces_before_sounds
from reedpath.jobs.lessons import LessonWishes, ladder_sounds, lesson_from, makings_inside
from reedpath.jobs.practising import sound_of_piece
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.jobs.rung_sounds import sound_rung
from reedpath.jobs.sources import ReadPhrase
from reedpath.jobs.wording_of_lessons import SaidOfLesson, in_languages
from reedpath.lesson import (
    Lesson,
    LessonOfPieces,
    Piece,
    VariantKind,
    checked_pieces,
    encode_lesson_of_pieces,
    format_steps_of_pieces,
)
from reedpath.page import encode_handout_of_pieces, format_tab_of_pieces
from reedpath.wording import load_catalogue

# characters of a title in the name of a folder
MOST_NAME = 40


class AskedPiece(Struct, frozen=True):
    """A piece as it is asked for.

    where : the file that its phrase was read from, or its place in a plan, for messages.
    read : the phrase.
    request : how it is to be arranged; its level is the first of ``levels``, where there are any.
    levels : names of levels; the same piece is made for each, the later ones as variants of the first.
    said : of this piece.
    variant_of : index of the asked piece that it is a variant of.
    variant : what it is beside that one.
    """

    where: Place
    read: ReadPhrase
    request: RouteRequest
    levels: tuple[str, ...] = ()
    said: SaidOfLesson = field(default_factory=SaidOfLesson)
    variant_of: int | None = None
    variant: VariantKind | None = None


class WholeWishes(Struct, frozen=True):
    """How a lesson of several pieces is to be, all of them alike.

    said : of the whole; names of parts are a piece's own.
    notation, languages, paper : as for `LessonWishes`.
    in_a_row : whether the pieces are played one after the other at the end; or which, by their indexes as asked for.
    """

    said: SaidOfLesson = field(default_factory=SaidOfLesson)
    notation: str = "sign"
    languages: tuple[str, ...] = ("en", "fr")
    paper: str = "a4"
    in_a_row: bool | tuple[int, ...] = True

    def of_piece(self, said: SaidOfLesson) -> LessonWishes:
        """The wishes for the lesson of one piece."""
        own = replace(said, title=None)
        return LessonWishes(said.title or "", self.notation, self.languages, self.paper, own)


# ------------------------------------------------------------------------------------------------ what is asked for


def check_pieces(pieces: Sequence[AskedPiece], wishes: WholeWishes) -> None:
    """Raise for what cannot be had, before any work is done."""
    wishes.of_piece(SaidOfLesson()).check()
    for asked in pieces:
        try:
            check_request(asked.read.phrase, asked.request)
            for level in asked.levels:
                load_player(level)
            if len(asked.levels) > 1 and typed_harp(asked.request, asked.read.typed) is not None:
                raise SettingsError("jobs.levels_of_typed_tab")
        except ReedpathError as error:
            raise error.inside(asked.where) from None


def _at_level(request: RouteRequest, level: str) -> RouteRequest:
    return replace(request, player=replace(request.player, level=level))


def folder_of_piece(number: int, title: str, level: str = "") -> str:
    """The name of a piece's folder: its number, and its title in small letters of ASCII."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    words = re.sub(r"[^a-z0-9]+", "-", f"{plain[:MOST_NAME]} {level}").strip("-")
    return f"{number}-{words or 'piece'}"


def _in_order(pieces: Sequence[AskedPiece]) -> list[tuple[int, str]]:
    """Asked pieces and their levels in the order in which they are taught: variants right after their piece."""
    order: list[tuple[int, str]] = []
    for index, asked in enumerate(pieces):
        if asked.variant_of is not None:
            continue
        variants = [one for one, other in enumerate(pieces) if other.variant_of == index]
        ranked = sorted(variants, key=lambda one: pieces[one].variant is VariantKind.FILLER)
        for one in (index, *ranked):
            order += [(one, level) for level in pieces[one].levels or ("",)]
    return order


def _pieces_of(pieces: Sequence[AskedPiece], wishes: WholeWishes, progress: Progress) -> Iterator[Piece]:
    """The pieces with their lessons; an error names the source."""
    order = _in_order(pieces)
    first: dict[int, int] = {}
    for place, (index, level) in enumerate(order):
        progress(ProgressStep("arranging", place, len(order)))
        asked = pieces[index]
        request = _at_level(asked.request, level) if level else asked.request
        try:
            lesson = lesson_from(asked.read, request, wishes.of_piece(asked.said))
        except ReedpathError as error:
            raise error.inside(asked.where) from None
        of, kind = asked.variant_of, asked.variant
        named = level if len(asked.levels) > 1 else ""
        folder = folder_of_piece(place + 1, lesson.title, named)
        if index in first and kind is not VariantKind.FILLER:
            # another level of what was asked for once
            yield Piece(folder, lesson, first[index] if of is None else first[of], VariantKind.LEVEL)
            continue
        first.setdefault(index, place)
        yield Piece(folder, lesson, None if of is None else first[of], kind)


def _whole_title(pieces: Sequence[Piece], language: str) -> str:
    """The titles of all pieces that are no variants."""
    return load_catalogue(language).join([one.lesson.title for one in pieces if one.variant_of is None])


def _of_pieces(pieces: tuple[Piece, ...], title: str, *, in_a_row: bool) -> LessonOfPieces:
    """The lesson of pieces with nothing else said of it; SettingsError for what does not hold in it."""
    own = tuple(index for index, piece in enumerate(pieces) if piece.variant_of is None)
    return checked_pieces(
        LessonOfPieces(
            title=title.strip() or _whole_title(pieces, pieces[0].lesson.languages[0]),
            pieces=pieces,
            play_through=own if in_a_row and len(own) > 1 else (),
        )
    )


def joined(
    lessons: Sequence[Lesson],
    *,
    title: str,
    levels: Mapping[int, int],
    fillers: Mapping[int, int],
    in_a_row: bool,
) -> LessonOfPieces:
    """Lessons of single phrases as one of several pieces (`from_python.join_lessons`)."""
    if not lessons:
        raise SettingsError("lesson.no_pieces")
    kinds = {index: VariantKind.LEVEL for index in levels} | {index: VariantKind.FILLER for index in fillers}
    of = {**levels, **fillers}
    pieces = tuple(
        Piece(folder_of_piece(index + 1, lesson.title), lesson, of.get(index), kinds.get(index))
        for index, lesson in enumerate(lessons)
    )
    return _of_pieces(pieces, title, in_a_row=in_a_row)


def lesson_of(pieces: Sequence[AskedPiece], wishes: WholeWishes, progress: Progress = silent) -> LessonOfPieces:
    """The lesson of several pieces, as data."""
    said = wishes.said
    made = _of_pieces(tuple(_pieces_of(pieces, wishes, progress)), said.title or "", in_a_row=wishes.in_a_row is True)
    if isinstance(wishes.in_a_row, tuple):
        places = [index for index, _ in _in_order(pieces)]
        made = replace(made, play_through=tuple(map(places.index, wishes.in_a_row)))
    return replace(
        made, author=said.author or "", date=said.date or "", notes=in_languages(said.notes, made.languages)
    )


# --------------------------------------------------------------------------------------------------- what is written


def tab_text_of_pieces(lesson: LessonOfPieces) -> str:
    """The tab of all pieces as the folder has it, in the lesson's first language."""
    return format_tab_of_pieces(lesson, catalogue=load_catalogue(lesson.languages[0]))


def _makings(lesson: LessonOfPieces) -> list[Making]:
    """The steps in order, but for the sounds: those of the whole, then those of each piece."""
    makes: dict[str, Callable[[Files], Files]] = {
        "tab": lambda made: {"tab.txt": tab_text_of_pieces(lesson).encode()},
        "steps": lambda made: {"steps.md": format_steps_of_pieces(lesson).encode()},
        "sheet": lambda made: {"sheet.pdf": encode_handout_of_pieces(lesson)},
        "page": lambda made: {PAGE: page_of_pieces_before_sounds(lesson)},
        "data": lambda made: {"lesson.json": encode_lesson_of_pieces(lesson)},
    }
    events = sum(len(piece.lesson.route.events) for piece in lesson.pieces)
    makings = [Making(name, make, events) for name, make in makes.items()]
    for piece in lesson.pieces:
        makings += makings_inside(piece.lesson, piece.folder)
    return makings


def _sounds(lesson: LessonOfPieces, folder: Path) -> list[LadderSound]:
    return [
        sound
        for index, piece in enumerate(lesson.pieces)
        for sound in ladder_sounds(piece.lesson, sound_of_piece, (index, sound_rung), folder / piece.folder)
    ]


def making_of_pieces(lesson: LessonOfPieces, folder: Path, progress: Progress) -> FolderMaking:
    """How everything of a lesson of several pieces is made in a folder."""
    common = tuple(piece.lesson for piece in lesson.pieces)
    return FolderMaking(common, _makings(lesson), _sounds(lesson, folder), folder, progress)
