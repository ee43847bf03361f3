"""Pieces as they stand on pages: each with its versions at other levels, numbered in the order of teaching."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from reedpath.lesson import (
    Lesson,
    LessonOfPieces,
    Piece,
    VariantKind,
    WholeBlock,
    piece_heading,
    played_alike,
    whole_steps,
)
from reedpath.page.handout.contents import title_words
from reedpath.wording import Catalogue, capital, full_harp_words, named_words


@dataclass(frozen=True, slots=True)
class PieceGroup:
    """A piece with its versions.

    number : from 1, in the lesson's order; a filler has one of its own.
    places : indexes in the lesson: of the piece, then of its variants for other levels.
    pieces : these.
    """

    number: int
    places: tuple[int, ...]
    pieces: tuple[Piece, ...]

    @property
    def lesson(self) -> Lesson:
        """The lesson of the piece itself."""
        return self.pieces[0].lesson

    @property
    def lessons(self) -> tuple[Lesson, ...]:
        """The lessons of all versions."""
        return tuple(piece.lesson for piece in self.pieces)

    def title(self, words: Catalogue) -> str:
        """What it is called."""
        return title_words(self.lesson, words)

    @property
    def name(self) -> str:
        """A name for it in a document, that no other piece has."""
        return f"piece-{self.places[0] + 1}"


def groups_of_pieces(lesson: LessonOfPieces) -> tuple[PieceGroup, ...]:
    """The pieces of a lesson as pages show them: each with its variants for other levels, in the lesson's order."""
    firsts = [place for place, piece in enumerate(lesson.pieces) if piece.variant is not VariantKind.LEVEL]
    found = []
    for number, first in enumerate(firsts, start=1):
        places = (first, *lesson.variants_of(first, VariantKind.LEVEL))
        found.append(PieceGroup(number, places, tuple(lesson.pieces[place] for place in places)))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class SaidOfPieces:
    """What is said of a lesson of pieces beside the pieces themselves, in one language.

    opening : sentences before everything.
    headings, before : of each group, its heading and the sentences before it.
    ending, last : heading of the last play-through and its sentences; none for no such ending.
    """

    opening: tuple[str, ...]
    headings: tuple[str, ...]
    before: tuple[tuple[str, ...], ...]
    ending: str
    last: tuple[str, ...]


# what is said of a piece that stands beside its other level, as the program says it when they follow one another
_ONE_AFTER_THE_OTHER = "variant"


def _texts(block: WholeBlock) -> tuple[str, ...]:
    return tuple(line.text for line in block.lines if line.text)


def _heading(group: PieceGroup, block: WholeBlock, lesson: LessonOfPieces, words: Catalogue) -> str:
    """A person's own heading; else the program's, without the level where several stand together."""
    if len(group.places) == 1 or block.title != piece_heading(lesson, group.places[0], words):
        return block.title
    return words.say("whole.piece", number=str(group.number), title=group.title(words))


def said_of_pieces(lesson: LessonOfPieces, groups: Sequence[PieceGroup], words: Catalogue) -> SaidOfPieces:
    """What is said of the whole, for pages on which the levels of a piece stand together."""
    blocks = {(block.place.block, block.place.piece): block for block in whole_steps(lesson, words)}
    of_pieces = [[blocks["piece", place] for place in group.places] for group in groups]
    ending = blocks.get(("ending", None))
    before = []
    for group, told in zip(groups, of_pieces, strict=True):
        lines = [line for block in told for line in block.lines if line.text]
        kept = [line for line in lines if len(group.places) == 1 or line.about != _ONE_AFTER_THE_OTHER]
        before.append(tuple(dict.fromkeys(line.text for line in kept)))
    return SaidOfPieces(
        opening=_texts(blocks["opening", None]),
        headings=tuple(
            _heading(group, told[0], lesson, words) for group, told in zip(groups, of_pieces, strict=True)
        ),
        before=tuple(before),
        ending=ending.title if ending else "",
        last=_texts(ending) if ending else (),
    )


def unlike_versions(
    lesson: LessonOfPieces, group: PieceGroup, words: Catalogue
) -> tuple[tuple[Lesson, ...], tuple[str, ...]]:
    """The versions of a piece that are taught otherwise, and what they are called: one that is the same at several
    levels by all of these.
    """
    names: dict[int, list[str]] = {}
    for place, name in zip(group.places, version_names(group, words), strict=True):
        alike = played_alike(lesson, place)
        names.setdefault(place if alike is None else alike, []).append(name)
    return tuple(lesson.pieces[place].lesson for place in names), tuple(" / ".join(some) for some in names.values())


def version_names(group: PieceGroup, words: Catalogue) -> tuple[str, ...]:
    """What the versions of a piece are called: by their levels, by their harps too where two levels are one."""
    levels = [capital(named_words("level", piece.level, words)) for piece in group.pieces]
    if max(Counter(levels).values()) == 1 and all(levels):
        return tuple(levels)
    harps = [full_harp_words(piece.harp, words) for piece in group.pieces]
    names = [", ".join(filter(None, pair)) for pair in zip(levels, harps, strict=True)]
    met: Counter[str] = Counter()
    told = []
    for name in names:
        met[name] += 1
        told.append(name if names.count(name) == 1 else f"{name} ({met[name]})")
    return tuple(told)
