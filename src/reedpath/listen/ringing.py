"""Ringing: a telephone, a bell or a beep over the playing, which is no harmonica and no band.

It is told by what no reed makes. A line of the spectrum that is nearly as loud as the loudest and lies on no partial
of the reeds that sound, nor of the notes beside, is something else's. A tone without partials is no reed: those have
their second, third or fourth within 13 dB of the first. What is played while it rings cannot be judged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reedpath.listen.reed_spectrum import ReedSpectrum

# decibels under the loudest line at which another is told; in takes without anything that rings the loudest line of
# no reed lies at -22 in nine of ten events of a take and -11.3 at most (bench/listen_faults.py)
ALONG_DB = -12.0
ALONG = np.float32(10.0 ** (ALONG_DB / 20.0))
# hertz between which lines are looked at; cents, widths of a line and hertz within which one is a partial's own: what
# swings up to so many times a second puts lines beside it
LOWEST_HZ, HIGHEST_HZ, PARTIAL_CENTS, PARTIAL_LINES, SWING_HZ = 300.0, 5000.0, 50.0, 3.0, 40.0
PARTIAL_SHARE = 2.0 ** (PARTIAL_CENTS / 1200.0) - 1.0
# share to which the spectrum falls between a line and the next partial for it not to be a part of that: 12 decibels
APART = np.float32(10.0 ** (-12.0 / 20.0))
# decibels under its first partial under which the next three lie in a tone that is no reed's: -12.4 at least of 1,364
# recorded notes, also by telephone and under hands
PURE_DB = -22.0
# hertz over which a telephone leaves nothing of a partial, and share of its place within which one is sought
PURE_HZ, NEAR_SHARE = 3300.0, 0.01
# seconds between rings, and before and after what was heard of them
APART_SECONDS, AROUND_SECONDS = 1.3, 0.5
# share of a stretch that must lie in the ringing for it to be over it
OVER_SHARE = 0.3
# decibels under the usual loudest line of an event under which what rings is only what is left where nobody plays
SOFTER_DB = 15.0
# share of the events over which what sounds along is no ringing but company or a fault of the recorder
MOST_SHARE = 0.34


@dataclass(frozen=True, slots=True)
class Ringing:
    """What rings from one time to another, and the loudest line there."""

    start_seconds: float
    end_seconds: float
    loudest: float


def rings_along(spectrum: ReedSpectrum, own_hz: Sequence[float]) -> bool:
    """Whether something that no reed makes sounds in an event nearly as loud as it.

    own_hz : pitches of the reeds that sound in it and beside it.
    """
    lines, high = spectrum.magnitude, spectrum.high
    first, last = LOWEST_HZ / spectrum.step, min(HIGHEST_HZ, spectrum.top_hz) / spectrum.step
    loud = high[lines[high] > spectrum.loudest * ALONG]
    loud = loud[(loud >= first) & (loud < last)]
    hz, own = loud * spectrum.step, np.asarray(own_hz)
    partials = np.maximum(np.rint(hz[:, np.newaxis] / own), 1.0) * own
    off = np.abs(hz[:, np.newaxis] - partials)
    allowed = np.maximum(PARTIAL_SHARE * hz, max(PARTIAL_LINES * spectrum.line_hz, SWING_HZ))
    for number in np.flatnonzero(off.min(axis=1) > allowed):
        place = int(loud[number])
        partial = int(partials[number, off[number].argmin()] / spectrum.step)
        between = lines[min(place, partial) : max(place, partial) + 1]
        # what goes over into a partial without a gap is its own: a slide into it, a vibrato, a second strike
        if between.min() < lines[place] * APART:
            return True
    return False


def is_pure(spectrum: ReedSpectrum, hz: float) -> bool:
    """Whether a tone has next to no partials beside its first, where the recording would hold them."""
    places = [number * hz for number in range(1, 5) if number * hz < PURE_HZ]
    edges = [
        (int(one * (1.0 - NEAR_SHARE) / spectrum.step), int(one * (1.0 + NEAR_SHARE) / spectrum.step) + 2)
        for one in places
    ]
    levels = [float(spectrum.magnitude[first:last].max(initial=0.0)) for first, last in edges]
    return len(levels) > 1 and max(levels[1:]) < levels[0] * 10.0 ** (PURE_DB / 20.0)


def spans_of(found: Sequence[Ringing], loudest: Sequence[float]) -> tuple[tuple[float, float], ...]:
    """Stretches in which something rings, those of one ringing together; none where it does nearly everywhere.

    loudest : the loudest line of each event, whether it rings in it or not.

    >>> spans_of([Ringing(4.0, 4.3, 1.0), Ringing(1.0, 1.4, 1.0), Ringing(2.0, 2.2, 1.0)], [1.0] * 12)
    ((0.5, 2.7), (3.5, 4.8))
    """
    if not found or not loudest:
        return ()
    least = float(np.median(loudest)) * 10.0 ** (-SOFTER_DB / 20.0)
    loud = [(one.start_seconds, one.end_seconds) for one in found if one.loudest > least]
    if len(loud) >= MOST_SHARE * len(loudest):
        return ()
    joined: list[tuple[float, float]] = []
    for start, end in sorted(loud):
        if joined and start - joined[-1][1] < APART_SECONDS:
            joined[-1] = joined[-1][0], max(joined[-1][1], end)
        else:
            joined.append((start, end))
    return tuple((round(start - AROUND_SECONDS, 6), round(end + AROUND_SECONDS, 6)) for start, end in joined)


def is_over(spans: Sequence[tuple[float, float]], start_seconds: float, end_seconds: float) -> bool:
    """Whether it rings over a stretch."""
    shared = sum(max(0.0, min(end, end_seconds) - max(start, start_seconds)) for start, end in spans)
    return shared > OVER_SHARE * (end_seconds - start_seconds)
