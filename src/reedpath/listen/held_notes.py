"""Held notes: how long one note is held in tune, and how well."""

from __future__ import annotations

from math import floor, sqrt

from msgspec import Struct

# cents within which a note counts as in tune, the widest first: what the answer to a take tells of a note that is
# just long enough to settle, of a longer one, and what listeners hear (all of them in reedpath.listen.judging:
# Hill & Summers, JASA 121, 2007)
BEND_TOLERANCES = (25.0, 15.0, 10.0)
# seconds of being out of tune, or unheard, that a held note may have: a note of that length is not told to be off by
# less than a quarter tone either (reedpath.listen.judging)
SLIP_SECONDS = 0.1
# seconds by which sums of times in seconds may differ
CLOCK_SECONDS = 1e-6
# seconds under which nothing was held; ours
LEAST_SECONDS = 0.3


class HeldTime(Struct, frozen=True):
    """A note that was held.

    seconds : in tune without a break.
    cents : median of the pitch less the target, to one cent. unsteady_cents : its standard deviation.
    """

    seconds: float
    cents: float
    unsteady_cents: float


class HeldNote:
    """Counts for how long a note is in tune, moment by moment.

    tolerance_cents : off the target by which it counts as in tune.

    now : the note that is being held, None while it is out of tune. longest : the longest of all until now.

    >>> note = HeldNote(15.0)
    >>> for step in range(500):
    ...     _ = note.hear(0.004 * step, 3.0)
    >>> note.now.seconds, note.now.cents
    (1.996, 3.0)
    """

    def __init__(self, tolerance_cents: float) -> None:
        self._tolerance = tolerance_cents
        self.longest: HeldTime | None = None
        self._begin()

    def _begin(self) -> None:
        self._counts = [0] * (2 * round(self._tolerance) + 1)
        self._sum = self._squares = 0.0
        self._start: float | None = None
        self._last = 0.0

    @property
    def now(self) -> HeldTime | None:
        """What is being held."""
        count = sum(self._counts)
        if self._start is None or not count:
            return None
        seconds, mean = self._last - self._start, self._sum / count
        spread = sqrt(max(0.0, self._squares / count - mean * mean))
        return HeldTime(round(seconds, 3), self._median(count), round(spread, 1))

    def _median(self, count: int) -> float:
        passed = 0
        for place, one in enumerate(self._counts):
            passed += one
            if 2 * passed >= count:
                return float(place - round(self._tolerance))
        raise AssertionError("half of all lies before the last")

    def hear(self, seconds: float, cents: float | None) -> HeldTime | None:
        """Take in a moment; gives the note that ends with it, if one does.

        seconds : on a clock that runs on. cents : pitch less the target, None where nothing sounds.
        """
        ended = None
        if self._start is not None and abs(seconds - self._last) > SLIP_SECONDS + CLOCK_SECONDS:
            ended = self.end()
        if cents is None or abs(cents) > self._tolerance:
            return ended
        if self._start is None:
            self._start = seconds
        self._last = seconds
        self._counts[floor(cents + 0.5) + round(self._tolerance)] += 1
        self._sum += cents
        self._squares += cents * cents
        return ended

    def miss(self, seconds: float) -> None:
        """Pass over a time in which nothing could be heard: it counts neither for the note nor against it."""
        if self._start is not None:
            self._start += seconds
            self._last += seconds

    def end(self) -> HeldTime | None:
        """End the note; what was held, None for next to nothing."""
        held = self.now
        self._begin()
        if held is None or held.seconds < LEAST_SECONDS:
            return None
        if self.longest is None or held.seconds > self.longest.seconds:
            self.longest = held
        return held
