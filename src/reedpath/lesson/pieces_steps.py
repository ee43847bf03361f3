"""What the teacher says of a lesson of several pieces beside the pieces themselves.

Before them: a note to the student, which harps. Before each: its heading, a change of harp or tempo, whose variant it
is. After them: a last play-through, a bit faster, then a bit faster. Of how a piece is played, `steps` tells.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import level_names
from reedpath.lesson.ladder import FELT_STEP
from reedpath.lesson.model import Lesson, WordsKind
from reedpath.lesson.pieces import LessonOfPieces, VariantKind, WholePlace, WholeWords, played_alike
from reedpath.phrase import metre_at
from reedpath.wording import Catalogue, counted_bpm, full_harp_words, load_catalogue, named_words

# shares of each piece's full tempo at which all are played in a row at the end; common practice, no source
PLAY_THROUGH_SHARES = (0.7, 0.85, 1.0)
# what is said of them, in that order
_AGAIN = ("row_slow", "row_faster", "row_full")
# key of the line that is a note to the student
NOTE = "note"


class WholeLine(Struct, frozen=True):
    """Something that is said of the whole.

    text : a short sentence.
    about : key of what it says; empty for a person's own note beside what the program says.
    """

    text: str
    about: str = ""


class WholeBlock(Struct, frozen=True):
    """What is said of the whole in one go: before all pieces, before one of them, after all.

    title : heading.
    place : where it stands.
    lines : in order.
    """

    title: str
    place: WholePlace
    lines: tuple[WholeLine, ...]


def _number(lesson: LessonOfPieces, index: int) -> int:
    """The number of a piece, from 1; a variant for another level has that of its piece."""
    piece = lesson.pieces[index]
    place = piece.variant_of if piece.variant is VariantKind.LEVEL and piece.variant_of is not None else index
    return sum(one.variant is not VariantKind.LEVEL for one in lesson.pieces[: place + 1])


def piece_heading(lesson: LessonOfPieces, index: int, catalogue: Catalogue) -> str:
    """The heading of a piece, as the program says it: number and title, and its level beside one for another."""
    piece = lesson.pieces[index]
    values: dict[str, Any] = {"number": str(_number(lesson, index)), "title": piece.lesson.title}
    if piece.variant is VariantKind.FILLER and piece.variant_of is not None:
        return catalogue.say("whole.filler", other=str(_number(lesson, piece.variant_of)), **values)
    if piece.variant is VariantKind.LEVEL or lesson.variants_of(index, VariantKind.LEVEL):
        return catalogue.say("whole.piece_level", level=named_words("level", piece.level, catalogue), **values)
    return catalogue.say("whole.piece", **values)


def _named(lesson: LessonOfPieces, index: int, catalogue: Catalogue) -> str:
    return catalogue.say("part.named", label=lesson.pieces[index].lesson.title)


def _full_bpm(lesson: Lesson) -> tuple[float, float]:
    """Full tempo, in counted beats and in quarter notes a minute."""
    bpm = lesson.ladder[-1].bpm
    return round(counted_bpm(bpm, metre_at(lesson.route.phrase, lesson.route.phrase.pickup)), 1), bpm


def _opening(lesson: LessonOfPieces, catalogue: Catalogue) -> Iterator[WholeLine]:
    note = lesson.notes.get(catalogue.name, "").strip()
    if note:
        yield WholeLine(note, NOTE)
    count = sum(piece.variant is not VariantKind.LEVEL for piece in lesson.pieces)
    yield WholeLine(catalogue.say("whole.pieces", count=count), "pieces")
    if len(lesson.harps) > 1:
        harps = catalogue.join([full_harp_words(harp, catalogue) for harp in lesson.harps])
        yield WholeLine(catalogue.say("whole.harps", harps=harps), "harps")


def _order(lesson: LessonOfPieces, one: int, other: int) -> str:
    """Whether a piece is easier than another by their levels: "easier", "harder", or "other" where none tells."""
    levels = level_names()
    first, second = lesson.pieces[one].level, lesson.pieces[other].level
    if first == second or first not in levels or second not in levels:
        return "other"
    return "easier" if levels.index(first) < levels.index(second) else "harder"


def _tempo(lesson: LessonOfPieces, index: int, catalogue: Catalogue) -> Iterator[WholeLine]:
    """A change of tempo that is heard as one."""
    (before, quarters_before), (now, quarters) = (_full_bpm(lesson.pieces[one].lesson) for one in (index - 1, index))
    if max(quarters, quarters_before) < FELT_STEP * min(quarters, quarters_before):
        return
    values: dict[str, Any] = {"bpm": catalogue.number(now), "before": catalogue.number(before)}
    yield WholeLine(catalogue.say("whole.faster" if now > before else "whole.slower", **values), "tempo")


def _other_ways(lesson: LessonOfPieces, index: int) -> list[int]:
    """Indexes of the variants of a piece for other levels that are played otherwise."""
    return [one for one in lesson.variants_of(index, VariantKind.LEVEL) if played_alike(lesson, one) is None]


def _before_piece(lesson: LessonOfPieces, index: int, catalogue: Catalogue) -> Iterator[WholeLine]:
    piece = lesson.pieces[index]
    if piece.variant is VariantKind.FILLER and piece.variant_of is not None:
        other = _named(lesson, piece.variant_of, catalogue)
        yield WholeLine(catalogue.say("whole.turns", other=other), "turns")
    elif piece.variant is VariantKind.LEVEL:
        order = "same" if played_alike(lesson, index) is not None else _order(lesson, index, index - 1)
        yield WholeLine(catalogue.say(f"whole.now_{order}"), "variant")
    elif later := _other_ways(lesson, index):
        yield WholeLine(catalogue.say(f"whole.first_{_order(lesson, index, later[0])}"), "variant")
    if index:
        if piece.harp != lesson.pieces[index - 1].harp:
            yield WholeLine(catalogue.say("whole.harp", harp=full_harp_words(piece.harp, catalogue)), "harp")
        yield from _tempo(lesson, index, catalogue)


def _ending(lesson: LessonOfPieces, catalogue: Catalogue) -> Iterator[WholeLine]:
    titles = catalogue.join([_named(lesson, index, catalogue) for index in lesson.play_through])
    yield WholeLine(catalogue.say("whole.row", titles=titles), "row")
    harps = tuple(dict.fromkeys(lesson.pieces[index].harp for index in lesson.play_through))
    if len(harps) > 1:
        named = catalogue.join([full_harp_words(harp, catalogue) for harp in harps])
        yield WholeLine(catalogue.say("whole.row_harps", harps=named), "row_harps")
    for about, share in zip(_AGAIN, PLAY_THROUGH_SHARES, strict=True):
        values: dict[str, Any] = {} if share == 1 else {"percent": round(100 * share)}
        yield WholeLine(catalogue.say(f"whole.{about}", **values), about)


def _block(title: str, place: WholePlace, lines: Iterator[WholeLine], catalogue: Catalogue) -> WholeBlock:
    said = (line if line.about == NOTE else replace(line, text=catalogue.sentence(line.text)) for line in lines)
    return WholeBlock(title, place, tuple(said))


def program_whole_steps(lesson: LessonOfPieces, catalogue: Catalogue) -> tuple[WholeBlock, ...]:
    """What the program says of the whole, whatever a person says in its place; her note to the student is in it."""
    blocks = [_block(catalogue.say("whole.heading"), WholePlace("opening"), _opening(lesson, catalogue), catalogue)]
    for index in range(len(lesson.pieces)):
        heading = piece_heading(lesson, index, catalogue)
        place = WholePlace("piece", index)
        blocks.append(_block(heading, place, _before_piece(lesson, index, catalogue), catalogue))
    if lesson.play_through:
        heading = catalogue.say("whole.ending")
        blocks.append(_block(heading, WholePlace("ending"), _ending(lesson, catalogue), catalogue))
    return tuple(blocks)


def holding_whole_words(
    lesson: LessonOfPieces, language: str, blocks: Sequence[WholeBlock]
) -> tuple[WholeWords, ...]:
    """The words of a language that hold for what the program says, as ``blocks``."""
    said = {replace(block.place, about=line.about): line.text for block in blocks for line in block.lines}
    headings = {block.place for block in blocks}
    return tuple(
        words
        for words in lesson.own_words
        if words.language == language
        and (
            words.place in headings
            or (words.place in said and (words.kind is WordsKind.NOTE or said[words.place] == words.instead))
        )
    )


def _with_words(block: WholeBlock, words: Sequence[WholeWords]) -> WholeBlock:
    own = {(one.kind, one.place): one.text for one in words}

    def notes(place: WholePlace) -> Iterator[WholeLine]:
        yield from (WholeLine(one.text) for one in words if one.kind is WordsKind.NOTE and one.place == place)

    lines = [*notes(block.place)]
    for line in block.lines:
        place = replace(block.place, about=line.about)
        text = own.get((WordsKind.SENTENCE, place), line.text)
        lines += [replace(line, text=text)] if text else []
        lines += notes(place)
    return replace(block, title=own.get((WordsKind.HEADING, block.place), block.title), lines=tuple(lines))


def whole_steps(lesson: LessonOfPieces, language: str | Catalogue) -> tuple[WholeBlock, ...]:
    """
    What is said of the whole: before all pieces, before each of them (in their order), and after all, if anything is.

    A person's own words stand in place of the program's where they hold.

    language : short name of a shipped language, or a catalogue.
    """
    catalogue = load_catalogue(language) if isinstance(language, str) else language
    blocks = program_whole_steps(lesson, catalogue)
    words = holding_whole_words(lesson, catalogue.name, blocks)
    return tuple(_with_words(block, words) for block in blocks) if words else blocks
