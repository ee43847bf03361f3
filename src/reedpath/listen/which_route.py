"""What each of several routes explains of a take."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from msgspec import Struct

from reedpath.arrange import Route
from reedpath.hear import HOP_SECONDS
from reedpath.listen.align import FirstPass, first_pass, second_pass
from reedpath.listen.other_harps import line_up_on_any_harp, may_be_elsewhere
from reedpath.listen.pieces_heard import believed, spans_of_pieces
from reedpath.listen.play_through import LinedUp, PlayThrough
from reedpath.listen.take_hearings import TakeHearings

# times as much as the first pass finds that the second may explain: of 1,120 pairs of takes and lessons 1.28 at most
# where that was two fifths of the sound or more, 1.08 where it was half; and routes that are looked for in time
# whatever the first pass finds
SECOND_PASS_FINDS, MOST_TOLD = 1.35, 3


class RouteHeard(Struct, frozen=True):
    """What a route, or several together, explain of a take.

    share : of the take's sound, 0 to about 1. orderly : what of it is played on in time, 0 to the share.
    """

    share: float
    orderly: float


NOT_HEARD = RouteHeard(0.0, 0.0)


def _play_seconds(play: PlayThrough, spans: Sequence[tuple[float, float]] | None) -> float:
    """Seconds of a play-through in which events of the route sound, each as sure as it is; of those in some spans."""
    if spans is None:
        return sum((one.end_seconds - one.start_seconds) * one.confidence for one in play.heard)
    return sum(
        max(0.0, min(one.end_seconds, end) - max(one.start_seconds, start)) * one.confidence
        for one in play.heard
        for start, end in spans
    )


def orderly_share(play: PlayThrough) -> float:
    """How much of a play-through is played on in time, 0 to 1."""
    return believed(play.heard, breaks=len(play.pauses) + len(play.restarts))


def _heard_as(lined_up: Sequence[LinedUp]) -> RouteHeard:
    """What routes explain of a take that is lined up with each; where several are heard, each where it is played."""
    sounding = max((float(one.hearing.curve.voiced.sum()) * HOP_SECONDS for one in lined_up), default=0.0)
    if not sounding:
        return NOT_HEARD
    spans = (None,) if len(lined_up) == 1 else spans_of_pieces(lined_up)
    share = orderly = 0.0
    for one, own in zip(lined_up, spans, strict=True):
        for play in one.play_throughs:
            seconds = _play_seconds(play, own)
            share += seconds / sounding
            orderly += seconds / sounding * orderly_share(play)
    return RouteHeard(share, orderly)


def routes_heard(
    hearings: TakeHearings, routes: Iterable[Route], *, at_least: float = 0.0, next_to: float = math.inf
) -> tuple[RouteHeard, ...]:
    """What each of several routes explains of a take, each looked for by itself, as `lessons_heard` tells it."""
    return lessons_heard(hearings, ((route,) for route in routes), at_least=at_least, next_to=next_to)


def lessons_heard(
    hearings: TakeHearings, taught: Iterable[Sequence[Route]], *, at_least: float = 0.0, next_to: float = math.inf
) -> tuple[RouteHeard, ...]:
    """
    What each of several lessons explains of a take: its route, or those of its pieces together.

    All are looked for by the order of their notes; in time, which takes most of the work, only those that may matter,
    the likeliest first.

    Parameters
    ----------
    taught : the routes of each lesson.
    at_least : share of the sound that a lesson must explain to matter, and `next_to` how many times as much as it the
        one that explains most may. Of the others nothing is told to be heard, but for the `MOST_TOLD` likeliest.
    """
    found = [_first_passes(hearings, routes) for routes in taught]
    shares = [min(1.0, sum(one.share() for one in passes)) for passes in found]
    heard, most = [NOT_HEARD] * len(found), 0.0
    for count, index in enumerate(sorted(range(len(found)), key=lambda index: -shares[index])):
        least = max(at_least, most / next_to)
        passes = [one for one in found[index] if one.groups]
        if not passes or (count >= MOST_TOLD and shares[index] * SECOND_PASS_FINDS < least):
            continue
        heard[index] = _heard_as([second_pass(one) for one in passes])
        most = max(most, heard[index].share)
    return tuple(heard)


def _first_passes(hearings: TakeHearings, routes: Sequence[Route]) -> list[FirstPass]:
    """What the first pass finds of some routes, of those that ask for anything."""
    passes = (
        first_pass(route, hearing, segments=known) for route in routes for hearing, known in [hearings.on(route.harp)]
    )
    return [one for one in passes if one is not None]


def routes_heard_elsewhere(
    hearings: TakeHearings, routes: Iterable[Route], *, at_least: float = 0.0
) -> tuple[RouteHeard, ...]:
    """What each of several routes explains of a take, as `lessons_heard_elsewhere` tells it."""
    return lessons_heard_elsewhere(hearings, ((route,) for route in routes), at_least=at_least)


def lessons_heard_elsewhere(
    hearings: TakeHearings, taught: Iterable[Sequence[Route]], *, at_least: float = 0.0
) -> tuple[RouteHeard, ...]:
    """
    What each of several lessons explains of a take, also on another harp, in another octave, or some holes beside.

    Parameters
    ----------
    at_least : share of the sound that a lesson must explain to matter; of those that cannot, nothing is told to be
        heard.
    """
    heard = []
    for routes in taught:
        least = at_least / SECOND_PASS_FINDS / max(1, len(routes))
        passes = [one for one in _first_passes(hearings, routes) if may_be_elsewhere(one, at_least=least)]
        lined_up = [
            line_up_on_any_harp(hearings.seen, one.route, usual=second_pass(one), pieces=len(routes))
            for one in passes
        ]
        heard.append(_heard_as(lined_up))
    return tuple(heard)
