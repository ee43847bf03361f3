"""More that a take may be heard under: gain that follows the level, hands, and the codings of telephones.

Each takes a sound of one channel at `glued_takes.RATE` and a generator, as those of `glued_takes` do.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, lfilter, sosfilt

from reedpath.signal import Samples, decode, resampled
from support.coded_sounds import coded
from support.glued_takes import RATE, room

# seconds between values of a gain
STEP = 0.005
# a gain that follows the level: what it brings the sound to (decibels of full scale), the most it adds, and seconds
# in which it falls and grows by about two thirds; a telephone's, from memory
TARGET_DB, MOST_DB, FALLS, GROWS = -12.0, 30.0, 0.04, 1.2
# seconds in which what opens at the first sound is open, and decibels that it takes away before; from memory
OPENS, SHUT_DB = 0.12, 30.0


def _followed(level_db: NDArray[np.float64]) -> NDArray[np.float64]:
    """The gain in decibels for each step, quick to fall and slow to grow."""
    gain, found = MOST_DB, np.zeros(len(level_db))
    for place, level in enumerate(level_db):
        wanted = min(MOST_DB, TARGET_DB - level)
        gain += (wanted - gain) * (1 - np.exp(-STEP / (FALLS if wanted < gain else GROWS)))
        found[place] = gain
    return found


def automatic_gain(sound: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """A room, its noise, and a gain that stands high before the first note, falls when it comes, and grows in pauses;
    what is loud meanwhile is cut off at full scale.
    """
    heard = room(sound / np.abs(sound).max() * 0.25, rng)
    width = round(STEP * RATE)
    power = lfilter([1 - np.exp(-1 / (0.01 * RATE))], [1, -np.exp(-1 / (0.01 * RATE))], heard**2)[::width]
    gain = _followed(10 * np.log10(power + 1e-9))
    at = np.arange(len(heard)) / width
    return np.clip(heard * 10 ** (np.interp(at, np.arange(len(gain)), gain) / 20), -1.0, 1.0)


def swallowed(sound: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """The same behind what is shut in silence and opens at sound, so that the first note comes out of nothing."""
    loud = np.abs(sound) > 0.02 * np.abs(sound).max()
    first = int(np.argmax(loud)) / RATE
    at = np.arange(len(sound)) / RATE
    shut = SHUT_DB * np.clip(1 - (at - first) / OPENS, 0, 1)
    return automatic_gain(sound, rng) * 10 ** (-shut / 20)


def wah(sound: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """Hands that open and close two to four times a second: shut, they take 6 dB away, 18 dB over 800 Hz."""
    at, hz = np.arange(len(sound)) / RATE, rng.uniform(2.0, 4.0)
    shut = (1 - np.cos(2 * np.pi * hz * at + rng.uniform(0, 2 * np.pi))) / 2
    dark = sosfilt(butter(1, 800, fs=RATE, output="sos"), sound)
    return room(sound * (1 - shut) + shut * (0.48 * dark + 0.12 * (sound - dark)), rng)


def _decoded(data: bytes, frames: int) -> NDArray[np.float64]:
    """What a file sounds like, at the rate and of the length that the sound had."""
    heard = resampled(decode(data, mono=True), RATE).array[:, 0].astype(float)
    return np.pad(heard, (0, max(0, frames - len(heard))))[:frames]


def opus(sound: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """A room, coded as a voice message over the net is: Opus at 24 kb/s."""
    heard = room(sound, rng)
    return _decoded(
        coded(Samples(heard / np.abs(heard).max() * 0.7, RATE), "opus", bits_per_second=24_000), len(sound)
    )


def amr(sound: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """A room, coded as an old telephone's voice memo is: AMR at 12.2 kb/s."""
    heard = room(sound, rng)
    return _decoded(
        coded(Samples(heard / np.abs(heard).max() * 0.7, RATE), "amr", bits_per_second=12_200), len(sound)
    )
