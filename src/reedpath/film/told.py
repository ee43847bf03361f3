"""What is told: steps grouped into captions, and how long it takes to read them.

The steps of a lesson are the same in every language but for their words, so a caption is named by the places of
its steps, and lasts as long as the slowest language needs.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from reedpath.lesson import Lesson, Step, StepBlock, StepKind, steps_of

__all__ = ["Page", "Told", "reading_seconds", "told_groups"]

# characters read in a second while something else is watched, and seconds that the shortest caption needs:
# 150 to 180 words a minute and 1.5 s, Karamitroglou, "A proposed set of subtitling standards in Europe",
# Translation Journal 2/2 (1998), from memory
READ_CHARACTERS, LEAST_READ_SECONDS = 15.0, 1.5
# seconds before the eyes have found a new caption; common practice, no source
FOUND_SECONDS = 0.3
# characters that a caption holds: two lines of 42; common practice, no source
MOST_CHARACTERS = 84

# kinds of step that are told together when they are about one event
_OF_AN_EVENT = frozenset({StepKind.MOVE, StepKind.HOLD, StepKind.REST, StepKind.BREATH, StepKind.CHANGE})


def reading_seconds(characters: int) -> float:
    """How long a caption must stand to be read beside a picture.

    >>> reading_seconds(60)
    4.3
    """
    return max(LEAST_READ_SECONDS, FOUND_SECONDS + characters / READ_CHARACTERS)


@dataclass(frozen=True, slots=True)
class Page:
    """Steps that stand on the screen together: from ``first`` up to ``stop`` of a block; seconds to read them."""

    first: int
    stop: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Told:
    """Steps that belong together.

    block : index in `steps_of`.
    kind : of its first step.
    first, last : the events it is about, None where it is about none.
    pages : one caption after the other.
    """

    block: int
    kind: StepKind
    first: int | None
    last: int | None
    pages: tuple[Page, ...]

    @property
    def seconds(self) -> float:
        """Seconds to read all of it."""
        return sum(page.seconds for page in self.pages)


def _runs(steps: Sequence[Step]) -> Iterator[tuple[int, int]]:
    """From where to where steps belong together."""

    def key(pair: tuple[int, Step]) -> tuple[object, ...]:
        place, step = pair
        if step.kind in _OF_AN_EVENT:
            return ("event", step.first)
        return (step.kind, step.first) if step.kind in (StepKind.SPOT, StepKind.INTRO) else (place,)

    for _, run in groupby(enumerate(steps), key=key):
        places = [place for place, _ in run]
        yield places[0], places[-1] + 1


def _pages(lengths: Sequence[int], first: int, stop: int) -> Iterator[Page]:
    """Steps put on as few pages as their lengths, in characters of the longest language, allow."""
    begin, filled = first, 0
    for place in range(first, stop):
        if place > begin and filled + 1 + lengths[place] > MOST_CHARACTERS:
            yield Page(begin, place, reading_seconds(filled))
            begin, filled = place, 0
        filled += lengths[place] + (place > begin)
    yield Page(begin, stop, reading_seconds(filled))


def told_groups(lesson: Lesson) -> tuple[tuple[StepBlock, ...], tuple[Told, ...]]:
    """The blocks of steps in the lesson's first language, and all their groups in order."""
    spoken = [steps_of(lesson, language) for language in lesson.languages]
    groups: list[Told] = []
    for index, block in enumerate(spoken[0]):
        lengths = [
            max(len(blocks[index].steps[place].text) for blocks in spoken) for place in range(len(block.steps))
        ]
        for first, stop in _runs(block.steps):
            steps = block.steps[first:stop]
            events = [one for step in steps for one in (step.first, step.last) if one is not None]
            groups.append(
                Told(
                    index,
                    steps[0].kind,
                    min(events, default=None),
                    max(events, default=None),
                    tuple(_pages(lengths, first, stop)),
                )
            )
    return spoken[0], tuple(groups)
