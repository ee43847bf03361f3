"""A tempo that sways: goes faster and slower and back, as in a rubato that nobody asked for.

How far it does is told from the pace over a beat and a half each, taken everywhere: where it is as often faster as it
is slower, and far enough, the player neither stopped nor came early, the beat itself moved. Then each note is due
where a curve through the notes about it lets expect it (robust local regression as in `time_map`, by curves of the
second degree in place of lines).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from reedpath.hear.middles import middle_of, quantiles_of
from reedpath.listen.bisquare import ROUNDS, bisquare_weights

Float64 = npt.NDArray[np.float64]

# share either way from which the tempo is told to sway: over the least change that listeners notice (Drake & Botte,
# Perception & Psychophysics 54, 1993: 6 %), and twice what recorded takes with faults that hold it have; ours
SWAYS = 0.1
# beats over which the pace is taken, between places at which it is, and that a play-through must last
PACE_BEATS, STEP_BEATS, LEAST_BEATS = 1.5, 0.25, 8.0
# share of the places that are slower than the lower bound and faster than the upper: where a few slips bend a steady
# tempo, most places lie between; and how far a sine lies there, in its own height: sin(0.2 pi)
LOW, HIGH, OF_A_SINE = 0.3, 0.7, 0.588
# beats on either side that a curve is fitted to, and the onsets that it must have
CURVE_BEATS, CURVE_ONSETS = 3.0, 7
# what the slope and the bend of a curve are held to what is usual by, in onsets a written second off; ours
SLOPE_HELD, BEND_HELD = 0.05, 0.01
# share of the usual pace that a slope has at least
LEAST_PACE = 0.2


def sway_of(written: Float64, heard: Float64, beat_seconds: float) -> float:
    """How far the tempo goes up and down beside what it grows by, as a share either way; 0 for what is too short.

    Parameters
    ----------
    written, heard : onsets in seconds, as written and as played, ascending. beat_seconds : of a written beat.
    """
    span = PACE_BEATS * beat_seconds
    if written[-1] - written[0] < LEAST_BEATS * beat_seconds:
        return 0.0
    at = np.arange(written[0], written[-1] - span, STEP_BEATS * beat_seconds)
    took = np.interp(at + span, written, heard) - np.interp(at, written, heard)
    pace = np.log(np.maximum(took / span, 1e-3))
    half = len(pace) // 2
    growth = middle_of(pace[half:] - pace[: len(pace) - half]) / half
    # several stops near one another seem to be growth: what is left without it must be there with it too
    return min(_either_way(pace), _either_way(pace - growth * np.arange(len(pace))))


def _either_way(pace: Float64) -> float:
    """How far values go on either side of their middle, the nearer side: the height of a sine that lies so."""
    low, middle, high = quantiles_of(pace, (LOW, 0.5, HIGH))
    return min(middle - low, high - middle) / OF_A_SINE


def pace_beside(written: Float64, heard: Float64, beat_seconds: float) -> Float64:
    """Pace round each interval between onsets, without itself: a beat before it, and a beat after."""
    sooner = np.interp(written[:-1] - beat_seconds, written, heard)
    since = np.minimum(written[:-1] - written[0], beat_seconds)
    later = np.interp(written[1:] + beat_seconds, written, heard)
    until = np.minimum(written[-1] - written[1:], beat_seconds)
    took = heard[:-1] - sooner + later - heard[1:]
    return np.asarray(took / np.maximum(since + until, 1e-6))


def _fitted(off: Float64, weights: Float64, heard: Float64, pace: float) -> tuple[Float64, Float64]:
    """Value and slope, at each place, of a weighted curve of the second degree through all onsets.

    off : of each onset from each place, shape (places, onsets). pace : to which the slope is held a little, for
        places with few onsets.
    """
    powers = np.stack([np.ones_like(off), off, np.square(off)], axis=-1)
    weighted = powers * weights[..., np.newaxis]
    products = np.einsum("pni,pnj->pij", weighted, powers)
    products += np.diag([0.0, SLOPE_HELD, BEND_HELD])
    sums = np.einsum("pni,n->pi", weighted, heard)
    sums[:, 1] += SLOPE_HELD * pace
    found = np.linalg.solve(products, sums[..., np.newaxis])[..., 0]
    return found[:, 0], found[:, 1]


def local_curves(
    written: Float64, heard: Float64, at: Float64, beat_seconds: float, pace: float
) -> tuple[Float64, Float64]:
    """Value and slope, at the places wanted, of robust local curves through the onsets.

    pace : of the whole.
    """
    near = min(len(written), CURVE_ONSETS)
    places, trust = np.concatenate([at, written]), np.ones(len(written))
    off = written[np.newaxis, :] - places[:, np.newaxis]
    apart = np.abs(off)
    reach = np.maximum(np.partition(apart, near - 1, axis=1)[:, near - 1 : near] * 1.1, CURVE_BEATS * beat_seconds)
    nearness = np.power(np.maximum(1.0 - np.power(apart / reach, 3), 0.0), 3)
    value, slope = np.zeros(len(places)), np.zeros(len(places))
    for _ in range(ROUNDS):
        value, slope = _fitted(off, nearness * trust + 1e-9, heard, pace)
        stray = np.abs(heard - value[len(at) :])
        trust = bisquare_weights(stray)
    return value[: len(at)], np.maximum(slope[: len(at)], LEAST_PACE * pace)
