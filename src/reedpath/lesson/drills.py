"""Drills: the hard spots of a route as things to practise apart, each with a ladder of its own.

The search already gives each spot with the event that leads into it. Here a spot that is too long to be a drill
is split, and one that only repeats another is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from msgspec.structs import replace

from reedpath.arrange import Route, Spot
from reedpath.lesson.ladder import spot_ladder
from reedpath.lesson.model import Drill, Lesson, LessonPart
from reedpath.lesson.parts import parts_of
from reedpath.lesson.repeats import tokens_of
from reedpath.phrase import Phrase, timing_of, trimmed

# events of a drill; longer ones are parts, not drills (common practice, no source)
LONGEST = 8
# drills of a lesson; more would be forgotten (common practice, no source)
MOST = 5
# times in a row at each rung. A drill is what goes wrong most: where two tries in three go right, five in a row take
# 20 tries on average and three take 7, at four in five still 10 and 5 ((1 - p^n) / ((1 - p) p^n), arithmetic). For
# five in a row no study is known, and wrong tries cost the next day (Duke, Simmons & Cash, JRME 56(4), 2009)
TIMES = 3
# share of a spot that may lie in another one before it counts as that one; common practice, no source
ALREADY_SHARE = 0.5


def _effort(route: Route, first: int, last: int) -> float:
    return sum(event.effort.total for event in route.events[first : last + 1])


def _pieces(route: Route, spot: Spot) -> Iterator[Spot]:
    """A spot in pieces short enough to be drills; each but the first begins with the last event of the one
    before.
    """
    if spot.last - spot.first < LONGEST:
        yield spot
        return
    first = spot.first
    while first < spot.last:
        last = min(first + LONGEST - 1, spot.last)
        yield replace(spot, first=first, last=last, effort=_effort(route, first, last))
        first = last


def _first_met(parts: Sequence[LessonPart], index: int) -> int:
    """The event that a student meets first in place of one in a repeated part."""
    part = next(one for one in parts if one.first <= index <= one.last)
    offset = index - part.first
    if part.same_as is not None:
        return _first_met(parts, parts[part.same_as].first + offset)
    if part.like is not None and offset < part.shared:
        return _first_met(parts, parts[part.like].first + offset)
    return index


def _core(spot: Spot) -> range:
    """The events of a spot without the one that leads into it."""
    return range(min(spot.first + 1, spot.last), spot.last + 1)


def _holds(sequence: Sequence[int], piece: Sequence[int]) -> bool:
    starts = range(len(sequence) - len(piece) + 1)
    return any(sequence[start : start + len(piece)] == piece for start in starts)


def _distinct(route: Route, spots: Sequence[Spot], parts: Sequence[LessonPart]) -> list[Spot]:
    """The spots without those that mostly lie where others do, in the same part or one it repeats, or that play
    only what another plays.
    """
    notes = tokens_of(route.events)[::2]
    kept: list[Spot] = []
    covered: set[int] = set()
    for spot in spots:
        places = {_first_met(parts, index) for index in _core(spot)}
        played = [notes[index] for index in _core(spot)]
        elsewhere = any(_holds([notes[index] for index in _core(one)], played) for one in kept)
        if len(places - covered) > len(places) * ALREADY_SHARE and not elsewhere:
            kept.append(spot)
            covered |= places
    return kept


def drills_of(route: Route, parts: Sequence[LessonPart] | None = None) -> tuple[Drill, ...]:
    """The spots of a route to practise apart, the hardest first; none where no spot stands out.

    parts : the lesson's parts, found anew for None; a spot in a part that repeats another is not drilled twice.
    """
    pieces = [piece for spot in route.spots for piece in _pieces(route, spot)]
    ranked = sorted(pieces, key=lambda spot: (-spot.effort, spot.first))
    drills = []
    for spot in _distinct(route, ranked, parts_of(route) if parts is None else parts)[:MOST]:
        drills.append(Drill(spot, TIMES, spot_ladder(route, spot.first, spot.last)))
    return tuple(drills)


def drill_phrase(route: Route, spot: Spot) -> Phrase:
    """The stretch of a route's phrase that a spot covers, as a phrase of its own.

    It begins with the beat in which the spot's first event begins, so that swing and bar lines stay as they are.
    """
    events = tuple(one.event for one in route.events[spot.first : spot.last + 1])
    timing = timing_of(route.phrase)
    # a triplet that makes a beat straight may lie outside the stretch
    straight = tuple(beat + timing.phase for beat in sorted(timing.straight_beats))
    alone = replace(route.phrase, events=events, parts=(), repeats=(), left_out=(), straight=straight)
    into_beat = (events[0].onset - alone.pickup) % 1
    return trimmed(alone, max(Fraction(0), events[0].onset - into_beat), alone.end)


def drill_route(route: Route, spot: Spot) -> Route:
    """The stretch of a route that a spot covers, as a route of its own, played by the same moves."""
    phrase = drill_phrase(route, spot)
    played = route.events[spot.first : spot.last + 1]
    events = tuple(replace(one, event=event) for one, event in zip(played, phrase.events, strict=True))
    return replace(route, phrase=phrase, events=events, worst=None, spots=(), breathe_first=None, unlike=())


def taught_route(lesson: Lesson) -> Route:
    """The lesson's route with the lesson's drills as its spots, numbered as the lesson numbers them."""
    return replace(lesson.route, spots=tuple(drill.spot for drill in lesson.drills))
