"""Comping: where chords answer the phrase, and where they leave room under it."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable

# seconds within which two moments are one
SAME_SECONDS = 1e-6


class LeadRests:
    """Where a lead plays, and where it rests long enough to be answered.

    lead : seconds from and to which something of it sounds.
    room_seconds : how long a rest is that is answered. answer_seconds : how long an answer goes on at most.
    """

    def __init__(self, lead: Iterable[tuple[float, float]], *, room_seconds: float, answer_seconds: float) -> None:
        lines: list[list[float]] = []
        for start, end in sorted(lead):
            if lines and start - lines[-1][1] < room_seconds - SAME_SECONDS:
                lines[-1][1] = max(lines[-1][1], end)
            else:
                lines.append([start, end])
        self._starts = [start for start, _ in lines]
        self._ends = [end for _, end in lines]
        self._answer_seconds = answer_seconds

    def is_under(self, seconds: float) -> bool:
        """Whether the lead plays at a moment, its short rests included."""
        place = bisect_right(self._starts, seconds + SAME_SECONDS) - 1
        return place >= 0 and seconds < self._ends[place] - SAME_SECONDS

    def is_answered(self, seconds: float) -> bool:
        """Whether a moment lies in the beginning of a rest that is long enough."""
        place = bisect_right(self._starts, seconds + SAME_SECONDS) - 1
        late = seconds - self._ends[place] if place >= 0 else -1.0
        return -SAME_SECONDS <= late < self._answer_seconds - SAME_SECONDS
