"""Which of several routes a take plays."""

from __future__ import annotations

from collections.abc import Sequence

from reedpath.arrange import Route
from reedpath.hear import HOP_SECONDS, Observations
from reedpath.listen.align import line_up
from reedpath.listen.other_harps import line_up_on_any_harp
from reedpath.listen.play_through import LinedUp

__all__ = ["line_up_with_one_of", "shares_heard"]


def _heard_seconds(lined_up: LinedUp) -> float:
    """Seconds of the take in which events of the route sound, each as sure as it is."""
    return sum(
        (one.end_seconds - one.start_seconds) * one.confidence
        for play in lined_up.play_throughs
        for one in play.heard
    )


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
    heard = [_heard_seconds(one) for one in others]
    best = max(range(len(others)), key=heard.__getitem__)
    return best, others[best]


def shares_heard(seen: Observations, routes: Sequence[Route]) -> tuple[float, ...]:
    """The share of a take's sound that each of several routes explains, 0 to about 1, each looked for by itself."""
    shares = []
    for route in routes:
        lined_up = line_up(seen, route)
        sounding = float(lined_up.hearing.curve.voiced.sum()) * HOP_SECONDS
        shares.append(_heard_seconds(lined_up) / sounding if sounding else 0.0)
    return tuple(shares)
