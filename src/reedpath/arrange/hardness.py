"""Hardness: where a route is hard and why, and up to which tempo a player can play it.

Two views of where, both kept: the sum of effort, and the hardest stretch (the minimax view of Hori & Sagayama, ISMIR
2016, for guitar), sought here over a few events in a row, since a hand or mouth fails at a turn, not at a note.

Slowed down without end, an event keeps only the effort of its move; what it costs more at a tempo is what speed alone
adds. A route is comfortable at a tempo where no event has more of that than the player's level allows
(``rush_points``). Speed never makes anything easier, so the highest such tempo is found by halving.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from reedpath.arrange.demands import Pace
from reedpath.arrange.player import Player, Weights
from reedpath.arrange.route import Effort, RouteEvent, Spot
from reedpath.arrange.table import ChoiceTable
from reedpath.arrange.terms import Transition, transition_points

Points: TypeAlias = NDArray[np.float64]

# a reason is named where it makes at least this share of a spot's effort; common practice, no source
REASON_SHARE = 0.15
# hard events with fewer easy ones than this between them are one spot; common practice, no source
EASY_EVENTS_BETWEEN = 2
# shares of the phrase's tempo between which an answer is sought
SLOWEST_FACTOR, FASTEST_FACTOR = 0.1, 2.0
# halvings; the answer is then within 0.1 % of the tempo
HALVINGS = 11


def _spot(events: Sequence[RouteEvent], first: int, last: int) -> Spot:
    effort = Effort.sum_of(event.effort for event in events[first : last + 1])
    total = effort.total
    ranked = sorted(effort.terms.items(), key=lambda item: -item[1])
    return Spot(first, last, total, tuple(name for name, points in ranked if points >= REASON_SHARE * total > 0))


def hardest_spot(events: Sequence[RouteEvent], weights: Weights) -> Spot | None:
    """The stretch of a few events that costs most, None where nothing costs anything."""
    window = min(weights.spot.window_events, len(events))
    if window == 0:
        return None
    efforts = [event.effort.total for event in events]
    sums = [sum(efforts[start : start + window]) for start in range(len(events) - window + 1)]
    start = max(range(len(sums)), key=sums.__getitem__)
    return _spot(events, start, start + window - 1) if sums[start] > 0 else None


def spots_of(events: Sequence[RouteEvent], player: Player) -> tuple[Spot, ...]:
    """Stretches hard enough for this player to practise apart, each with the event that leads into it."""
    hard = [index for index, event in enumerate(events) if event.effort.total >= player.spot_points]
    stretches: list[list[int]] = []
    for index in hard:
        if stretches and index - stretches[-1][1] <= EASY_EVENTS_BETWEEN:
            stretches[-1][1] = index
        else:
            stretches.append([index, index])
    return tuple(_spot(events, max(0, first - 1), last) for first, last in stretches)


def comfortable_factor(table: ChoiceTable, rows: Sequence[int], pace: Pace) -> float:
    """Highest share of the tempo at which speed alone makes no event hard, within the range above."""
    if not rows:
        return FASTEST_FACTOR
    here = np.array(rows, dtype=np.intp)
    before = np.concatenate((np.zeros(1, dtype=np.intp), here[:-1]))

    def points(factor: float) -> Points:
        at = pace.scaled(factor)
        # whether a bend is warm is a matter of the phrase, not of the tempo, so the gaps stay as they are
        step = Transition(table.columns, before, here, at.have, pace.gap, at.duration, table.weights, table.player)
        return transition_points(step)

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
