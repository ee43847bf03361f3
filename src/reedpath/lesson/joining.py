"""Joining: when the parts learnt so far are played from the start, and what is told of how they join.

In a lesson of few new parts that is after each from the second on. In a longer one it is when half as much again has
been learnt as the last time: often at first, and seldom when there is much of it. Everything from the start to the
end comes last, whatever came before.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from fractions import Fraction

from msgspec import Struct

from reedpath.arrange import RouteEvent
from reedpath.harp import Move
from reedpath.lesson.model import Lesson, Step, StepKind
from reedpath.lesson.sentences import LEAP_HOLES, Speaker, ending_move
from reedpath.lesson.spoken_route import COUNTED_REST, SAID_REST, SpokenRoute
from reedpath.wording import hole_words, move_words

__all__ = ["Join", "joins_of", "seam_step"]

# new parts after each of which a lesson is played from the start; common practice, no source
FEW_PARTS = 4
# times as long as the last time, from which a longer lesson is played from the start again; our choice
GROWTH = Fraction(3, 2)
# joins of two parts that are told at a time; our choice
MOST_SEAMS = 2


class Join(Struct, frozen=True):
    """Parts played from the start.

    last : index of the last part that is played.
    seams : indexes of parts of whose beginning it is told how it joins on to the part before.
    """

    last: int
    seams: tuple[int, ...]


def _length(lesson: Lesson, part: int) -> Fraction:
    """Beats from the first note to the end of a part."""
    events = lesson.route.events
    return events[lesson.parts[part].last].event.end - events[0].event.onset


def _ends(lesson: Lesson) -> list[int]:
    """The parts up to which a lesson is played from the start, in order."""
    new = [index for index, part in enumerate(lesson.parts) if part.same_as is None]
    ends: list[int] = []
    for index in new[1:-1]:
        if len(new) <= FEW_PARTS or not ends or _length(lesson, index) >= GROWTH * _length(lesson, ends[-1]):
            ends.append(index)
    if len(lesson.parts) > 1:
        ends.append(len(lesson.parts) - 1)
    return ends


def _moves_between(events: Sequence[RouteEvent], first: int) -> tuple[Move, Move] | None:
    """The move that sounds before an event and the one that it begins with; None where nothing is played."""
    before, now = ending_move(events[first - 1]), events[first].choice
    if before is None or now.move is None:
        return None
    return before, now.lead_in[0] if now.lead_in else now.move


def _way_into(events: Sequence[RouteEvent], first: int) -> Hashable:
    """What a player does on the way into an event: equal ways are told once; None where nothing is played."""
    moves = _moves_between(events, first)
    return None if moves is None else (*moves, events[first].event.onset - events[first - 1].event.end)


def _seams(lesson: Lesson, first: int, last: int, told: set[Hashable]) -> tuple[int, ...]:
    """Parts from one to another whose beginnings are worth telling: the hardest few of those not ``told`` before."""
    events = lesson.route.events
    ways: dict[Hashable, int] = {}
    for index in range(max(1, first), last + 1):
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
    for last in _ends(lesson):
        first = joins[-1].last + 1 if joins else 1
        joins.append(Join(last, _seams(lesson, first, last, told)))
    return tuple(joins)


def _way(speaker: Speaker, before: Move, after: Move, *, in_time: bool) -> str | None:
    """The clause of how far the mouth goes and whether the breath turns; None where there is nothing to say.

    in_time : whether there is no rest in which the breath could turn.
    """
    turns = in_time and before.breath is not after.breath
    way = after.holes[0] - before.holes[0]
    if abs(way) >= LEAP_HOLES:
        side = "up" if way > 0 else "down"
        return speaker.say(f"seam.{side}_turn" if turns else f"seam.{side}", count=abs(way))
    return speaker.say("seam.turn") if turns else None


def seam_step(lesson: Lesson, spoken: SpokenRoute, part: int, named: str) -> Step:
    """How a part, called so, joins on to the one before: holes and breath, a leap, the time between."""
    first, speaker = lesson.parts[part].first, spoken.speaker
    words = speaker.catalogue
    moves = _moves_between(lesson.route.events, first)
    assert moves is not None, "only joins of what is played are told"
    before, after = moves
    if before == after:
        text = speaker.say("seam.same", part=named, place=hole_words(after, words))
    else:
        between = [move_words(move, words, short=True) for move in moves]
        text = speaker.say("seam.into", part=named, before=between[0], after=between[1])
    rest = spoken.silence(first)
    clauses = [_way(speaker, before, after, in_time=rest < COUNTED_REST)]
    if rest >= SAID_REST:
        clauses.append(speaker.say("seam.rest", beats=spoken.length_words(first, spoken.gap(first))))
    elif spoken.event(first).breathe_before:
        clauses.append(speaker.say("seam.breath"))
    for clause in filter(None, clauses):
        text = speaker.say("clause.link", a=text, b=clause)
    return Step(words.sentence(text), StepKind.SEAM, first - 1, first)
