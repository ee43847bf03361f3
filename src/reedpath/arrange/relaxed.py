"""The relaxed search: every case at once, air left out, as a bound from below.

Air only ever adds points, so the best route without it costs no more than the best with it; and where that route
happens to need no air points, it is the best with air too. The survey uses both facts: it searches all cases here
in a few array operations per event, and needs the full search only for the few whose bound comes near the top.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from reedpath.arrange.lattice import Lattice

__all__ = ["Relaxed", "relaxed_costs"]

Ints: TypeAlias = NDArray[np.intp]
Points: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Relaxed:
    """Costs without air.

    costs : shape (cases,), the least cost of each case.
    values : per event, the least cost of reaching each choice, flat over the cases.
    """

    costs: Points
    values: tuple[Points, ...]
    lattice: Lattice
    ask_of: Ints

    def path(self, case: int) -> tuple[int, ...]:
        """Rows of the best route of a case without air."""
        lattice, rows = self.lattice, []
        choice = -1
        for event in range(len(self.ask_of) - 1, -1, -1):
            ask = self.ask_of[event]
            if choice < 0:
                choice = int(self._reaching(event, case).argmin())
            rows.append(int(lattice.layer(case, ask)[choice]))
            if event:
                choice = int((self._reaching(event - 1, case) + lattice.step_costs(case, event)[:, choice]).argmin())
        return tuple(reversed(rows))

    def _reaching(self, event: int, case: int) -> Points:
        counts = self.lattice.count[:, self.ask_of[event]]
        start = int(counts[:case].sum())
        return self.values[event][start : start + counts[case]]


def _kind_index(lattice: Lattice, kind: int) -> tuple[slice, Ints, Ints]:
    """For one kind of step: its slice of the costs, each pair's state before, and where each state's pairs start."""
    before, here = lattice.kinds[kind]
    inner, outer = lattice.count[:, before], lattice.count[:, here]
    sizes = inner * outer
    start = int(lattice.cost_first[kind, 0])
    state_inner = np.repeat(inner, outer)
    starts = np.cumsum(state_inner) - state_inner
    state_first = np.repeat(np.cumsum(inner) - inner, outer)
    source = np.arange(int(sizes.sum())) + np.repeat(state_first - starts, state_inner)
    return slice(start, start + int(sizes.sum())), source, starts


def relaxed_costs(lattice: Lattice, ask_of: Ints) -> Relaxed:
    """Search every case without air."""
    cases = len(lattice.count)
    values: list[Points] = []
    reached = np.zeros(cases)
    known: dict[int, tuple[slice, Ints, Ints]] = {}
    for kind in lattice.kind_of.tolist():
        if kind not in known:
            known[kind] = _kind_index(lattice, kind)
        span, source, starts = known[kind]
        reached = np.minimum.reduceat(reached[source] + lattice.costs[span], starts)
        values.append(reached)
    if not values:
        return Relaxed(np.zeros(cases), (), lattice, ask_of)
    counts = lattice.count[:, ask_of[-1]]
    return Relaxed(np.minimum.reduceat(reached, np.cumsum(counts) - counts), tuple(values), lattice, ask_of)
