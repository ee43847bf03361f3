"""Speed: up to which tempo a player can play a route.

Slowed down without end, an event keeps only the effort of its move; what it costs more at a tempo is what speed alone
adds. A route is comfortable at a tempo where no event has more of that than the player's level allows
(``rush_points``). Speed never makes anything easier, so the highest such tempo is found by halving.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from reedpath.arrange.pace import Pace
from reedpath.arrange.table import ChoiceTable
from reedpath.arrange.terms import Step, step_points

__all__ = ["FASTEST_FACTOR", "SLOWEST_FACTOR", "comfortable_factor"]

Points: TypeAlias = NDArray[np.float64]

# shares of the phrase's tempo between which an answer is sought
SLOWEST_FACTOR, FASTEST_FACTOR = 0.1, 2.0
# halvings; the answer is then within 0.1 % of the tempo
HALVINGS = 11


def comfortable_factor(table: ChoiceTable, rows: Sequence[int], pace: Pace) -> float:
    """Highest share of the tempo at which speed alone makes no event hard, within the range above."""
    if not rows:
        return FASTEST_FACTOR
    here = np.array(rows, dtype=np.intp)
    before = np.concatenate((np.zeros(1, dtype=np.intp), here[:-1]))

    def points(factor: float) -> Points:
        at = pace.scaled(factor)
        # whether a bend is warm is a matter of the phrase, not of the tempo, so the gaps stay as they are
        step = Step(table.columns, before, here, at.have, pace.gap, at.duration, table.weights, table.player)
        return step_points(step)

    at_leisure = points(1e-6)

    def rushed(factor: float) -> bool:
        return bool((points(factor) - at_leisure).max() > table.player.rush_points)

    slow, fast = SLOWEST_FACTOR, FASTEST_FACTOR
    if rushed(slow) or not rushed(fast):
        return slow if rushed(slow) else fast
    for _ in range(HALVINGS):
        middle = (slow + fast) / 2
        slow, fast = (slow, middle) if rushed(middle) else (middle, fast)
    return slow
