"""Pace: the seconds that each event of a performed phrase has, before, within and after."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from reedpath.arrange.terms import SHORTEST_SECONDS
from reedpath.phrase import Phrase, Timing, timing_of

__all__ = ["Pace", "pace_of"]

Seconds: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pace:
    """Times of n events, each an array of shape (n,) in seconds.

    have : from the onset before to this one; infinite for the first.
    gap : silence between the event before and this one; infinite for the first.
    duration : how long the event sounds, cut short where the next one starts.
    """

    have: Seconds
    gap: Seconds
    duration: Seconds

    def scaled(self, factor: float) -> Pace:
        """The same events at ``factor`` times the speed."""
        return Pace(self.have / factor, self.gap / factor, self.duration / factor)


def pace_of(phrase: Phrase, timing: Timing | None = None) -> Pace:
    """Pace of a performed phrase, at its own tempo or another timing."""
    timing = timing or timing_of(phrase)
    starts = np.array([timing.seconds_at(event.onset) for event in phrase.events], dtype=np.float64)
    ends = np.array([timing.seconds_at(event.end) for event in phrase.events], dtype=np.float64)
    ends[:-1] = np.minimum(ends[:-1], np.maximum(starts[1:], starts[:-1] + SHORTEST_SECONDS))
    have = np.maximum(np.diff(starts, prepend=-np.inf), SHORTEST_SECONDS)
    gap = np.maximum(starts - np.concatenate(([-np.inf], ends[:-1])), 0.0)
    return Pace(have, gap, np.maximum(ends - starts, SHORTEST_SECONDS))
