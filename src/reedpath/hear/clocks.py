"""Clocks: two recordings of the same sound by two recorders, each with a clock of its own, lined up.

First the courses of their levels, in a few bands, are correlated over the whole length, stretch by stretch, and the
stretches vote for a place. Then the delay of short stretches is measured to a sample by generalised cross-correlation
with whitened spectra (Knapp & Carter, "The generalized correlation method for estimation of time delay", IEEE
Transactions on Acoustics, Speech and Signal Processing 24, 1976), and a line is laid through the delays that no few
wrong ones can turn (Sen, "Estimates of the regression coefficient based on Kendall's tau", Journal of the American
Statistical Association 63, 1968): its slope is what one clock runs faster than the other. The same phrase played
twice is alike in its levels, never in its samples, so that it is not taken for one sound. Titles from memory.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from reedpath.hear.frames import HOP_SECONDS, Float32
from reedpath.hear.talk import LOW_RATE, levels_in_bands

Float64 = npt.NDArray[np.float64]

# seconds of the stretches whose levels vote, how many vote at most, and seconds by which votes for one place differ
VOTE_SECONDS, MOST_VOTES, VOTES_WITHIN = 20.0, 60, 0.6
# correlation of the courses of two levels under which nothing is voted; ours
LEAST_ALIKE = 0.25
# bands of a level's course
COURSES = 6
# places of each stretch that may be the right one: a phrase that is played again sounds alike, too
PLACES = 4
# seconds of the stretches whose delays are measured, how many at most, and by how much they may be off before
DELAY_SECONDS, MOST_DELAYS, SEARCH_SECONDS = 3.0, 120, 0.7
# how much of the spectra's size is taken out, 1 for all; noise between partials tells less then; ours
WHITENING = 0.75
# standard deviations by which a delay stands out, and seconds by which those of one line differ; ours
STANDS_OUT, LINE_SECONDS = 9.0, 0.012
# shares of a whole: of the stretches with sound, that must tell one line
LEAST_AGREED = 0.5
# stretches that must tell it; seconds over which they must lie for a slope to be told
FEWEST, SLOPE_SECONDS = 3, 40.0
# of a clock's rate; the quartz of recorders is off by 100 millionths at most (common practice, no source)
MOST_DRIFT = 500e-6
# share of full scale (root mean square) under which a stretch is silent
SILENT = 10 ** (-60 / 20)


class Clock(Struct, frozen=True):
    """How the time of one recording is that of another: ``offset_seconds + rate * seconds``.

    spread_ms : standard deviation of the delays that were measured from that line.
    """

    offset_seconds: float
    rate: float = 1.0
    spread_ms: float = 0.0

    def there(self, seconds: float) -> float:
        """The other's time at a moment of this one."""
        return self.offset_seconds + self.rate * seconds

    def here(self, seconds: float) -> float:
        """The recording's own time at a moment of the other."""
        return (seconds - self.offset_seconds) / self.rate


def _courses(sound: Float32) -> Float64:
    """How the level rises in a few bands, shape (windows, `COURSES`)."""
    bands = levels_in_bands(sound).astype(np.float64)
    rows = bands.reshape(len(bands), COURSES, -1).mean(axis=2)
    return np.asarray(np.maximum(0.0, np.diff(rows, axis=0, prepend=rows[:1])))


