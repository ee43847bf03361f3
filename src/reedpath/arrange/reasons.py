"""Reasons: where a route is hard and why.

Two views, both kept: the sum of effort, and the hardest stretch (the minimax view of Hori & Sagayama, ISMIR 2016,
for guitar), sought here over a few events in a row, since a hand or mouth fails at a turn, not at a note.
"""

from __future__ import annotations

from collections.abc import Sequence

from reedpath.arrange.player import Player, Weights
from reedpath.arrange.route import Effort, RouteEvent, Spot

__all__ = ["hardest_spot", "spots_of"]

# a reason is named where it makes at least this share of a spot's effort; common practice, no source
REASON_SHARE = 0.15
# hard events with fewer easy ones than this between them are one spot; common practice, no source
EASY_EVENTS_BETWEEN = 2


def _spot(events: Sequence[RouteEvent], first: int, last: int) -> Spot:
    effort = Effort.sum_of(event.effort for event in events[first : last + 1])
    total = effort.total
    ranked = sorted(effort.terms.items(), key=lambda item: -item[1])
    return Spot(first, last, total, tuple(name for name, points in ranked if points >= REASON_SHARE * total > 0))


def hardest_spot(events: Sequence[RouteEvent], weights: Weights) -> Spot | None:
    """The stretch of a few events that costs most, None where nothing costs anything."""
    window = min(int(weights["spot"]["window_events"]), len(events))
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
