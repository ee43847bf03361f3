"""What each of several routes explains of a take."""

from __future__ import annotations

import math
from collections.abc import Iterable

from msgspec import Struct

from reedpath.arrange import Route
from reedpath.hear import HOP_SECONDS
from reedpath.listen.align import first_pass, second_pass
from reedpath.listen.other_harps import line_up_on_any_harp, may_be_elsewhere
from reedpath.listen.pieces_heard import believed
from reedpath.listen.play_through import LinedUp, PlayThrough
from reedpath.listen.take_hearings import TakeHearings

__all__ = ["RouteHeard", "orderly_share", "routes_heard", "routes_heard_elsewhere"]

# times as much as the first pass finds that the second may explain: of 1,120 pairs of takes and lessons 1.28 at most
# where that was two fifths of the sound or more, 1.08 where it was half; and routes that are looked for in time
# whatever the first pass finds
SECOND_PASS_FINDS, MOST_TOLD = 1.35, 3


class RouteHeard(Struct, frozen=True):
    """What a route explains of a take.

    share : of the take's sound, 0 to about 1. orderly : what of it is played on in time, 0 to the share.
    """

    share: float
    orderly: float


NOT_HEARD = RouteHeard(0.0, 0.0)


def _play_seconds(play: PlayThrough) -> float:
    """Seconds of a play-through in which events of the route sound, each as sure as it is."""
    return sum((one.end_seconds - one.start_seconds) * one.confidence for one in play.heard)


def orderly_share(play: PlayThrough) -> float:
    """How much of a play-through is played on in time, 0 to 1."""
    return believed(play.heard, breaks=len(play.pauses) + len(play.restarts))


def _heard_as(lined_up: LinedUp) -> RouteHeard:
    """What a route explains of a take that is lined up with it."""
    sounding = float(lined_up.hearing.curve.voiced.sum()) * HOP_SECONDS
    if not sounding:
        return NOT_HEARD
    seconds = [_play_seconds(play) for play in lined_up.play_throughs]
    orderly = [orderly_share(play) for play in lined_up.play_throughs]
    return RouteHeard(sum(seconds) / sounding, sum(a * b for a, b in zip(seconds, orderly, strict=True)) / sounding)


def routes_heard(
    hearings: TakeHearings, routes: Iterable[Route], *, at_least: float = 0.0, next_to: float = math.inf
) -> tuple[RouteHeard, ...]:
    """
    What each of several routes explains of a take, each looked for by itself.

    All are looked for by the order of their notes; in time, which takes most of the work, only those that may matter,
    the likeliest first.

    Parameters
    ----------
    at_least : share of the sound that a route must explain to matter, and `next_to` how many times as much as it the
        one that explains most may. Of the others nothing is told to be heard, but for the `MOST_TOLD` likeliest.
    """
    found = [
        first_pass(route, hearing, segments=known) for route in routes for hearing, known in [hearings.on(route.harp)]
    ]
    shares = [0.0 if one is None else one.share() for one in found]
    heard, most = [NOT_HEARD] * len(found), 0.0
    for count, index in enumerate(sorted(range(len(found)), key=lambda index: -shares[index])):
        one, least = found[index], max(at_least, most / next_to)
        if one is None or not one.groups or (count >= MOST_TOLD and shares[index] * SECOND_PASS_FINDS < least):
            continue
        heard[index] = _heard_as(second_pass(one))
        most = max(most, heard[index].share)
    return tuple(heard)


def routes_heard_elsewhere(
    hearings: TakeHearings, routes: Iterable[Route], *, at_least: float = 0.0
) -> tuple[RouteHeard, ...]:
    """
    What each of several routes explains of a take, also on another harp, in another octave, or some holes beside.

    Parameters
    ----------
    at_least : share of the sound that a route must explain to matter; of those that cannot, nothing is told to be
        heard.
    """
    heard = []
    for route in routes:
        hearing, known = hearings.on(route.harp)
        usual = first_pass(route, hearing, segments=known)
        if usual is None or not may_be_elsewhere(usual, at_least=at_least / SECOND_PASS_FINDS):
            heard.append(NOT_HEARD)
        else:
            heard.append(_heard_as(line_up_on_any_harp(hearings.seen, route, usual=second_pass(usual))))
    return tuple(heard)
