"""Frames: a sound cut into overlapping windows, block by block, all of one length and centred on a clock.

Frame number n is centred on the time n * `HOP_SECONDS`; the sound is taken to be silent before its start and
after its end. Everything is heard at `RATE`, mono.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from reedpath.signal.one_channel import OneChannel
from reedpath.signal.resample import BlockResampler
from reedpath.signal.samples import Samples

# hertz; twice the seventh overtone of a high C and more than twice the second of the highest note heard
RATE = 16_000
# frames of sound from one window to the next (10 ms), and in a window (48 ms: four periods of 80 Hz)
HOP = 160
WINDOW = 768
# frames of the spectrum that a window is padded to with silence
SPECTRUM = 1024
# seconds from one window to the next
HOP_SECONDS = HOP / RATE
# seconds of sound analysed at a time: bounds the memory (about 60 MB), and the room tone is learnt from it
BLOCK_SECONDS = 10

Float32 = npt.NDArray[np.float32]
Value = TypeVar("Value", bound=np.generic)


def _at_rate(sound: Samples | Iterable[Samples]) -> Iterator[Float32]:
    blocks = [sound] if isinstance(sound, Samples) else sound
    resampler, one_channel = None, OneChannel()
    for block in blocks:
        if resampler is None:
            resampler = BlockResampler(block.rate, RATE)
        for start in range(0, block.frames, BLOCK_SECONDS * block.rate):
            part = Samples(block.array[start : start + BLOCK_SECONDS * block.rate], block.rate)
            out = resampler.feed(np.ascontiguousarray(one_channel.of(part)))
            yield out if np.isfinite(out.sum()) else np.nan_to_num(out, nan=0.0, posinf=0.0, neginf=0.0)
    if resampler is not None:
        yield resampler.finish()


def heard_blocks(sound: Samples | Iterable[Samples]) -> Iterator[Float32]:
    """The sound as one channel at `RATE`, in blocks of `BLOCK_SECONDS` (the last is shorter).

    Values that are no numbers are taken as silence.
    """
    wanted = BLOCK_SECONDS * RATE
    kept = np.zeros(0, dtype=np.float32)
    for part in _at_rate(sound):
        kept = np.concatenate([kept, part]) if len(kept) else part
        while len(kept) >= wanted:
            yield kept[:wanted]
            kept = kept[wanted:]
    if len(kept):
        yield kept


def heard_sound(sound: Samples | Iterable[Samples]) -> Iterator[Samples]:
    """The same as a sound that is heard as it is, to be kept for another reading."""
    return (Samples(block, RATE) for block in heard_blocks(sound))


def windows_of(values: npt.NDArray[Value], width: int, hop: int = 1) -> npt.NDArray[Value]:
    """The windows of so many values that a row holds, one every `hop` values: shape (windows, width), a view if its
    values lie side by side; only to be read.

    >>> windows_of(np.arange(6.0), 3, 2).tolist()
    [[0.0, 1.0, 2.0], [2.0, 3.0, 4.0]]
    """
    count, step = max(0, (len(values) - width) // hop + 1), values.itemsize
    # as `sliding_window_view` gives, whose checks take ten times as long
    return np.ndarray((count, width), values.dtype, np.ascontiguousarray(values), 0, (hop * step, step))


def widened(values: npt.NDArray[Value], reach: int) -> npt.NDArray[Value]:
    """A row with its first value so many times before it, and its last so many times after it.

    >>> widened(np.array([1, 2]), 2).tolist()
    [1, 1, 1, 2, 2, 2]
    """
    wide = np.empty(len(values) + 2 * reach, dtype=values.dtype)
    wide[:reach], wide[reach : reach + len(values)], wide[reach + len(values) :] = values[0], values, values[-1]
    return wide


class FrameCutter:
    """Cuts blocks of sound into windows; keeps only what the next window needs."""

    def __init__(self, *, hop: int = HOP, window: int = WINDOW) -> None:
        self._hop = hop
        self._window = window
        self._kept: Float32 = np.zeros(window // 2, dtype=np.float32)
        self._fed = 0
        self._cut = 0

    def feed(self, block: Float32) -> Float32:
        """The windows that are complete after this block, shape (windows, window)."""
        self._fed += len(block)
        return self._windows(np.concatenate([self._kept, block]))

    def finish(self) -> Float32:
        """The last windows, as many as centres still lie inside the sound."""
        wanted = -(-self._fed // self._hop) - self._cut
        if wanted <= 0:
            return np.zeros((0, self._window), dtype=np.float32)
        length = (wanted - 1) * self._hop + self._window
        return self._windows(np.pad(self._kept, (0, max(0, length - len(self._kept)))))[:wanted]

    def _windows(self, sound: Float32) -> Float32:
        count = max(0, (len(sound) - self._window) // self._hop + 1)
        if count == 0:
            self._kept = sound
            return np.zeros((0, self._window), dtype=np.float32)
        windows = windows_of(sound, self._window, self._hop)
        self._kept = sound[count * self._hop :]
        self._cut += count
        return windows
