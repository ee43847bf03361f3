"""Own level: how loud the partials of an event are, moment by moment, whatever else sounds.

A drum, a word or another instrument under the playing raises the level of the whole; the partials of the note that
is asked rise only when its own reed begins. What stands between the partials is taken away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.listen.reed_spectrum import hann

__all__ = ["HOP_SECONDS", "OwnLevel", "own_level"]

Float32 = npt.NDArray[np.float32]
Float64 = npt.NDArray[np.float64]

# seconds of the windows, and from one to the next: a tongued reed stops for 30 ms or so
WINDOW_SECONDS, HOP_SECONDS = 0.026, 0.008
# partials that count, and hertz over which none does
PARTIALS, HIGHEST_HZ = 8, 6000.0
# hertz of the least rate that will do for them
THINNED_HZ = 14_000.0
# decibels under which nothing is told
LOWEST_DB = -100.0


@dataclass(frozen=True, slots=True, eq=False)
class OwnLevel:
    """The level of an event's own partials, decibels, one value every `HOP_SECONDS` from a time on."""

    start_seconds: float
    level_db: Float32

    def between(self, start_seconds: float, end_seconds: float) -> Float32:
        """The values between two times, at least one if there are any."""
        first = int(np.clip(round((start_seconds - self.start_seconds) / HOP_SECONDS), 0, len(self.level_db)))
        last = int(np.clip(round((end_seconds - self.start_seconds) / HOP_SECONDS), 0, len(self.level_db)))
        return self.level_db[first : max(last, first + 1)]

    def seconds_at(self, place: int) -> float:
        """Time of a value."""
        return self.start_seconds + place * HOP_SECONDS


def _thinned(sound: Float32, rate: int) -> tuple[Float32, int]:
    """Every so manieth frame, each the mean of those it stands for: levels need no better filter."""
    times = max(1, int(rate / THINNED_HZ))
    if times == 1:
        return sound, rate
    count = len(sound) // times * times
    thinned = sound[:count:times].copy()
    for place in range(1, times):
        thinned += sound[place:count:times]
    return thinned / np.float32(times), rate // times


def _power(spectra: npt.NDArray[np.complex64], bins: Float64) -> Float64:
    """Power of each spectrum in some bins together."""
    chosen = spectra[:, np.minimum(np.rint(bins).astype(np.intp), spectra.shape[1] - 1)]
    return np.asarray((np.square(chosen.real) + np.square(chosen.imag)).sum(axis=1), dtype=np.float64)


def own_level(sound: Float32, rate: int, pitches_hz: Sequence[float], start_seconds: float) -> OwnLevel:
    """
    The level of the partials of some pitches.

    Parameters
    ----------
    sound : one channel. rate : hertz.
    start_seconds : time of its first frame.
    """
    from scipy import fft

    sound, rate = _thinned(sound, rate)
    width, hop = int(WINDOW_SECONDS * rate), round(HOP_SECONDS * rate)
    if len(sound) < width:
        return OwnLevel(start_seconds, np.zeros(0, dtype=np.float32))
    windows = np.lib.stride_tricks.sliding_window_view(sound, width)[::hop] * hann(width)
    size = fft.next_fast_len(width, real=True)
    spectra = fft.rfft(windows, size, axis=1)
    top = min(HIGHEST_HZ, 0.45 * rate)
    places = np.array([hz * n for hz in pitches_hz for n in range(1, PARTIALS + 1) if hz * n < top])
    own = _power(spectra, places * size / rate)
    if len(pitches_hz) == 1:
        own = own - _power(spectra, (places + pitches_hz[0] / 2.0) * size / rate)
    scale = 4.0 / width**2
    level = 10.0 * np.log10(np.maximum(own * scale, 10.0 ** (LOWEST_DB / 10.0)))
    return OwnLevel(start_seconds + WINDOW_SECONDS / 2.0, level.astype(np.float32))
