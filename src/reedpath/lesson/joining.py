"""Joining: when parts that were learnt are played in one go, and which of their joins are told.

In a lesson of few new parts they are played from the start after each from the second on. In a longer one that is
when half as much again has been learnt as the last time: often at first, and seldom when there is much of it; in
between, some new parts in a row are joined by themselves. Everything from the start to the end comes last.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise

from msgspec import Struct

from reedpath.arrange import RouteEvent
from reedpath.harp import Move
from reedpath.lesson.model import Lesson
from reedpath.lesson.sentences import ending_move

# new parts after each of which a lesson is played from the start; common practice, no source
FEW_PARTS = 4
# times as long as the last time, from which a longer lesson is played from the start again; our choice
GROWTH = Fraction(3, 2)
# new parts in a row that a longer lesson joins by themselves; our choice
SECTION_PARTS = 4
# joins of two parts that are told at a time; our choice
MOST_SEAMS = 2


class Join(Struct, frozen=True):
    """Parts played in one go.

    first, last : indexes of the first and the last of them; all that was learnt where the first is 0.
    seams : indexes of parts of whose beginning it is told how it joins on to the part before.
    """

    first: int
    last: int
    seams: tuple[int, ...] = ()


def _length(lesson: Lesson, part: int) -> Fraction:
    """Beats from the first note to the end of a part."""
    events = lesson.route.events
    return events[lesson.parts[part].last].event.end - events[0].event.onset


def _stretches(lesson: Lesson) -> Iterator[tuple[int, int]]:
    """First and last of the parts that are played in one go, in order."""
    new = [index for index, part in enumerate(lesson.parts) if part.same_as is None]
    reached: Fraction | None = None
    row = 0  # new parts one after another since the last join
    for before, index in pairwise(new[:-1]):
        row = row + 1 if index == before + 1 and row else 1
        length = _length(lesson, index)
        if len(new) <= FEW_PARTS or reached is None or length >= GROWTH * reached:
            yield 0, index
            reached, row = length, 0
        elif row == SECTION_PARTS:
            yield index - SECTION_PARTS + 1, index
            row = 0
    if len(lesson.parts) > 1:
        yield 0, len(lesson.parts) - 1


def moves_between(events: Sequence[RouteEvent], first: int) -> tuple[Move, Move] | None:
    """The move that sounds before an event and the one that it begins with; None where nothing is played."""
    before, now = ending_move(events[first - 1]), events[first].choice
    if before is None or now.move is None:
        return None
    return before, now.lead_in[0] if now.lead_in else now.move


def _way_into(events: Sequence[RouteEvent], first: int) -> Hashable:
    """What a player does on the way into an event: equal ways are told once; None where nothing is played."""
    moves = moves_between(events, first)
    return None if moves is None else (*moves, events[first].event.onset - events[first - 1].event.end)


def _seams(lesson: Lesson, first: int, last: int, told: set[Hashable]) -> tuple[int, ...]:
    """Parts from one to another whose beginnings are worth telling: the hardest few of those not ``told`` before."""
    events = lesson.route.events
    ways: dict[Hashable, int] = {}
    for index in range(first, last + 1):
        way = _way_into(events, lesson.parts[index].first)
        if way is not None and way not in told:
            ways.setdefault(way, index)
    hardest = sorted(ways, key=lambda way: -events[lesson.parts[ways[way]].first].effort.total)[:MOST_SEAMS]
    told.update(hardest)
    return tuple(sorted(ways[way] for way in hardest))


def joins_of(lesson: Lesson) -> tuple[Join, ...]:
    """When the parts so far are played from the start, in order: each stands after its last part."""
    joins: list[Join] = []
    told: set[Hashable] = set()
    for first, last in _stretches(lesson):
        untold = joins[-1].last + 1 if joins else 1
        joins.append(Join(first, last, _seams(lesson, max(untold, first + 1), last, told)))
    return tuple(joins)
