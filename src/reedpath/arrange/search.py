"""The exact search: the route of least effort, lungs and embouchure in the state.

Layered shortest path (Sayegh, Computer Music Journal 13(3), 1989) whose states hold the choice, its embouchure and
the level of air, with a breath possible before any event. It finds the true minimum of

    sum over events of  terms(choice before, choice) + price * truth lost + air(level)

by going forward with labels, one per state reached, and dropping every label whose cost so far plus the least that
the rest costs without air (`relaxed`, a bound from below) exceeds the cost of a good route, found first by keeping
only a few labels per event. No label of a better route is ever dropped (branch and bound; the bound is that of A*,
Hart, Nilsson & Raphael, IEEE Trans. SSC 4(2), 1968). Where the air asks nothing, one label an event survives; at
worst, all states do.
Exactness against exhaustive enumeration is a property test.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, isfinite
from typing import TypeAlias

from msgspec import Struct

from reedpath.arrange.lungs import Air

# a label: choice and level -> cost so far, the label before, whether a breath was taken
_Labels: TypeAlias = dict[tuple[int, int], tuple[float, tuple[int, int], bool]]

# a way to begin an event: choice before, level, cost, the label it comes from, whether by a breath
_Start: TypeAlias = tuple[int, int, float, tuple[int, int], bool]

# labels kept per event while looking for a good route first; its size only matters for speed
BEAM_LABELS = 6
# points; a route that costs as much as the one known is still found, whatever the rounding
TOLERANCE = 1e-9


class Layer(Struct, frozen=True):
    """One event's choices.

    costs : points of each pair, ``costs[before][here]``, truth's price included; the first layer has one row.
    to_go : least points of all later events after each choice, air left out.
    flow : litres a second of each choice into the lungs.
    """

    costs: Sequence[Sequence[float]]
    to_go: Sequence[float]
    flow: Sequence[float]


class Path(Struct, frozen=True):
    """The best way through the layers.

    choices : which of its layer's choices each event takes.
    breathe : whether a breath is taken before each event.
    cost : points, the price of lost truth included.
    start : level of air before the first event.
    """

    choices: tuple[int, ...]
    breathe: tuple[bool, ...]
    cost: float
    start: int


def _starts(labels: _Labels, air: Air, index: int) -> list[_Start]:
    """Ways to begin an event: from every label after the rest, and from each choice's cheapest after a breath."""
    rest = air.drift[index] > 0
    starts = [
        (state[0], air.drifted(state[1], index) if rest else state[1], label[0], state, False)
        for state, label in labels.items()
    ]
    if isfinite(air.breath_points[index]):
        cheapest: dict[int, _Start] = {}
        for start in starts:
            if start[0] not in cheapest or start[2] < cheapest[start[0]][2]:
                cheapest[start[0]] = start
        starts += [
            (choice, air.middle, cost + air.breath_points[index], before, True)
            for choice, _, cost, before, _ in cheapest.values()
        ]
    return starts


def _advance(labels: _Labels, layer: Layer, air: Air, index: int, most: float) -> _Labels:
    """Labels after an event; the innermost loop of the search, hence `Air.after` written out for the usual case."""
    reached: _Labels = {}
    starts = _starts(labels, air, index)
    discomfort, top = air.discomfort, air.top
    for here, (flow, to_go) in enumerate(zip(layer.flow, layer.to_go, strict=True)):
        change, room = air.change(flow, index), most - to_go
        costs = [row[here] for row in layer.costs]
        for choice, start, cost, before, breathed in starts:
            total = cost + costs[choice]
            if total > room:
                continue
            level = start + change
            if 0 <= level <= top:
                total += discomfort[level]
            else:
                level, points = air.after(start, change)
                total += points
            if total <= room:
                state = (here, level)
                known = reached.get(state)
                if known is None or total < known[0]:
                    reached[state] = (total, before, breathed)
    return reached


def _best_of(labels: _Labels, layer: Layer, width: int) -> _Labels:
    """The most promising labels, by cost so far and the least to come."""
    if len(labels) <= width:
        return labels
    promising = sorted(labels, key=lambda state: labels[state][0] + layer.to_go[state[0]])
    return {state: labels[state] for state in promising[:width]}


def _first_labels(air: Air) -> _Labels:
    """Silence at every level of air with which a player may begin."""
    return {(0, level): (points, (0, level), False) for level, points in air.starts}


def _good_cost(layers: Sequence[Layer], air: Air) -> float:
    """Cost of a good route, found by keeping a few labels per event."""
    labels = _first_labels(air)
    for index, layer in enumerate(layers):
        labels = _best_of(_advance(labels, layer, air, index, inf), layer, BEAM_LABELS)
    return min(label[0] for label in labels.values())


def shortest_path(layers: Sequence[Layer], air: Air) -> Path:
    """The path of least cost through layers of choices."""
    if not layers:
        return Path((), (), 0.0, air.middle)
    most = _good_cost(layers, air) + TOLERANCE
    labels = _first_labels(air)
    trail = []
    for index, layer in enumerate(layers):
        labels = _advance(labels, layer, air, index, most)
        trail.append(labels)
    state = min(trail[-1], key=lambda one: trail[-1][one][0])
    total = trail[-1][state][0]
    choices: list[int] = []
    breaths: list[bool] = []
    for reached in reversed(trail):
        choices.append(state[0])
        _, state, breathed = reached[state]
        breaths.append(breathed)
    return Path(tuple(reversed(choices)), tuple(reversed(breaths)), total, state[1])
