"""A lesson of several pieces: phrases taught one after the other, each with its own route, tempo and ladder."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from enum import StrEnum
from typing import Annotated, Literal, NamedTuple, TypeAlias

from msgspec import Meta, Struct, field
from msgspec.structs import force_setattr

from reedpath.data.numbers import Index
from reedpath.errors import Place, SettingsError, clean_text
from reedpath.harp import Harp
from reedpath.lesson.model import Lesson, WordsKind

# a folder inside the lesson's own: no path, nothing hidden; as long as every file system takes
FolderName = Annotated[str, Meta(pattern=r"^[^./\\:\x00-\x1f][^/\\:\x00-\x1f]*$", max_length=120)]
# where something is said of the whole lesson: before all pieces, before one of them, after all
WholeBlockKind = Literal["opening", "piece", "ending"]


class VariantKind(StrEnum):
    """What a piece is beside another one."""

    LEVEL = "level"  # the same for another level: bar by bar beside it
    FILLER = "filler"  # something to take turns with


class Piece(Struct, frozen=True):
    """One phrase of a lesson that holds several.

    folder : name of its own folder inside the lesson's ("1-two-questions").
    lesson : what is taught of it.
    variant_of : index of the piece that it is a variant of, None for a piece of its own.
    variant : what it is beside that one, None for a piece of its own.
    """

    folder: FolderName
    lesson: Lesson
    variant_of: Index | None = None
    variant: VariantKind | None = None

    @property
    def level(self) -> str:
        """Name of the level that it is for."""
        return self.lesson.route.level

    @property
    def harp(self) -> Harp:
        """The harp that it is played on."""
        return self.lesson.route.harp


class WholePlace(Struct, frozen=True, omit_defaults=True):
    """Where something is said of the whole lesson.

    block : before all pieces, before one of them, after all.
    piece : index of that piece.
    about : key of what is said there; empty for the block itself.
    """

    block: WholeBlockKind
    piece: Index | None = None
    about: str = ""


class WholeWords(Struct, frozen=True, omit_defaults=True):
    """What a person says of the whole lesson herself.

    language : name of the catalogue that she says it in.
    kind : what it is.
    place : where; a note stands after what is said there.
    text : her words.
    instead : what the program said there; her words hold as long as it would say the same.
    """

    language: str
    kind: WordsKind
    place: WholePlace
    text: str
    instead: str = ""

    def __post_init__(self) -> None:
        force_setattr(self, "text", clean_text(self.text))


class LessonOfPieces(Struct, frozen=True):
    """A lesson of several phrases. Data only, as `Lesson` is; a piece's own words and names are in its lesson.

    title : of the whole.
    pieces : in the order in which they are taught; a variant comes after the piece that it is one of.
    play_through : indexes of the pieces that are played one after the other at the end, in that order; none for no
        such ending.
    author, date : who made it and when, in their own words.
    notes : to the student, before everything, by language.
    own_words : what is said of the whole otherwise than the program says it.
    """

    title: str
    pieces: Annotated[tuple[Piece, ...], Meta(min_length=1)]
    play_through: tuple[Index, ...] = ()
    author: str = ""
    date: str = ""
    notes: Mapping[str, str] = field(default_factory=dict)
    own_words: tuple[WholeWords, ...] = ()

    def __post_init__(self) -> None:
        for name in ("title", "author", "date"):
            force_setattr(self, name, clean_text(getattr(self, name)))
        force_setattr(self, "notes", {language: clean_text(text) for language, text in self.notes.items()})

    @property
    def languages(self) -> tuple[str, ...]:
        """The languages of all its pieces; the first is the sheet's."""
        return self.pieces[0].lesson.languages

    @property
    def paper(self) -> str:
        """Name of the paper of all its pieces."""
        return self.pieces[0].lesson.paper

    @property
    def harps(self) -> tuple[Harp, ...]:
        """The harps that are needed, each once, in the order in which they are taken up."""
        return tuple(dict.fromkeys(piece.harp for piece in self.pieces))

    def variants_of(self, index: int, kind: VariantKind | None = None) -> tuple[int, ...]:
        """Indexes of the variants of a piece, of one kind or of both."""
        return tuple(
            place
            for place, piece in enumerate(self.pieces)
            if piece.variant_of == index and kind in (None, piece.variant)
        )


