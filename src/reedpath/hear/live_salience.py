"""LiveSalience: how well each pitch explains the newest sound, each looked at for as long as it needs and no longer.

A comb tells a pitch from its neighbours once four and a half of its periods are in: 9 ms for the middle of a
harmonica, 36 ms for its lowest holes. So there is a window for each half octave, all of them ending with the newest
sample. Where `reedpath.hear.salience` has lobes as narrow as a long window makes its partials, the combs here are
cosines over the number of the harmonic: with so few periods a partial is as wide as its place in the comb.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import SPECTRUM, Float32
from reedpath.hear.salience import FLOOR_HZ, HARMONIC_DECAY, HARMONICS

# MIDI numbers of the pitches tried: from under a guitar's low E to over the highest reed of a high G harp (103),
# every 20 cents
LOWEST_MIDI, HIGHEST_MIDI, PITCH_STEP = 37.0, 105.0, 0.2
PITCH_MIDI: npt.NDArray[np.float64] = np.arange(LOWEST_MIDI, HIGHEST_MIDI + PITCH_STEP / 2, PITCH_STEP)
PITCH_HZ: npt.NDArray[np.float64] = 440.0 * np.exp2((PITCH_MIDI - 69.0) / 12.0)
# periods of a pitch that its window holds; the windows in seconds, a half octave apart. Found on the tuning takes
# of bench/listen_live.py: with 3.5 periods more notes are late or wrong, with 7 ms held notes are
PERIODS = 4.5
WINDOW_SECONDS = tuple(0.009 * 2.0 ** (number / 2.0) for number in range(5))

# steps of the grid by which a pitch may be missed where two windows meet (1.6 semitones)
NEAR_STEPS = 8


def _cosine_combs(hz: npt.NDArray[np.float64], rate: float) -> Float32:
    """The comb of each pitch at a rate, shape (bins, pitches): peaks on its harmonics, troughs half-way.

    It fades towards half the rate: a peak cut through there would lean.
    """
    bins = np.arange(SPECTRUM // 2 + 1)[:, np.newaxis]
    number = bins * rate / SPECTRUM / hz
    inside = (number > 0.25) & (number < HARMONICS + 0.75)
    decay = np.clip(np.rint(number), 1, HARMONICS) ** HARMONIC_DECAY
    comb = np.where(inside, np.cos(2.0 * np.pi * number) / decay, 0.0) * np.cos(np.pi * bins / SPECTRUM)
    comb[: int(FLOOR_HZ * SPECTRUM / rate)] = 0.0
    return np.asarray(comb / np.sqrt(np.square(np.maximum(comb, 0.0)).sum(axis=0)), dtype=np.float32)


@lru_cache(maxsize=8)
def _tables(rate: float) -> tuple[Float32, tuple[slice, ...], Float32]:
    """Windows that end with the newest frame, shape (windows, `SPECTRUM`); the pitches each serves; all combs."""
    wanted = np.searchsorted(WINDOW_SECONDS, PERIODS / PITCH_HZ)
    served = np.minimum(wanted, len(WINDOW_SECONDS) - 1)
    windows = np.zeros((len(WINDOW_SECONDS), SPECTRUM), dtype=np.float32)
    parts = []
    for number, seconds in enumerate(WINDOW_SECONDS):
        frames = min(SPECTRUM, round(seconds * rate))
        windows[number, SPECTRUM - frames :] = np.sin(np.pi * (np.arange(frames) + 0.5) / frames) ** 2
        pitches = np.flatnonzero(served == number)
        parts.append(slice(int(pitches[0]), int(pitches[-1]) + 1))
    return windows, tuple(parts), _cosine_combs(PITCH_HZ, rate)


class LiveSalience:
    """Salience of each pitch of `PITCH_MIDI` in the newest sound at a rate in hertz."""

    __slots__ = ("_combs", "_parts", "_windows")

    def __init__(self, rate: float) -> None:
        self._windows, self._parts, self._combs = _tables(rate)

    def salience(self, newest: Float32) -> Float32:
        """Salience, 0 to 1 at best and about 0 for noise, shape (pitches,), of the newest `SPECTRUM` frames."""
        from scipy import fft

        compressed = np.sqrt(np.abs(fft.rfft(newest * self._windows, axis=1)))
        length = np.sqrt(np.square(compressed).sum(axis=1)) + 1e-6
        rows = [
            row @ self._combs[:, part] / size for row, size, part in zip(compressed, length, self._parts, strict=True)
        ]
        return np.concatenate(rows[::-1])

    def place_near(self, place: int, magnitudes: Float32) -> int:
        """The place of the best pitch near one, in one spectrum: where two windows meet, the longer one leans."""
        part = slice(max(0, place - NEAR_STEPS), place + NEAR_STEPS + 1)
        return part.start + int(np.argmax(np.sqrt(magnitudes) @ self._combs[:, part]))
