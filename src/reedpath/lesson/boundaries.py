"""Boundaries: how strongly a route falls apart between one event and the next.

Method: the Local Boundary Detection Model (Cambouropoulos, "The Local Boundary Detection Model and its
application in the study of expressive timing", ICMC 2001; from memory): a boundary is likely where an interval
differs from its neighbours, and the more so the larger it is. For each profile of intervals x (time between
onsets, silence, pitch), the strength at x_i is x_i (r_{i-1,i} + r_{i,i+1}) with the degree of change
r_{i,j} = |x_i - x_j| / (x_i + x_j); each profile is scaled to 0..1, and they are weighed 2 : 1 : 1.

Ours adds what a teacher hears beside it: bar lines, and the ends of repeats (see `parts`).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from reedpath.arrange import RouteEvent

__all__ = ["boundary_strengths"]

# weights of the profiles; Cambouropoulos 2001, from memory
ONSET_WEIGHT, SILENCE_WEIGHT, PITCH_WEIGHT = 0.5, 0.25, 0.25


def _change(one: float, other: float) -> float:
    return abs(one - other) / (one + other) if one + other > 0 else 0.0


def _profile_strengths(profile: Sequence[float]) -> list[float]:
    """Strength of each interval of a profile, scaled so that the strongest is 1."""
    if not profile:
        return []
    # the ends have one neighbour only
    changes = [0.0, *(_change(one, other) for one, other in pairwise(profile)), 0.0]
    strengths = [x * (before + after) for x, before, after in zip(profile, changes, changes[1:], strict=False)]
    most = max(strengths)
    return [strength / most for strength in strengths] if most > 0 else strengths


def _pitch(event: RouteEvent) -> int:
    return event.event.midi[-1]


def boundary_strengths(events: Sequence[RouteEvent]) -> list[float]:
    """For each event but the first, how strongly a new part may begin with it, 0 to 1."""
    pairs = list(pairwise(events))
    onsets = [float(now.event.onset - before.event.onset) for before, now in pairs]
    silences = [max(0.0, float(now.event.onset - before.event.end)) for before, now in pairs]
    pitches = [float(abs(_pitch(now) - _pitch(before))) for before, now in pairs]
    profiles = zip(*map(_profile_strengths, (onsets, silences, pitches)), strict=True)
    return [ONSET_WEIGHT * a + SILENCE_WEIGHT * b + PITCH_WEIGHT * c for a, b, c in profiles]
