"""Own words: what a person says in a lesson in place of the program, beside it, or not at all.

Each has a place: a block of steps and the events that are spoken of there. Words about events hold as long as the
moves are those that they were written about; words that hold no longer are kept, and told.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec.structs import replace

from reedpath.harp import format_move
from reedpath.lesson.model import (
    BlockKind,
    Lesson,
    OwnWords,
    Step,
    StepBlock,
    StepGroup,
    StepKind,
    StepPlace,
    WordsKind,
)

# kinds of steps, and the block that they are in where that is about no part
_BLOCKS: Mapping[StepKind, BlockKind] = {StepKind.SPOT: "spots", StepKind.LADDER: "tempos"}
# in place of a move where nothing is played
SILENT = "-"


def block_place(lesson: Lesson, block: StepBlock) -> StepPlace:
    """Where a block stands, by what it is about."""
    if block.is_through:
        return StepPlace("through", lesson.parts[block.parts[-1]].first)
    if block.parts:
        return StepPlace("part", lesson.parts[block.parts[0]].first)
    return StepPlace(_BLOCKS.get(block.kind, "intro"))


def group_places(lesson: Lesson, block: StepBlock) -> list[tuple[StepGroup, StepPlace | None]]:
    """The groups of a block, each with its place; a note has none of its own."""
    of_block = block_place(lesson, block)
    found: list[tuple[StepGroup, StepPlace | None]] = []
    seen: dict[StepPlace, int] = {}
    for group in block.groups:
        if group.kind is StepKind.NOTE:
            found.append((group, None))
            continue
        place = replace(of_block, first=group.first, last=group.last)
        number = seen[place] = seen.get(place, 0) + 1
        found.append((group, replace(place, number=number)))
    return found


def moves_said(lesson: Lesson, place: StepPlace, kind: StepKind | None = None) -> tuple[str, ...]:
    """The moves of the events that a place is about, in signs; none where it only says that they come again."""
    if place.first is None or place.last is None or kind in (StepKind.REPEAT, StepKind.THROUGH):
        return ()
    if place.block == "through" and place.last > place.first + 1:
        return ()  # what is said of all of it holds whatever is changed in it
    moves = (one.choice.move for one in lesson.route.events[place.first : place.last + 1])
    return tuple(SILENT if move is None else format_move(move) for move in moves)


def _still_holds(lesson: Lesson, words: OwnWords, said: dict[StepPlace, StepGroup]) -> bool:
    """Whether words about a place that is there are about what is played there."""
    group = said[words.place]
    if words.place.first is None:
        return words.kind is WordsKind.NOTE or group.text == words.instead
    return not words.moves or words.moves == moves_said(lesson, words.place)


def holding_words(lesson: Lesson, language: str, blocks: Sequence[StepBlock]) -> tuple[OwnWords, ...]:
    """The words of a language that hold for what the program says, as ``blocks``."""
    headings = {block_place(lesson, block) for block in blocks}
    said = {place: group for block in blocks for group, place in group_places(lesson, block) if place}
    return tuple(
        words
        for words in lesson.own_words
        if words.language == language
        and (words.place in headings or (words.place in said and _still_holds(lesson, words, said)))
    )


def _said_otherwise(group: StepGroup, text: str) -> Iterator[Step]:
    """A group that says this; it keeps its steps, since those of all languages stand side by side."""
    for number, step in enumerate(group.steps):
        yield replace(step, text="" if number else text)


def _notes(words: Iterable[OwnWords], place: StepPlace, language: str) -> Iterator[Step]:
    """Steps of the notes at a place; those of other languages say nothing in this one."""
    for one in words:
        if one.kind is WordsKind.NOTE and one.place == place:
            yield Step(one.text if one.language == language else "", StepKind.NOTE)


def _block_with(lesson: Lesson, block: StepBlock, words: Sequence[OwnWords], language: str) -> StepBlock:
    place = block_place(lesson, block)
    own = {(one.kind, one.place): one.text for one in words if one.language == language}
    steps: list[Step] = [*_notes(words, place, language)]
    for group, at in group_places(lesson, block):
        assert at is not None, "the program says no notes"
        text = own.get((WordsKind.SENTENCE, at))
        steps += group.steps if text is None else _said_otherwise(group, text)
        steps += _notes(words, at, language)
    return replace(block, title=own.get((WordsKind.HEADING, place), block.title), steps=tuple(steps))


def with_own_words(lesson: Lesson, language: str, blocks: Sequence[StepBlock]) -> tuple[StepBlock, ...]:
    """What the program says in a language, with a person's own words where they hold.

    The blocks have the same steps in every language; what is said in one of them alone is empty in the others.
    """
    if not lesson.own_words:
        return tuple(blocks)
    languages = dict.fromkeys([language, *(words.language for words in lesson.own_words)])
    holding = {words for one in languages for words in holding_words(lesson, one, blocks)}
    words = [one for one in lesson.own_words if one in holding]
    return tuple(_block_with(lesson, block, words, language) for block in blocks)
