"""Partials: the peaks of long spectra, where the notes of a double stop stand apart.

Windows of 128 ms every 40 ms, up to 5 kHz; each peak's exact frequency by reassignment (see `spectrum`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reedpath.hear.frames import RATE, Float32, FrameCutter

# frames of sound from one long window to the next (40 ms), and in one (128 ms)
HOP, WINDOW = 640, 2048
PARTIALS_HOP_SECONDS = HOP / RATE
# most peaks kept of a window
MOST = 40
# hertz between which they are sought
LOWEST_HZ, HIGHEST_HZ = 60.0, 5000.0
# decibels under the highest peak, and ratio to the median of the bins round about, from which a peak counts
DEPTH_DB, OVER_FLOOR, FLOOR_BINS = 45.0, 2.0, 41

_PHASE = 2 * np.pi * np.arange(WINDOW) / WINDOW
_HANN = (0.5 - 0.5 * np.cos(_PHASE)).astype(np.float32)
_HANN_SLOPE = (np.pi / WINDOW * np.sin(_PHASE)).astype(np.float32)
_BINS = int(HIGHEST_HZ * WINDOW / RATE)


@dataclass(frozen=True, slots=True, eq=False)
class Partials:
    """Peaks of each long window; window n is centred on n * `PARTIALS_HOP_SECONDS`.

    hz, magnitude : shape (windows, `MOST`), magnitude 0 for no peak.
    """

    hz: Float32
    magnitude: Float32


def _medians(magnitudes: Float32) -> Float32:
    """The median round each bin; in one row, which the science library does ten times faster than in many."""
    from scipy.ndimage import median_filter

    reach = FLOOR_BINS // 2
    padded = np.pad(magnitudes, ((0, 0), (reach, reach)), mode="symmetric")
    return np.asarray(median_filter(padded.ravel(), FLOOR_BINS).reshape(padded.shape)[:, reach:-reach])


def _peaks(windows: Float32) -> tuple[Float32, Float32]:
    from scipy import fft

    plain = fft.rfft(windows * _HANN, axis=1)[:, : _BINS + 2]
    sloped = fft.rfft(windows * _HANN_SLOPE, axis=1)[:, : _BINS + 2]
    magnitudes = np.abs(plain)
    inner = magnitudes[:, 1:-1]
    is_peak = (inner > magnitudes[:, :-2]) & (inner >= magnitudes[:, 2:])
    is_peak &= inner > inner.max(axis=1, keepdims=True) * 10 ** (-DEPTH_DB / 20)
    is_peak &= inner > OVER_FLOOR * _medians(magnitudes)[:, 1:-1]
    is_peak[:, : int(LOWEST_HZ * WINDOW / RATE)] = False
    heights = np.where(is_peak, inner, 0.0)
    best = np.argpartition(-heights, MOST, axis=1)[:, :MOST]
    height = np.take_along_axis(heights, best, axis=1)
    best += 1
    rows = np.arange(len(windows))[:, np.newaxis]
    at = plain[rows, best]
    turn = (sloped[rows, best] * np.conj(at)).imag / (np.square(np.abs(at)) + 1e-20)
    hz = best * (RATE / WINDOW) - turn * RATE / (2 * np.pi)
    return hz.astype(np.float32), height.astype(np.float32)


class PartialFinder:
    """Collects the partials of a sound that comes in blocks."""

    def __init__(self) -> None:
        self._cutter = FrameCutter(hop=HOP, window=WINDOW)
        self._found: list[tuple[Float32, Float32]] = []

    def feed(self, block: Float32) -> None:
        """Take in a block at `RATE`."""
        self._look(self._cutter.feed(block))

    def finish(self) -> Partials:
        """The partials of the whole."""
        self._look(self._cutter.finish())
        if not self._found:
            nothing = np.zeros((0, MOST), dtype=np.float32)
            return Partials(nothing, nothing)
        hz, magnitude = (np.concatenate(columns) for columns in zip(*self._found, strict=True))
        return Partials(hz, magnitude)

    def _look(self, windows: Float32) -> None:
        if len(windows):
            self._found.append(_peaks(windows))