def _places(whole: Float64, part: Float64) -> Iterator[float]:
    """At which windows of a whole a part's course may lie, likeliest first; negative before its start."""
    padded = np.pad(whole, ((len(part) // 2, len(part) // 2), (0, 0)))
    own = part - part.mean(axis=0)
    size = 1 << (len(padded) + len(part)).bit_length()
    products = np.fft.irfft(
        np.fft.rfft(padded, size, axis=0) * np.conj(np.fft.rfft(own, size, axis=0)), size, axis=0
    ).sum(axis=1)[: len(padded) - len(part) + 1]
    sums = np.cumsum(np.pad(padded, ((1, 0), (0, 0))), axis=0)
    squares = np.cumsum(np.pad(padded**2, ((1, 0), (0, 0))), axis=0)
    count = len(part)
    spread = (squares[count:] - squares[:-count]) - (sums[count:] - sums[:-count]) ** 2 / count
    alike = products / np.sqrt(np.maximum(spread.sum(axis=1), 1e-6) * max(1e-6, float((own**2).sum())))
    for _ in range(PLACES):
        best = int(alike.argmax())
        if alike[best] < LEAST_ALIKE:
            return
        yield float(best - len(part) // 2)
        alike[max(0, best - 100) : best + 100] = -1.0


def _voted(whole: Float32, other: Float32) -> list[float]:
    """Offsets in seconds that most stretches of the other agree on, likeliest first."""
    courses, own = _courses(whole), _courses(other)
    length = min(len(own), round(VOTE_SECONDS / HOP_SECONDS), len(courses))
    if length < 2:
        return []
    starts = np.unique(np.linspace(0, len(own) - length, min(MOST_VOTES, max(1, 2 * len(own) // length))).astype(int))
    votes = [
        (place - start) * HOP_SECONDS for start in starts for place in _places(courses, own[start : start + length])
    ]
    found: list[float] = []
    left = np.array(sorted(votes))
    while len(left) and len(found) < PLACES:
        counts = [int((np.abs(left - one) <= VOTES_WITHIN).sum()) for one in left]
        best = float(left[int(np.argmax(counts))])
        near = np.abs(left - best) <= VOTES_WITHIN
        found.append(float(np.median(left[near])))
        left = left[~near]
    return found


def _delay(whole: Float32, part: Float32) -> float | None:
    """Seconds at which a part begins in a longer stretch; None where it does not stand out."""
    size = 1 << (len(whole) + len(part)).bit_length()
    cross = np.fft.rfft(whole, size) * np.conj(np.fft.rfft(part, size))
    cross /= np.maximum(np.abs(cross), 1e-9) ** WHITENING
    found = np.abs(np.fft.irfft(cross, size)[: len(whole) - len(part) + 1])
    best = int(found.argmax())
    if found[best] < STANDS_OUT * np.sqrt(np.mean(found**2)):
        return None
    return best / LOW_RATE


def _delays(whole: Float32, other: Float32, offset: float) -> tuple[Float64, int]:
    """Moments of the other with the whole's time less theirs, shape (found, 2), and how many were looked for."""
    length, search = round(DELAY_SECONDS * LOW_RATE), round(SEARCH_SECONDS * LOW_RATE)
    first = max(0, round(-offset * LOW_RATE))
    last = min(len(other), len(whole) - round(offset * LOW_RATE)) - length
    found, asked = [], 0
    if last < first:
        return np.zeros((0, 2)), 0
    step = max(length // 2, (last - first) // MOST_DELAYS)
    for start in range(first, last + 1, step):
        part = other[start : start + length]
        if np.sqrt(np.mean(part**2)) < SILENT:
            continue
        asked += 1
        begin = start + round(offset * LOW_RATE) - search
        around = whole[max(0, begin) : begin + length + 2 * search]
        if len(around) < length:
            continue
        delay = _delay(around, part)
        if delay is not None:
            found.append((start / LOW_RATE, delay + max(0, begin) / LOW_RATE - start / LOW_RATE))
    return np.array(found).reshape(-1, 2), asked


def _line(points: Float64) -> tuple[float, float, Float64]:
    """Offset, slope and the points that tell them."""
    times, delays = points.T
    near = np.abs(delays - np.median(delays)) <= LINE_SECONDS + MOST_DRIFT * np.ptp(times)
    times, delays = times[near], delays[near]
    slope = 0.0
    if np.ptp(times) >= SLOPE_SECONDS:
        first, second = np.triu_indices(len(times), 1)
        apart = times[second] - times[first]
        far = apart >= SLOPE_SECONDS / 2
        slope = float(np.median((delays[second] - delays[first])[far] / apart[far]))
        slope = float(np.clip(slope, -MOST_DRIFT, MOST_DRIFT))
    offset = float(np.median(delays - slope * times))
    told = np.abs(delays - offset - slope * times) <= LINE_SECONDS
    if told.any() and np.ptp(times[told]) >= SLOPE_SECONDS:
        slope, offset = (float(one) for one in np.polyfit(times[told], delays[told], 1))
    return offset, slope, np.stack([times[told], delays[told]], axis=1)


def clock_between(whole: Float32, other: Float32) -> Clock | None:
    """How the time of another recording is that of a first one; None where they do not hear the same sound.

    whole, other : as `reedpath.hear.talk.low_sound` gives them.
    """
    for offset in _voted(whole, other):
        points, asked = _delays(whole, other, offset)
        if len(points) < FEWEST:
            continue
        at, slope, told = _line(points)
        if len(told) < max(FEWEST, LEAST_AGREED * asked):
            continue
        spread = float(np.std(told[:, 1] - at - slope * told[:, 0]))
        return Clock(at, 1.0 + slope, round(1000 * spread, 3))
    return None