def _taught(lesson: Lesson) -> tuple[object, ...]:
    """All that a player does in a lesson, when, at what tempos, and what a person says of it herself."""
    played = ((one.event.onset, one.event.duration, one.choice, one.breathe_before) for one in lesson.route.events)
    said = (lesson.title, lesson.notation, lesson.own_words, lesson.part_names)
    return (lesson.route.harp, lesson.ladder, said, tuple(played))


def played_alike(lesson: LessonOfPieces, index: int) -> int | None:
    """Index of the earlier version of a piece, for another level, that is taught just as this one; None for none."""
    piece = lesson.pieces[index]
    if piece.variant is not VariantKind.LEVEL or piece.variant_of is None:
        return None
    earlier = (piece.variant_of, *lesson.variants_of(piece.variant_of, VariantKind.LEVEL))
    own = _taught(piece.lesson)
    return next((one for one in earlier if one < index and _taught(lesson.pieces[one].lesson) == own), None)


# what is taught: one phrase, or several
Taught: TypeAlias = Lesson | LessonOfPieces


def phrases_taught(lesson: Taught) -> tuple[Lesson, ...]:
    """The lessons of all phrases that are taught: of one, or of each piece."""
    return (lesson,) if isinstance(lesson, Lesson) else tuple(piece.lesson for piece in lesson.pieces)


class PieceFault(NamedTuple):
    """What does not hold in a lesson of pieces: key of its message, where, and what that says."""

    key: str
    field: str
    values: Mapping[str, str | int]


def _bars_alike(one: Lesson, other: Lesson) -> bool:
    """Whether two phrases have the same bars, so that they can stand side by side."""
    phrases = (one.route.phrase, other.route.phrase)
    first, second = ((phrase.metres, phrase.pickup) for phrase in phrases)
    return first == second


def pieces_faults(lesson: LessonOfPieces) -> Iterator[PieceFault]:
    """What the types cannot say of a lesson of pieces, and is not so."""
    folders: set[str] = set()
    first = lesson.pieces[0].lesson if lesson.pieces else None
    if first is None:
        yield PieceFault("no_pieces", "pieces", {})
    for index, piece in enumerate(lesson.pieces):
        place = f"pieces[{index}]"
        if piece.folder.casefold() in folders:
            yield PieceFault("folder_twice", f"{place}.folder", {"name": piece.folder})
        folders.add(piece.folder.casefold())
        if first is not None and (piece.lesson.languages, piece.lesson.paper) != (first.languages, first.paper):
            yield PieceFault("pieces_differ", place, {"name": piece.folder})
        yield from _variant_faults(lesson, index, place)
    for index, played in enumerate(lesson.play_through):
        if played >= len(lesson.pieces):
            values = {"value": played, "least": 0, "most": len(lesson.pieces) - 1}
            yield PieceFault("out_of_bounds", f"play_through[{index}]", values)


def _variant_faults(lesson: LessonOfPieces, index: int, place: str) -> Iterator[PieceFault]:
    piece = lesson.pieces[index]
    if piece.variant_of is None:
        if piece.variant is not None:
            yield PieceFault("variant_of_none", f"{place}.variant_of", {})
        return
    if piece.variant is None:
        yield PieceFault("variant_of_no_kind", f"{place}.variant", {})
    if piece.variant_of >= index or lesson.pieces[piece.variant_of].variant_of is not None:
        yield PieceFault("variant_of_other", f"{place}.variant_of", {"name": piece.folder})
    elif piece.variant is VariantKind.LEVEL and not _bars_alike(piece.lesson, lesson.pieces[piece.variant_of].lesson):
        named = {"name": piece.lesson.title, "other": lesson.pieces[piece.variant_of].lesson.title}
        yield PieceFault("variant_of_other_bars", f"{place}.variant_of", named)


def checked_pieces(lesson: LessonOfPieces) -> LessonOfPieces:
    """The lesson itself; SettingsError for what does not hold in it."""
    for fault in pieces_faults(lesson):
        raise SettingsError(f"lesson.{fault.key}", where=Place(field=fault.field), **fault.values)
    return lesson
