"""The relaxed search: every case at once, air left out, as a bound from below.

Air only ever adds points, so the best route without it costs no more than the best with it. Going backward over the
events, a few array operations each give, for every case and choice, the least that the rest of the phrase can cost.
The exact search of a case uses these numbers as its bound, and the survey to leave most cases alone.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from reedpath.arrange.lattice import Lattice
from reedpath.arrange.search import Layer, Path

Ints: TypeAlias = NDArray[np.intp]
Points: TypeAlias = NDArray[np.float64]


class Relaxed(Struct, frozen=True):
    """Costs without air.

    costs : shape (cases,), the least cost of each case.
    to_go : per event, least cost of the later events after each choice, flat over the cases.
    state_first : shape (cases, asks), where each case's choices for an ask start in such a flat array.
    """

    lattice: Lattice
    costs: Points
    to_go: tuple[Points, ...]
    state_first: Ints

    def layers(self, case: int, flow: Points) -> list[Layer]:
        """What the exact search of a case needs; ``flow`` holds the litres a second of every choice."""
        lattice = self.lattice
        known: dict[int, tuple[list[list[float]], list[float], int]] = {}
        layers = []
        for event, kind in enumerate(lattice.kind_of.tolist()):
            if kind not in known:
                ask = lattice.kinds[kind, 1]
                flows = flow[lattice.layer(case, ask)].tolist()
                known[kind] = (lattice.step_costs(case, kind).tolist(), flows, int(self.state_first[case, ask]))
            costs, flows, start = known[kind]
            layers.append(Layer(costs, self.to_go[event][start : start + len(flows)].tolist(), flows))
        return layers

    def rows(self, case: int, path: Path) -> tuple[int, ...]:
        """Table rows of the choices of a path through a case."""
        asks = self.lattice.kinds[self.lattice.kind_of, 1]
        first = self.lattice.first[case, asks]
        return tuple(self.lattice.pool[first + np.array(path.choices, dtype=np.intp)].tolist())

    def likeness(self, case: int, flow: Points) -> bytes:
        """Equal for two cases that the exact search cannot tell apart."""
        lattice = self.lattice
        costs = [lattice.step_costs(case, kind).tobytes() for kind in range(len(lattice.kinds))]
        flows = [flow[lattice.layer(case, ask)].tobytes() for ask in range(lattice.count.shape[1])]
        return b"".join(costs) + b"".join(flows)


def _index(lattice: Lattice, state_first: Ints, kind: int) -> tuple[slice, Ints, Ints]:
    """For one kind of step: its slice of the costs, each pair's state here, and where each state before starts."""
    before, here = lattice.kinds[kind]
    outer, inner = lattice.count[:, before], lattice.count[:, here]
    start = int(lattice.cost_first[kind, 0])
    state_inner = np.repeat(inner, outer)
    starts = np.cumsum(state_inner) - state_inner
    shift = np.repeat(state_first[:, here], outer) - starts
    source = np.arange(int(state_inner.sum())) + np.repeat(shift, state_inner)
    return slice(start, start + len(source)), source, starts


def relaxed_costs(lattice: Lattice) -> Relaxed:
    """Search every case without air."""
    state_first = np.cumsum(lattice.count, axis=0) - lattice.count
    to_go: list[Points] = []
    rest = np.zeros(int(lattice.count[:, lattice.kinds[lattice.kind_of[-1], 1]].sum()))
    known: dict[int, tuple[slice, Ints, Ints]] = {}
    for kind in reversed(lattice.kind_of.tolist()):
        to_go.append(rest)
        if kind not in known:
            known[kind] = _index(lattice, state_first, kind)
        span, source, starts = known[kind]
        rest = np.minimum.reduceat(lattice.costs[span] + rest[source], starts)
    return Relaxed(lattice, rest, tuple(reversed(to_go)), state_first)
