"""The exact search: the route of least effort, lungs and embouchure in the state.

Layered shortest path by dynamic programming (Sayegh, Computer Music Journal 13(3), 1989), with two differences: the
state holds the level of air beside the choice, and a breath may be taken before any event. For n events with K
choices each and L levels it takes n * K * K * L additions and finds the true minimum of

    sum over events of  terms(choice before, choice) + price * truth lost + air(level)

Exactness against exhaustive enumeration is a property test.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from reedpath.arrange.lungs import Air, Levels
from reedpath.arrange.table import ChoiceTable, Rows

__all__ = ["Path", "StepCosts", "shortest_path"]

Points: TypeAlias = NDArray[np.float64]
# cost of each pair (choice before, choice here) of one event, shape (K before, K here), truth's price included
StepCosts: TypeAlias = Points


@dataclass(frozen=True, slots=True)
class Path:
    """The best way through the layers.

    rows : table row per event.
    breathe : whether a breath is taken before each event.
    cost : points, the price of lost truth included.
    """

    rows: tuple[int, ...]
    breathe: tuple[bool, ...]
    cost: float


@dataclass(frozen=True, slots=True)
class _Back:
    """Where each state of one event came from."""

    before: NDArray[np.intp]  # (K, L): choice before, by level before the drift
    drifted_from: NDArray[np.intp]  # (K, L): level before the drift
    breathed_from: NDArray[np.intp]  # (K,): level before the drift where a breath was taken, -1 for none
    sounded_from: NDArray[np.intp]  # (K, L): level before the note


def _merged(values: Points, target: Levels) -> tuple[Points, NDArray[np.intp]]:
    """Move values of shape (K, L) along the levels to a non-decreasing ``target``, keeping the least."""
    starts = np.flatnonzero(np.concatenate(([True], target[1:] != target[:-1])))
    result = np.full_like(values, np.inf)
    source = np.zeros(values.shape, dtype=np.intp)
    result[:, target[starts]] = np.minimum.reduceat(values, starts, axis=1)
    source[:, target[starts]] = starts
    sizes = np.diff(np.append(starts, len(target)))
    for start, size in zip(starts[sizes > 1], sizes[sizes > 1], strict=True):
        source[:, target[start]] = start + values[:, start : start + size].argmin(axis=1)
    return result, source


def _sounded(air: Air, values: Points, changes: Levels) -> tuple[Points, NDArray[np.intp]]:
    levels = np.arange(air.top + 1)
    result, source = np.empty_like(values), np.empty(values.shape, dtype=np.intp)
    for k, change in enumerate(changes):
        target, cost = air.after(levels, int(change))
        moved, came = _merged((values[k] + cost)[None], target)
        result[k], source[k] = moved[0], came[0]
    return result, source


def _advance(air: Air, index: int, values: Points, costs: StepCosts, flow: Points) -> tuple[Points, _Back]:
    through = values[:, None, :] + costs[:, :, None]
    before = through.argmin(axis=0)
    reached = np.take_along_axis(through, before[None], axis=0)[0]
    drifted, drifted_from = _merged(reached, air.drifted(np.arange(air.top + 1), index))
    breathed_from = np.full(len(flow), -1, dtype=np.intp)
    if np.isfinite(air.breath_points[index]):
        best = reached.argmin(axis=1)
        breathed = reached[np.arange(len(flow)), best] + air.breath_points[index]
        better = breathed < drifted[:, air.middle]
        drifted[better, air.middle] = breathed[better]
        breathed_from[better] = best[better]
    sounded, sounded_from = _sounded(air, drifted, air.change(flow, index))
    return sounded, _Back(before, drifted_from, breathed_from, sounded_from)


def shortest_path(table: ChoiceTable, layers: Sequence[Rows], costs: Sequence[StepCosts], air: Air) -> Path:
    """The path of least cost through layers of choices.

    Parameters
    ----------
    layers : rows of the choices of each event.
    costs : for each event, the points of every pair; the first has one row, silence.
    """
    flows = table.columns["flow"]
    values = np.full((1, air.top + 1), np.inf)
    values[0, air.middle] = 0.0
    trail = []
    for index, (rows, cost) in enumerate(zip(layers, costs, strict=True)):
        values, back = _advance(air, index, values, cost, flows[rows])
        trail.append(back)
    if not trail:
        return Path((), (), 0.0)
    choice, level = (int(one) for one in np.unravel_index(values.argmin(), values.shape))
    total = float(values[choice, level])
    rows_back: list[int] = []
    breaths: list[bool] = []
    for layer, back in zip(reversed(layers), reversed(trail), strict=True):
        rows_back.append(int(layer[choice]))
        level = int(back.sounded_from[choice, level])
        breathed = level == air.middle and back.breathed_from[choice] >= 0
        breaths.append(bool(breathed))
        level = int(back.breathed_from[choice] if breathed else back.drifted_from[choice, level])
        choice = int(back.before[choice, level])
    return Path(tuple(reversed(rows_back)), tuple(reversed(breaths)), total)
