"""How loud a sound is to the ear, in LUFS: ITU-R BS.1770-5 (2023), "Algorithms to measure audio programme loudness".

The two filters are the recommendation's, recomputed for the rate from their analogue form (a shelf of 4 dB
above 1.7 kHz for the head, a high pass at 38 Hz); blocks of 0.4 s every 0.1 s, gated at -70 LUFS and then at
10 LU under their mean.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from reedpath.signal.recursive_filter import RecursiveFilter

# LUFS; the absolute gate, and what we call silence
SILENT_LUFS = -70.0
# LU under the mean of the blocks; the relative gate
RELATIVE_GATE = 10.0
# seconds from one block to the next, and how many of these a block is long: 0.4 s
STEP_SECONDS, STEPS = 0.1, 4
# frames that the filter takes at a time at most, and steps weighted at a time; quickest of what was tried
MOST_STRETCH, AT_ONCE = 64, 10
# LUFS of a full-scale power of 1
OFFSET_LUFS = -0.691
# hertz, decibels and quality of the shelf; hertz and quality of the high pass: the recommendation's
# coefficients at 48 kHz in analogue form (from memory; checked at 48 kHz in the tests)
SHELF_HZ, SHELF_DB, SHELF_Q = 1681.974450955533, 3.999843853973347, 0.7071752369554196
PASS_HZ, PASS_Q = 38.13547087602444, 0.5003270373238773


def filters(rate: int) -> npt.NDArray[np.float64]:
    """The two filters as second-order sections, shape (2, 6)."""
    k = math.tan(math.pi * SHELF_HZ / rate)
    high = 10.0 ** (SHELF_DB / 20.0)
    band = high**0.4996667741545416
    a0 = 1.0 + k / SHELF_Q + k * k
    shelf = [
        (high + band * k / SHELF_Q + k * k) / a0,
        2.0 * (k * k - high) / a0,
        (high - band * k / SHELF_Q + k * k) / a0,
        1.0,
        2.0 * (k * k - 1.0) / a0,
        (1.0 - k / SHELF_Q + k * k) / a0,
    ]
    k = math.tan(math.pi * PASS_HZ / rate)
    a0 = 1.0 + k / PASS_Q + k * k
    high_pass = [1.0, -2.0, 1.0, 1.0, 2.0 * (k * k - 1.0) / a0, (1.0 - k / PASS_Q + k * k) / a0]
    return np.array([shelf, high_pass])


def _mean_lufs(powers: npt.NDArray[np.floating]) -> float:
    return OFFSET_LUFS + 10.0 * math.log10(float(powers.mean())) if len(powers) else SILENT_LUFS


def _stretch(step: int) -> int:
    """Frames that the filter takes at a time: a part of a step, so that a step is whole stretches."""
    return next(frames for frames in range(min(step, MOST_STRETCH), 0, -1) if step % frames == 0)


class LoudnessMeter:
    """Integrated loudness of a sound that comes piece by piece; of each 0.1 s only the energy is kept."""

    def __init__(self, *, rate: int, channels: int) -> None:
        self._step = round(STEP_SECONDS * rate)
        self._weighting = RecursiveFilter(filters(rate), channels=channels, stretch=_stretch(self._step))
        self._energies: list[npt.NDArray[np.float64]] = []
        self._rest = np.zeros((channels, 0), dtype=np.float32)
        self._frames = 0
        self.peak = 0.0

    def add(self, sound: npt.NDArray[np.floating]) -> None:
        """The next piece, shape (frames, channels)."""
        if not len(sound):
            return
        self._frames += len(sound)
        self.peak = max(self.peak, float(sound.max()), -float(sound.min()))
        waiting = np.concatenate([self._rest, sound.T], axis=1, dtype=np.float32)
        whole = waiting.shape[1] // self._step * self._step
        self._rest = waiting[:, whole:].copy()
        for start in range(0, whole, AT_ONCE * self._step):
            self._energies.append(self._energies_of(waiting[:, start : min(whole, start + AT_ONCE * self._step)]))

    def _energies_of(self, sound: npt.NDArray[np.float32]) -> npt.NDArray[np.float64]:
        """Weighted energies of whole steps, all channels together."""
        powers = np.square(self._weighting.put(sound)).sum(axis=0)
        return np.asarray(powers.reshape(-1, self._step).sum(axis=1, dtype=np.float64))

    @property
    def lufs(self) -> float:
        """Loudness of all that came; -70 for silence. What is shorter than a block is measured as one."""
        steps = np.concatenate([np.zeros(0), *self._energies])
        if self._frames == 0:
            return SILENT_LUFS
        if len(steps) < STEPS:
            silent = np.zeros((len(self._rest), self._step - self._rest.shape[1]), dtype=np.float32)
            rest = self._energies_of(np.concatenate([self._rest, silent], axis=1))
            blocks = (steps.sum() + rest) / self._frames
        else:
            blocks = np.convolve(steps, np.ones(STEPS), mode="valid") / (STEPS * self._step)
        heard = blocks[blocks > 10.0 ** ((SILENT_LUFS - OFFSET_LUFS) / 10.0)]
        if not len(heard):
            return SILENT_LUFS
        gate = _mean_lufs(heard) - RELATIVE_GATE
        return _mean_lufs(heard[heard > 10.0 ** ((gate - OFFSET_LUFS) / 10.0)])


def loudness_lufs(sound: npt.NDArray[np.floating], *, rate: int) -> float:
    """
    Integrated loudness, LUFS, of a sound of shape (frames, channels) or (frames,); -70 for silence.

    A sound shorter than a block is measured as one block.
    """
    both = sound[:, np.newaxis] if sound.ndim == 1 else sound
    meter = LoudnessMeter(rate=rate, channels=both.shape[1])
    meter.add(both)
    return meter.lufs
