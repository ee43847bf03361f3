"""Forward and backward: for every choice of every event, what the best whole route through it costs, air included.

Going forward over the events gives, for each choice and level of air, the least that everything up to it costs; going
backward, the least that everything after it costs. The two added up, and the least of that over the levels, are the
cost of the best route through that choice (min-marginals, as forward and backward passes over a layered path give
them). Some choices may be barred: no route goes through them, but what a route through one of them alone would cost
is known all the same. Where the choices of one event change, only what lies after it is gone through again forward,
and what lies before it backward.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from reedpath.arrange.lungs import Air

Points: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.intp]
Mask: TypeAlias = NDArray[np.bool_]


class _Held(Struct, frozen=True):
    """What an event's choices do to the air.

    change : shape (choices,), levels that each adds.
    level : shape (choices, levels), the level after each from every level before.
    points : likewise, what the air costs there.
    """

    change: tuple[int, ...]
    level: Ints
    points: Points


class EventChoices(Struct, frozen=True):
    """The choices of one event.

    rows : table row of each choice.
    costs : points of each pair, shape (choices before, choices), truth's price included; the first event has one
        choice before, silence.
    flow : litres a second of each choice into the lungs.
    open : which of them a route may take, at least one.
    """

    rows: Ints
    costs: Points
    flow: tuple[float, ...]
    open: Mask

    def like(self, other: EventChoices) -> bool:
        """Whether a route may take the same choices at the same cost as of another."""
        same = self.costs is other.costs or np.array_equal(self.costs, other.costs)
        as_open = self.open is other.open or np.array_equal(self.open, other.open)
        return same and as_open and self.flow == other.flow


@dataclass(frozen=True)
class Passes:
    """What comes of going both ways, each way gone when it is asked for: the best route needs only one of them.

    events : the choices of each event.
    held : what the choices of each event do to the air.
    known_so_far, known_to_come : what is known of `so_far` for the first events, and of `to_come` for the last.
    """

    events: tuple[EventChoices, ...]
    air: Air
    held: tuple[_Held, ...]
    known_so_far: tuple[Points, ...] = ()
    known_to_come: tuple[Points, ...] = ()

    @cached_property
    def so_far(self) -> tuple[Points, ...]:
        """Per event shape (choices, levels), least cost up to it where it ends there, of barred choices too."""
        return _forward(self.events, self.held, self.air, self.known_so_far)

    @cached_property
    def to_come(self) -> tuple[Points, ...]:
        """Likewise, least cost of all that comes after it."""
        return _backward(self.events, self.held, self.air, self.known_to_come)

    def found(self) -> tuple[tuple[Points, ...], tuple[Points, ...]]:
        """`so_far` and `to_come` as far as they are known without going any way."""
        there = vars(self)
        return there.get("so_far", self.known_so_far), there.get("to_come", self.known_to_come)

    def through(self, event: int) -> Points:
        """Cost of the best route through each choice of an event, shape (choices,)."""
        least: Points = (self.so_far[event] + self.to_come[event]).min(axis=1)
        return least

    @property
    def cost(self) -> float:
        """Cost of the best route, points, the price of lost truth included."""
        if not self.events:
            return 0.0
        return float(self.through(0)[self.events[0].open].min())

    def best(self) -> tuple[tuple[int, ...], tuple[bool, ...], int]:
        """The best route: which choice each event takes, whether a breath comes before it, the air at the start."""
        air, level, before, first = self.air, self.air.middle, 0, self.air.middle
        choices: list[int] = []
        breaths: list[bool] = []
        for index, (event, held, to_come) in enumerate(zip(self.events, self.held, self.to_come, strict=True)):
            starts = list(air.starts) if index == 0 else [(air.drifted(level, index), 0.0)]
            if index and np.isfinite(air.breath_points[index]):
                starts.append((air.middle, air.breath_points[index]))
            every, barred = np.arange(len(event.rows)), ~event.open
            least, start, choice = np.inf, 0, 0
            for number, (at, points) in enumerate(starts):
                total = event.costs[before] + held.points[:, at] + points + to_come[every, held.level[:, at]]
                total[barred] = np.inf
                nearest = int(total.argmin())
                if total[nearest] < least:
                    least, start, choice = total[nearest], number, nearest
            first = first if index else starts[start][0]
            before, level = choice, int(held.level[choice, starts[start][0]])
            choices.append(before)
            breaths.append(index > 0 and bool(start))
        return tuple(choices), tuple(breaths), first


def _held(event: EventChoices, air: Air, index: int, known: dict[tuple[object, ...], _Held]) -> _Held:
    key = (event.flow, air.duration[index])
    found = known.get(key)
    if found is None:
        change = tuple(air.change(flow, index) for flow in event.flow)
        wanted = np.arange(air.top + 1) + np.array(change)[:, None]
        level = np.clip(wanted, 0, air.top)
        points = np.asarray(air.discomfort)[level] + air.beyond_points * np.abs(wanted - level)
        found = known[key] = _Held(change, level, points)
    return found


def _after_rest(costs: Points, air: Air, index: int) -> Points:
    """Least costs by level once the rest before an event has let the air drift to the middle."""
    drift, middle = air.drift[index], air.middle
    if not drift:
        return costs
    low, high = max(middle - drift, 0), min(middle + drift, air.top)
    rested = np.full_like(costs, np.inf)
    rested[:, middle] = costs[:, low : high + 1].min(axis=1)
    if high < air.top:
        rested[:, middle + 1 : middle + 1 + air.top - high] = costs[:, high + 1 :]
    if low > 0:
        rested[:, middle - low : middle] = costs[:, :low]
    return rested


def _start(so_far: Points, before: EventChoices, air: Air, index: int) -> Points:
    """Least cost of beginning an event at each level, by the choice before."""
    costs = _after_rest(np.where(before.open[:, None], so_far, np.inf), air, index)
    if np.isfinite(air.breath_points[index]):
        costs = costs.copy()
        costs[:, air.middle] = np.minimum(costs[:, air.middle], costs.min(axis=1) + air.breath_points[index])
    return costs


def _moved_on(costs: Points, held: _Held, top: int) -> Points:
    """Costs by the level before an event as costs by the level after it."""
    after = np.full_like(costs, np.inf)
    size = top + 1
    for choice, change in enumerate(held.change):
        step = min(abs(change), top)
        here = costs[choice]
        if change >= 0:
            after[choice, step:] = here[: size - step]
            after[choice, top] = here[top - step :].min()
        else:
            after[choice, : size - step] = here[step:]
            after[choice, 0] = here[: step + 1].min()
    return after


def _forward(
    events: Sequence[EventChoices], held: Sequence[_Held], air: Air, known: Sequence[Points]
) -> tuple[Points, ...]:
    """Least costs so far, those of the first events known already."""
    so_far = list(known)
    for index in range(len(so_far), len(events)):
        if index == 0:
            start = np.full((1, air.top + 1), np.inf)
            for level, points in air.starts:
                start[0, level] = points
        else:
            start = _start(so_far[-1], events[index - 1], air, index)
        reached = (start[:, None, :] + events[index].costs[:, :, None]).min(axis=0)
        so_far.append(_moved_on(reached + held[index].points, held[index], air.top))
    return tuple(so_far)


def _drifted(air: Air, index: int) -> Ints:
    """Level after the rest before an event, from every level."""
    away = np.arange(air.top + 1) - air.middle
    left: Ints = air.middle + np.sign(away) * np.maximum(np.abs(away) - air.drift[index], 0)
    return left


def _backward(
    events: Sequence[EventChoices], held: Sequence[_Held], air: Air, known: Sequence[Points]
) -> tuple[Points, ...]:
    """Least costs to come, those of the last events known already."""
    to_come = list(reversed(known))
    if not to_come and events:
        to_come.append(np.zeros((len(events[-1].rows), air.top + 1)))
    for index in range(len(events) - len(to_come), 0, -1):
        event = events[index]
        here = np.take_along_axis(to_come[-1], held[index].level, axis=1) + held[index].points
        here = here[event.open]
        started = (event.costs[:, event.open, None] + here).min(axis=1)
        rested = started[:, _drifted(air, index)] if air.drift[index] else started
        if np.isfinite(air.breath_points[index]):
            rested = np.minimum(rested, started[:, [air.middle]] + air.breath_points[index])
        to_come.append(rested)
    return tuple(reversed(to_come))


def go_both_ways(events: Sequence[EventChoices], air: Air, before: Passes | None = None) -> Passes:
    """Forward and backward over the choices of some events.

    before : what came of it when some of the choices were others; what still holds of it is not gone through again.
    """
    count = len(events)
    first, last = 0, count - 1
    if before is not None and (len(before.events) != count or before.air is not air):
        before = None
    if before is not None:
        changed = [index for index in range(count) if not events[index].like(before.events[index])]
        first, last = (changed[0], changed[-1]) if changed else (count, -1)
    known: dict[tuple[object, ...], _Held] = {}
    held = tuple(
        before.held[index]
        if before is not None and event.flow is before.events[index].flow
        else _held(event, air, index, known)
        for index, event in enumerate(events)
    )
    so_far, to_come = before.found() if before is not None else ((), ())
    after = count - 1 - last  # events after the last that changed
    return Passes(tuple(events), air, held, so_far[:first], to_come[max(0, len(to_come) - after) :])
