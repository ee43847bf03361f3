"""Which of several routes a take plays."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import fmean

from msgspec import Struct

from reedpath.arrange import Route
from reedpath.hear import HOP_SECONDS, Observations
from reedpath.listen.align import line_up
from reedpath.listen.other_harps import line_up_on_any_harp
from reedpath.listen.play_through import LinedUp, PlayThrough

__all__ = ["RouteHeard", "line_up_with_one_of", "orderly_share", "routes_heard"]

# a play-through counts for half where so many of its events follow on one another without a pause or a step back,
# and for about a third where its onsets stray by so many seconds from its own tempo: a phrase that is not played is
# found in scraps out of time; ours, tried on takes of the examples against one another's lessons
HALF_BELIEVED_EVENTS, STRAY_SECONDS = 6.0, 0.1


class RouteHeard(Struct, frozen=True):
    """What a route explains of a take.

    share : of the take's sound, 0 to about 1. orderly : what of it is played on in time, 0 to the share.
    """

    share: float
    orderly: float


def _play_seconds(play: PlayThrough) -> float:
    """Seconds of a play-through in which events of the route sound, each as sure as it is."""
    return sum((one.end_seconds - one.start_seconds) * one.confidence for one in play.heard)


def _heard_seconds(lined_up: LinedUp) -> float:
    """Seconds of the take in which events of the route sound, each as sure as it is."""
    return sum(_play_seconds(play) for play in lined_up.play_throughs)


def line_up_with_one_of(seen: Observations, routes: Sequence[Route]) -> tuple[int, LinedUp]:
    """
    Line a take up with that of several routes of which most is heard in it, the first of those that are equal.

    Where none is played as asked, each is looked for on another harp and in another octave too.

    Returns
    -------
    The index of the route, and the take lined up with it; index 0 where none is heard.
    """
    found = [line_up(seen, route) for route in routes]
    heard = [_heard_seconds(one) for one in found]
    best = max(range(len(found)), key=heard.__getitem__)
    elsewhere = line_up_on_any_harp(seen, routes[best], usual=found[best])
    if elsewhere.play_throughs or len(routes) == 1:
        return best, elsewhere
    others = [line_up_on_any_harp(seen, route, usual=one) for route, one in zip(routes, found, strict=True)]
    best = max(range(len(others)), key=lambda at: (_heard_seconds(others[at]), others[at].harp_heard is not None))
    return best, others[best]


def orderly_share(play: PlayThrough) -> float:
    """How much of a play-through is played on in time, 0 to 1."""
    in_a_row = len(play.heard) / (1.0 + len(play.pauses) + len(play.restarts))
    stray = math.sqrt(fmean((one.start_seconds - one.due_seconds) ** 2 for one in play.heard)) if play.heard else 0.0
    return in_a_row / (in_a_row + HALF_BELIEVED_EVENTS) * math.exp(-stray / STRAY_SECONDS)


def routes_heard(seen: Observations, routes: Sequence[Route], *, on_any_harp: bool = False) -> tuple[RouteHeard, ...]:
    """What each of several routes explains of a take, each looked for by itself.

    on_any_harp : whether they are looked for on another harp and in another octave too.
    """
    found = []
    for route in routes:
        lined_up = line_up_on_any_harp(seen, route) if on_any_harp else line_up(seen, route)
        sounding = float(lined_up.hearing.curve.voiced.sum()) * HOP_SECONDS
        seconds = [_play_seconds(play) for play in lined_up.play_throughs]
        orderly = [orderly_share(play) for play in lined_up.play_throughs]
        found.append(
            RouteHeard(sum(seconds) / sounding, sum(a * b for a, b in zip(seconds, orderly, strict=True)) / sounding)
            if sounding
            else RouteHeard(0.0, 0.0)
        )
    return tuple(found)
