"""The mix: a small room for the harmonica, and tracks added at their levels and held under full scale."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

# decibels full scale that no sample passes; leaves room for what lossy codecs add (EBU R 128 asks -1 dB true peak)
CEILING_DB = -1.0
# decibels by which the voice and the click stand in the mix: a lesson alone comes to about -18 LUFS
VOICE_DB, CLICK_DB = -1.0, 1.0
# seconds over which the limiter looks ahead and recovers; long enough not to be heard as a distortion
LIMITER_SECONDS = 0.06
# seconds before and after a moment that the limiter looks at, and some samples
LIMITER_REACH_SECONDS = 2.0 * LIMITER_SECONDS + 0.001
# seconds of fading at each end
FADE_SECONDS = 0.01

# frames added at a time
BLOCK_FRAMES = 1 << 16

Sound = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """One sound of the mix.

    sound : float32, shape (frames,) or (frames, 2).
    gain_db : decibels.
    pan : -1 left to 1 right, of a mono sound; the two sides' powers add up to the same.
    """

    sound: Sound
    gain_db: float = 0.0
    pan: float = 0.0


def _sides(track: Track) -> Sound:
    """Gains of the left and the right, shape (2,)."""
    gain = 10.0 ** (track.gain_db / 20.0)
    if track.sound.ndim == 2:
        return np.array([gain, gain], dtype=np.float32)
    angle = (track.pan + 1.0) * math.pi / 4.0
    return np.array([math.cos(angle), math.sin(angle)], dtype=np.float32) * np.float32(gain * math.sqrt(2.0))


def _add(out: Sound, track: Track) -> None:
    """Add a track to the mix, shape (2, frames), a block at a time so that no second copy of it is made."""
    frames = min(out.shape[1], len(track.sound))
    for side, gain in enumerate(_sides(track)):
        sound = track.sound if track.sound.ndim == 1 else track.sound[:, side]
        for start in range(0, frames, BLOCK_FRAMES):
            end = min(start + BLOCK_FRAMES, frames)
            out[side, start:end] += sound[start:end] * gain


def limited(sound: Sound, rate: int) -> Sound:
    """The sound, shape (2, frames), its loudest moments turned down where they would pass the ceiling."""
    ceiling = 10.0 ** (CEILING_DB / 20.0)
    if not sound.size or max(sound.max(), -sound.min()) <= ceiling:
        return sound
    peaks = np.maximum(np.abs(sound[0]), np.abs(sound[1]))
    from scipy.ndimage import minimum_filter1d, uniform_filter1d

    reach = max(1, round(LIMITER_SECONDS * rate))
    wanted = np.minimum(1.0, ceiling / np.maximum(peaks, 1e-9))
    lowest = minimum_filter1d(wanted, 2 * reach + 1, mode="nearest")
    smooth = uniform_filter1d(uniform_filter1d(lowest, reach | 1, mode="nearest"), reach | 1, mode="nearest")
    return (sound * smooth).astype(np.float32)


def faded(sound: Sound, rate: int) -> Sound:
    """The sound, shape (2, frames), changed in place: both ends are faded over 10 ms, so that nothing clicks."""
    frames = sound.shape[1]
    fade = min(round(FADE_SECONDS * rate), frames // 2)
    if fade:
        ramp = np.linspace(0.0, 1.0, fade, dtype=np.float32)
        sound[:, :fade] *= ramp
        sound[:, frames - fade :] *= ramp[::-1]
    return sound


def mixed(tracks: Iterable[Track], *, seconds: float, rate: int) -> Sound:
    """The tracks added, shape (2, frames), as loud as they come; what is longer than ``seconds`` is cut."""
    # side by side: numpy goes along one side much faster than from side to side
    out = np.zeros((2, round(seconds * rate)), dtype=np.float32)
    for track in tracks:
        _add(out, track)
    return out


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
# samples transformed at a time: a number without large factors, whose transform stays near the processor
BLOCK = 5 << 14


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
    """A dry mono sound, shape (frames,), heard in the middle of a small room, shape (frames, 2).

    A few early reflections and a short tail, different on the left and the right.
    """
    lines = _reflections_transformed(rate)
    step = BLOCK - _reflections(rate).shape[1] + 1
    out = np.empty((2, len(sound)), dtype=np.float32)
    out[:] = sound
    for start in range(0, len(sound), step):
        block = np.fft.rfft(sound[start : start + step], BLOCK)
        for side in (0, 1):
            wet = np.fft.irfft(block * lines[side], BLOCK)
            end = min(start + BLOCK, len(sound))
            out[side, start:end] += wet[: end - start]
    return out.T
