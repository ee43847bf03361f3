"""Salience: how well each pitch of a grid explains a spectrum.

The spectrum's magnitudes are compressed (square root), scaled to unit length and compared with the comb of
each pitch: lobes on its harmonics and a valley between them, so that the octave below does not explain as much
as the pitch itself; after SWIPE (Camacho & Harris, JASA 124, 2008). Ours differs: a linear axis of frequency;
lobes no wider than a partial of the window is, so that a burst of noise is no high note; valleys of the same
weight as the lobes, so that even noise has no salience at all. A strong fifth partial, which misleads every
method on the autocorrelation, is one line in twelve here.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import RATE, SPECTRUM, Float32
from reedpath.hear.stretched import StretchedMatrix

# MIDI numbers of the pitches tried: from a tone under a guitar's low E to the highest reeds, every 20 cents
LOWEST_MIDI, HIGHEST_MIDI, GRID_STEP = 37.0, 103.0, 0.2
GRID_MIDI: npt.NDArray[np.float64] = np.arange(LOWEST_MIDI, HIGHEST_MIDI + GRID_STEP / 2, GRID_STEP)
GRID_HZ: npt.NDArray[np.float64] = 440.0 * np.exp2((GRID_MIDI - 69.0) / 12.0)
# harmonics in a comb, and the power of their number by which they count less; set on the development half of
# bench/hear_accuracy.py
HARMONICS = 12
HARMONIC_DECAY = 0.6
# half width of a lobe: hertz, and at most so much of the pitch; a partial under Hann's window of 48 ms is 42 Hz
LOBE_HZ, LOBE_SHARE = 60.0, 0.25
# hertz; below this a room only rumbles
FLOOR_HZ = 60.0
# pitches before which the combs are parted: those of the low ones end under the highest bins; by trial, for speed
PARTED = (64, 128)


def comb_table(
    bins: int,
    bin_hz: float,
    pitch_hz: npt.NDArray[np.float64],
    *,
    harmonics: int = HARMONICS,
    lobe_hz: float = LOBE_HZ,
    floor_hz: float = FLOOR_HZ,
) -> Float32:
    """The combs of some pitches over so many bins, shape (bins, pitches), lobes of unit length.

    Parameters
    ----------
    bin_hz : hertz from bin to bin. lobe_hz : half width of a lobe at most. floor_hz : below it nothing counts.
    """
    ratio = (np.arange(bins) * bin_hz)[:, np.newaxis] / pitch_hz
    half_width = np.minimum(LOBE_SHARE, lobe_hz / pitch_hz)
    total = np.zeros(ratio.shape, dtype=np.float32)
    for harmonic in range(1, harmonics + 1):
        distance = np.abs(ratio - harmonic)
        inside = distance < half_width
        angle = (distance * (np.pi / 2 / half_width)).astype(np.float32)
        lobe = np.cos(angle, where=inside, out=np.zeros_like(total))
        reach = 0.75 if harmonic in (1, harmonics) else 0.5
        valley = (distance < reach) & ~inside
        depth = lobe.sum(axis=0) / np.maximum(valley.sum(axis=0, dtype=np.float32), np.float32(1e-9))
        total += (lobe - depth * valley) / np.float32(harmonic**HARMONIC_DECAY)
    total[: int(floor_hz / bin_hz)] = 0.0
    length = np.sqrt(np.sum(np.maximum(total, 0.0) ** 2, axis=0))
    return np.asarray(total / length, dtype=np.float32)


@cache
def combs(rate: float = RATE) -> Float32:
    """The comb of each pitch of the grid at a rate, shape (bins, pitches), lobes of unit length."""
    return comb_table(SPECTRUM // 2 + 1, rate / SPECTRUM, GRID_HZ)


@cache
def _parted_combs(rate: float) -> StretchedMatrix:
    return StretchedMatrix(combs(rate), PARTED)


def salience(magnitudes: Float32, rate: float = RATE) -> tuple[Float32, Float32]:
    """Salience of each pitch, 0 to 1 at best, and the loudness that was divided out.

    Parameters
    ----------
    magnitudes : shape (frames, bins), of spectra of `SPECTRUM` frames at the rate in hertz.

    Returns
    -------
    Shapes (frames, pitches) and (frames,).
    """
    loudness = np.sqrt(magnitudes.sum(axis=1))
    rows = _parted_combs(rate).under(np.sqrt(magnitudes))
    rows /= loudness[:, np.newaxis] + np.float32(1e-6)
    return rows, loudness


def peaks_of(rows: Float32, count: int) -> tuple[npt.NDArray[np.float64], Float32]:
    """The highest local maxima of each row, by a parabola through three points.

    Returns
    -------
    MIDI numbers and heights, each of shape (frames, count), highest first; absent ones have height 0.
    """
    rises = rows[:, 1:] > rows[:, :-1]
    heights = rows[:, 1:-1] * (rises[:, :-1] > rises[:, 1:])  # where a rise is followed by none
    each = np.arange(len(rows))
    best: npt.NDArray[np.intp] = np.empty((len(rows), count), dtype=np.intp)
    present: npt.NDArray[np.bool_] = np.empty((len(rows), count), dtype=np.bool_)
    for place in range(count):  # the highest of a few hundred is found sooner than they are ordered
        best[:, place] = highest = heights.argmax(axis=1)
        present[:, place] = heights[each, highest] > 0
        heights[each, highest] = 0.0
    flat = best + (each * rows.shape[1])[:, np.newaxis]
    left, middle, right = (rows.ravel().take(flat + shift) for shift in (0, 1, 2))
    curvature = left - 2 * middle + right
    bows = curvature < 0
    shift = np.where(bows, 0.5 * (left - right) / np.where(bows, curvature, np.float32(1.0)), np.float32(0.0))
    top = middle - np.float32(0.25) * (left - right) * shift
    midi = GRID_MIDI[best + 1] + np.clip(shift, -0.5, 0.5) * GRID_STEP
    return midi, np.where(present, top, np.float32(0.0))
