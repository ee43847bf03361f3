"""A small room: a few early reflections and a short tail, different on the left and the right."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

__all__ = ["placed_in_room"]

# seconds for the tail to fall by 60 dB, and its whole length; our choice, a furnished living room
TAIL_SECONDS, LENGTH_SECONDS = 0.38, 0.32
# decibels of the whole reflected sound under the direct one; our choice
WET_DB = -13.0
# hertz above which walls swallow more and more; our choice
DARK_HZ = 4200.0
# seconds and strength of the early reflections, left and right; our choice
EARLY = (
    ((0.0071, 0.50), (0.0127, -0.38), (0.0193, 0.31), (0.0271, 0.22)),
    ((0.0083, 0.48), (0.0113, 0.36), (0.0211, -0.30), (0.0293, 0.20)),
)
# samples transformed at a time
BLOCK = 1 << 17

Sound = npt.NDArray[np.float32]


@lru_cache(maxsize=4)
def _reflections(rate: int) -> npt.NDArray[np.float64]:
    """What the room adds to a click, shape (2, samples)."""
    count = round(LENGTH_SECONDS * rate)
    times = np.arange(count) / rate
    random = np.random.default_rng(17)
    sides = []
    for early in EARLY:
        tail = random.standard_normal(count) * 10.0 ** (-3.0 * times / TAIL_SECONDS)
        tail *= np.clip(times / 0.012, 0.0, 1.0)
        tail *= 0.35 / np.sqrt(np.sum(tail**2))
        for seconds, strength in early:
            tail[round(seconds * rate)] += strength
        lines = np.fft.rfft(tail, 2 * count)
        axis = np.fft.rfftfreq(2 * count, 1.0 / rate)
        dark = np.fft.irfft(lines / np.sqrt(1.0 + (axis / DARK_HZ) ** 2))[:count]
        dark *= np.minimum(1.0, (count - 1 - np.arange(count)) / (0.02 * rate))
        sides.append(dark * 10.0 ** (WET_DB / 20.0) / np.sqrt(np.sum(dark**2)))
    return np.array(sides)


@lru_cache(maxsize=4)
def _reflections_transformed(rate: int) -> npt.NDArray[np.complex64]:
    return np.fft.rfft(_reflections(rate), BLOCK).astype(np.complex64)


def placed_in_room(sound: Sound, *, rate: int) -> Sound:
    """A dry mono sound, shape (frames,), heard in the middle of a small room, shape (frames, 2)."""
    from scipy import fft

    lines = _reflections_transformed(rate)
    step = BLOCK - _reflections(rate).shape[1] + 1
    out = np.empty((len(sound), 2), dtype=np.float32)
    out[:] = sound[:, np.newaxis]
    for start in range(0, len(sound), step):
        block = fft.rfft(sound[start : start + step], BLOCK)
        for side in (0, 1):
            wet = fft.irfft(block * lines[side], BLOCK)
            end = min(start + BLOCK, len(sound))
            out[start:end, side] += wet[: end - start]
    return out
