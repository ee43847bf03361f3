"""Alike: the same figure is fingered the same way wherever it comes, unless that costs clearly more.

Events of one place in a figure form a group. Sought is the route of least cost, plus ``alike.points`` for each group
whose events take different choices. Branch and bound finds it: a free search first; where a group differs, one branch
for each of its choices, kept by all its events, and one that lets the group be. Every branch is an exact search, and
its cost, with the points of the groups let be, is a bound from below for all that comes of it; so the first branch
where no other group differs is the best. The worst case grows exponentially, so the branches are counted; where they
run out, the best route known is taken, and how far from the best it may be is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from heapq import heappop, heappush
from itertools import count
from math import isfinite
from typing import TypeAlias

import numpy as np
from msgspec import Struct

from reedpath.arrange.demands import Pace
from reedpath.arrange.lungs import Air
from reedpath.arrange.passes import EventChoices
from reedpath.arrange.route import Unlike
from reedpath.arrange.search import Layer, Path, shortest_path

# numbers of the events that stand at one place of a figure
Group: TypeAlias = tuple[int, ...]

# events from which on a run that comes again is a figure; common practice, no source
LEAST_FIGURE = 3
# events up to which figures are looked for; the looking grows with the square
MOST_EVENTS = 2_000
# branches gone into for one route: seven were enough on 35 phrases with figures (trial), the rest is for odd ones
MOST_SEARCHES = 40
# decimals to which two lengths count as the same, seconds
DECIMALS = 6


class Alike(Struct, frozen=True):
    """A route whose figures are alike where that is worth it.

    path : the route.
    unlike : the places that differ all the same.
    short_of : points by which a better route might still be found, 0 where this is the best.
    """

    path: Path
    unlike: tuple[Unlike, ...] = ()
    short_of: float = 0.0


class _Branch(Struct, frozen=True):
    """A part of all routes, by its best.

    path : the best route that keeps ``keep``.
    keep : the choice that an event has to take, by its number.
    let_be : groups that may differ.
    """

    path: Path
    keep: Mapping[int, int]
    let_be: frozenset[Group]


def _runs(asks: Sequence[int], rhythm: Sequence[float]) -> Iterator[tuple[int, int, int]]:
    """Longest runs of events that come again later without overlap: first event, first event again, length.

    asks : what each event asks for.
    rhythm : time from the onset before to each.
    """
    size, asked = len(asks), np.array(asks)
    paced = np.append(rhythm, np.nan)
    length = np.zeros(size + 1, dtype=np.intp)  # of the run that starts at `first` and again at each event
    for first in range(size - 1, -1, -1):
        later = np.arange(first + 1, size)
        onward = np.where(paced[later + 1] == paced[first + 1], length[later + 1], 0)
        length[later] = np.where(asked[later] == asked[first], onward + 1, 0)
        apart = np.minimum(length[later], later - first)
        for again in later[apart >= LEAST_FIGURE].tolist():
            yield first, again, int(min(length[again], again - first))


def groups_of(ask_of: Sequence[int], pace: Pace) -> tuple[Group, ...]:
    """The groups of a phrase's figures.

    A figure is a run of at least three events that ask for the same, their onsets in the same rhythm, as a later run.
    """
    size = len(ask_of)
    if not 2 * LEAST_FIGURE <= size <= MOST_EVENTS:
        return ()
    parent = list(range(size))

    def root(event: int) -> int:
        while parent[event] != event:
            parent[event] = parent[parent[event]]
            event = parent[event]
        return event

    for first, again, length in _runs(ask_of, np.round(pace.have, DECIMALS).tolist()):
        for step in range(length):
            one, other = sorted((root(first + step), root(again + step)))
            parent[other] = one
    found: dict[int, list[int]] = {}
    for event in range(size):
        found.setdefault(root(event), []).append(event)
    return tuple(tuple(events) for events in found.values() if len(events) > 1)


def _kept(layers: Sequence[Layer], keep: Mapping[int, int]) -> list[Layer]:
    """The layers with only the kept choice of some events, and what the rest costs at least anew."""
    cut: list[tuple[list[list[float]], list[float]]] = []
    before: int | None = None
    for index, layer in enumerate(layers):
        here = keep.get(index)
        costs = [list(row) for row in layer.costs] if before is None else [list(layer.costs[before])]
        flow = list(layer.flow)
        if here is not None:
            costs, flow = [[row[here]] for row in costs], [flow[here]]
        cut.append((costs, flow))
        before = here
    result: list[Layer] = []
    to_go = [0.0] * len(cut[-1][1])
    for costs, flow in reversed(cut):
        result.append(Layer(costs, to_go, flow))
        to_go = [min(map(float.__add__, row, to_go)) for row in costs]
    return result[::-1]


def open_layers(events: Sequence[EventChoices]) -> list[Layer]:
    """The choices of events as layers, those barred at no price that could be paid."""
    barred = [np.where(event.open, event.costs, np.inf).tolist() for event in events]
    layers = [Layer(costs, [0.0] * len(event.flow), event.flow) for costs, event in zip(barred, events, strict=True)]
    return _kept(layers, {})


def _searched(layers: Sequence[Layer], air: Air, keep: Mapping[int, int]) -> Path:
    if not keep:
        return shortest_path(layers, air)
    path = shortest_path(_kept(layers, keep), air)
    choices = tuple(keep.get(index, choice) for index, choice in enumerate(path.choices))
    return Path(choices, path.breathe, path.cost, path.start)


def _differing(path: Path, groups: Sequence[Group]) -> list[Group]:
    return [group for group in groups if len({path.choices[event] for event in group}) > 1]


def _open_choices(layers: Sequence[Layer], group: Group) -> list[int]:
    """The choices that all events of a group can take: those barred (`open_layers`) are on no path."""
    layer = layers[group[0]]
    is_open = [any(isfinite(row[choice]) for row in layer.costs) for choice in range(len(layer.flow))]
    return [choice for choice, able in enumerate(is_open) if able]


def _branches(
    branch: _Branch, group: Group, layers: Sequence[Layer], air: Air, groups: Sequence[Group]
) -> Iterator[_Branch]:
    """The parts of a branch: all of a group one choice, whichever it be, or the group let be."""
    for choice in _open_choices(layers, group):
        keep = {**branch.keep, **dict.fromkeys(group, choice)}
        yield _Branch(_searched(layers, air, keep), keep, branch.let_be)
    yield _Branch(branch.path, branch.keep, branch.let_be | {group})


def _unlike(path: Path, layers: Sequence[Layer], air: Air, groups: Sequence[Group]) -> tuple[Unlike, ...]:
    """The groups that differ in a path, each with what it would cost to have it alike and all else free."""
    found = []
    for group in _differing(path, groups):
        choices = _open_choices(layers, group)
        least = min(_searched(layers, air, dict.fromkeys(group, choice)).cost for choice in choices)
        found.append(Unlike(group, max(0.0, least - path.cost)))
    return tuple(found)


def alike_path(
    layers: Sequence[Layer], air: Air, groups: Sequence[Group], points: float, *, most: int = MOST_SEARCHES
) -> Alike:
    """The best path through layers whose groups are alike where that costs less than ``points`` each.

    groups : events with the same choices (see `groups_of`).
    most : branches after which the best known is taken.
    """
    if not layers:
        return Alike(shortest_path(layers, air))

    def total(path: Path) -> float:
        return path.cost + points * len(_differing(path, groups))

    best = shortest_path(layers, air)
    ticks, short_of = count(), 0.0
    heap = [(best.cost, next(ticks), _Branch(best, {}, frozenset()))]
    while heap:
        bound, tick, branch = heappop(heap)
        left = [group for group in _differing(branch.path, groups) if group not in branch.let_be]
        best = min(best, branch.path, key=total)
        if not left or bound >= total(best):
            break
        if tick >= most:
            short_of = total(best) - bound
            break
        for part in _branches(branch, left[0], layers, air, groups):
            least = part.path.cost + points * len(part.let_be)
            if least < total(best):
                heappush(heap, (least, next(ticks), part))
    return Alike(best, _unlike(best, layers, air, groups), short_of)
