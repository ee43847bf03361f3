"""Letting notes ring: for how much of the time to the next note each sounds, where it could be held until then.

It could where the next note follows at once on the same breath, on the same hole or the one beside: there the air
need not stop. When a note has ended is told by its own partials, since a gap of a tenth of a second is bridged by the
pitch that a room holds on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from reedpath.arrange import Route, RouteEvent
from reedpath.listen.own_partials import HOP_SECONDS, SETTLING_SECONDS, OwnLevel, usual_level
from reedpath.listen.play_through import PlacedEvent

# decibels under its usual level from which a note has ended; seconds to the next note from which that tells anything
ENDED_DB, LEAST_SECONDS = 12.0, 0.15
# share of the time to the next for which notes sound that are detached: half of them no more than the first, three
# quarters no more than the second. Recorded reeds held for 0.45 and 0.5 of it sound for 0.55 to 0.74 in a room and
# 0.58 to 0.83, for 0.93 of it 0.98 and all; glued takes with faults, hands and vibrato at least 0.82 and 0.91
DETACHED_MIDDLE, DETACHED_UPPER = 0.75, 0.85
# holes by which the next note may lie off
NEXT_HOLE = 1
# signs of a source that ask for short notes, which a phrase does not carry
ASKS_SHORT = "staccato"


def _may_be_held(one: RouteEvent, after: RouteEvent) -> bool:
    """Whether an event can be held until the next without the air stopping."""
    move, to = one.choice.move, after.choice.move
    if move is None or to is None or move == to or after.event.onset != one.event.end or after.choice.lead_in:
        return False
    return move.breath is to.breath and abs(move.holes[0] - to.holes[0]) <= NEXT_HOLE


def ring_shares(route: Route, placed: Sequence[PlacedEvent], levels: Mapping[int, OwnLevel]) -> dict[int, float]:
    """
    For how much of the time to the next one an event sounds, by its index: those that could be held until then.

    Parameters
    ----------
    placed : events of a play-through, in order. levels : of their own partials.
    """
    if any(one.kind == ASKS_SHORT for one in route.phrase.left_out):
        return {}
    found: dict[int, float] = {}
    for one, after in pairwise(placed):
        level, until = levels.get(one.event), after.start_seconds
        gap = until - one.start_seconds
        if level is None or not (one.played and after.played) or gap < LEAST_SECONDS:
            continue
        if after.event != one.event + 1 or not _may_be_held(route.events[one.event], route.events[after.event]):
            continue
        usual_db = usual_level(level, one.start_seconds, (one.start_seconds + one.end_seconds) / 2)
        since = one.start_seconds + SETTLING_SECONDS
        down = np.flatnonzero(level.between(since, until) < usual_db - ENDED_DB)
        rings = SETTLING_SECONDS + HOP_SECONDS * int(down[0]) if len(down) else gap
        found[one.event] = float(min(1.0, rings / gap))
    return found
