"""Samples: a stretch of sound as a value.

An array of 32-bit floats, frames by channels, full scale at -1 to 1, and a rate in hertz. Nothing here
touches a disk; `files` reads and writes, `resample` changes the rate.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.errors import SoundError

FloatArray = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Samples:
    """Sound as a value; the array is read-only.

    array : float32, shape (frames, channels), full scale -1 to 1; a one-dimensional array is one channel.
    rate : frames a second, hertz.

    >>> sound = Samples(np.zeros(44100), 44100)
    >>> sound.frames, sound.channels, sound.duration_seconds
    (44100, 1, 1.0)
    """

    array: FloatArray
    rate: int

    def __post_init__(self) -> None:
        array = np.asarray(self.array, dtype=np.float32)
        if array.ndim == 1:
            array = array[:, np.newaxis]
        if array.ndim != 2 or array.shape[1] < 1:
            raise ValueError(f"samples have the shape (frames, channels), not {array.shape}")
        if self.rate <= 0:
            raise ValueError(f"a rate is over 0 Hz, not {self.rate}")
        view = array.view()
        view.flags.writeable = False
        object.__setattr__(self, "array", view)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Samples):
            return NotImplemented
        return self.rate == other.rate and np.array_equal(self.array, other.array)

    __hash__ = None  # type: ignore[assignment]

    def __len__(self) -> int:
        return self.frames

    @property
    def frames(self) -> int:
        """Number of frames."""
        return int(self.array.shape[0])

    @property
    def channels(self) -> int:
        """Number of channels."""
        return int(self.array.shape[1])

    @property
    def duration_seconds(self) -> float:
        """Length in seconds."""
        return self.frames / self.rate

    @property
    def peak(self) -> float:
        """Largest absolute value, 1 at full scale; 0 for no frames."""
        return float(np.max(np.abs(self.array), initial=0.0))

    def mono(self) -> Samples:
        """The mean of the channels, as one channel."""
        if self.channels == 1:
            return self
        # channel by channel: numpy goes along a side much faster than from side to side, and rounds alike
        total = self.array[:, 0] + self.array[:, 1]
        for index in range(2, self.channels):
            total += self.array[:, index]
        total /= np.float32(self.channels)
        return Samples(total, self.rate)

    def channel(self, index: int) -> Samples:
        """One channel alone."""
        return Samples(self.array[:, index], self.rate)

    def with_channels(self, channels: int) -> Samples:
        """The sound on so many channels: one is copied to all, many are mixed to one first."""
        if channels == self.channels:
            return self
        return Samples(np.repeat(self.mono().array, channels, axis=1), self.rate)

    def span(self, start_seconds: float = 0.0, end_seconds: float | None = None) -> Samples:
        """The stretch from one time to another, cut at the ends of the sound; shares its memory.

        >>> Samples(np.arange(10) / 10, 10).span(0.25, 0.55).array[:, 0].tolist()  # frames 2 to 5
        [0.20000000298023224, 0.30000001192092896, 0.4000000059604645, 0.5]
        """
        start = min(max(round(start_seconds * self.rate), 0), self.frames)
        end = self.frames if end_seconds is None else min(max(round(end_seconds * self.rate), 0), self.frames)
        return Samples(self.array[start : max(start, end)], self.rate)


def silence(seconds: float, *, rate: int, channels: int = 1) -> Samples:
    """So many seconds of nothing."""
    return Samples(np.zeros((round(seconds * rate), channels), dtype=np.float32), rate)


def _of_one_kind(sounds: Iterable[Samples]) -> list[Samples]:
    kept = list(sounds)
    if not kept:
        raise ValueError("at least one sound is needed")
    kinds = sorted({(sound.rate, sound.channels) for sound in kept})
    if len(kinds) > 1:
        (rate, channels), (other_rate, other_channels) = kinds[:2]
        raise SoundError(
            "signal.kinds_differ",
            rate=rate,
            channels=channels,
            other_rate=other_rate,
            other_channels=other_channels,
        )
    return kept


def concatenated(sounds: Iterable[Samples]) -> Samples:
    """The sounds one after another; all of one rate and number of channels, at least one.

    Raises `SoundError` when rates or numbers of channels differ.
    """
    kept = _of_one_kind(sounds)
    return Samples(np.concatenate([sound.array for sound in kept]), kept[0].rate)


def mixed(sounds: Iterable[Samples]) -> Samples:
    """The sounds together from their starts, as long as the longest; all of one rate and channels.

    Raises `SoundError` when rates or numbers of channels differ.
    """
    kept = _of_one_kind(sounds)
    total = np.zeros((max(sound.frames for sound in kept), kept[0].channels), dtype=np.float32)
    for sound in kept:
        total[: sound.frames] += sound.array
    return Samples(total, kept[0].rate)
