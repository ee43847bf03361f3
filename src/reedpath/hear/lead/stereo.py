"""A record's sound as the lead is sought in it: two channels, their spectra piece by piece.

Frames are those of `hear.frames` (16 kHz, one every 10 ms), but each looks at 64 ms, so that the partials of a
band stand apart, and beside it at 32 ms, so that it is seen when something begins.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from reedpath.hear.frames import HOP, RATE, SPECTRUM, Float32
from reedpath.hear.spectrum import Spectra, hann
from reedpath.signal.resample import BlockResampler, resampled
from reedpath.signal.samples import Samples

# frames of sound in a long window (64 ms) and in a short one (32 ms)
LONG, SHORT = 1024, 512
# frames in a piece (20 s: bounds the memory), and on each side of it that are looked at and not told
PIECE, MARGIN = 2000, 12
# hertz at which bass and chords are looked at
LOW_RATE = 4000
# correlation of the channels under which one of them is upside down
UPSIDE_DOWN = -0.8


@dataclass(frozen=True, slots=True, eq=False)
class StereoFrames:
    """Spectra of some frames, each of shape (frames, bins).

    middle : of both channels together. left, right : magnitudes.
    place : where the power of a bin lies, -1 left to 1 right.
    """

    middle: Spectra
    left: Float32
    right: Float32
    place: Float32

    def __len__(self) -> int:
        return len(self.left)


# frames told of, where they lie in a piece of sound, and the piece's spectra
Piece = tuple[slice, slice, StereoFrames]


def stereo_at_rate(sound: Samples | Iterable[Samples]) -> Float32:
    """The sound in two channels at `RATE`, shape (frames, 2); what are no numbers is taken as silence."""
    blocks = [sound] if isinstance(sound, Samples) else sound
    sides: list[BlockResampler] = []
    made: list[Float32] = []
    for block in blocks:
        if not sides:
            sides = [BlockResampler(block.rate, RATE) for _ in range(2)]
        both = block.with_channels(2).array if block.channels != 2 else block.array
        both = np.nan_to_num(both, nan=0.0, posinf=0.0, neginf=0.0)
        made.append(_together([side.feed(np.ascontiguousarray(both[:, at])) for at, side in enumerate(sides)]))
    if not sides:
        return np.zeros((0, 2), dtype=np.float32)
    made.append(_together([side.finish() for side in sides]))
    array = np.concatenate(made)
    left, right = array[:, 0], array[:, 1]
    if float(left @ right) < UPSIDE_DOWN * float(np.sqrt((left @ left) * (right @ right))):
        array[:, 1] = -right
    return array


def _together(sides: list[Float32]) -> Float32:
    frames = min(len(side) for side in sides)
    return np.stack([side[:frames] for side in sides], axis=1).astype(np.float32)


def low_middle(array: Float32) -> Float32:
    """Both channels together at `LOW_RATE`, shape (frames,)."""
    return resampled(Samples(array.mean(axis=1), RATE), LOW_RATE).array[:, 0]


def frame_count(array: Float32) -> int:
    """How many frames a sound has."""
    return max(0, len(array) // HOP + 1) if len(array) else 0


def short_frames(array: Float32, first: int, count: int) -> tuple[Float32, Float32]:
    """Magnitudes of both channels in short windows from a frame on, and their place; shape (frames, bins)."""
    from scipy import fft

    windows = _windows(array, first, count, SHORT)
    left, right = (np.abs(fft.rfft(windows[:, side] * hann(SHORT), SPECTRUM, axis=1)) for side in (0, 1))
    return np.sqrt((np.square(left) + np.square(right)) / 2).astype(np.float32), _place(left, right)


def _windows(array: Float32, first: int, count: int, length: int) -> Float32:
    """Windows centred on some frames, shape (count, 2, length)."""
    start, end = first * HOP - length // 2, (first + count - 1) * HOP + length // 2
    part = array[max(0, start) : max(0, end)]
    part = np.pad(part, ((max(0, -start), max(0, end - max(0, start) - len(part))), (0, 0)))
    return np.lib.stride_tricks.sliding_window_view(part, length, axis=0)[::HOP][:count]


def _place(left: Float32, right: Float32) -> Float32:
    left, right = np.square(left), np.square(right)
    return np.asarray((right - left) / (right + left + 1e-9), dtype=np.float32)


def _frames(array: Float32, first: int, count: int) -> StereoFrames:
    from scipy import fft

    windows = _windows(array, first, count, LONG)
    left, right = (np.abs(fft.rfft(windows[:, side] * hann(LONG), axis=1)).astype(np.float32) for side in (0, 1))
    middle = Spectra(np.asarray((windows[:, 0] + windows[:, 1]) / 2, dtype=np.float32))
    return StereoFrames(middle, left, right, _place(left, right))


def pieces_of(array: Float32) -> Iterator[Piece]:
    """A sound piece by piece: the frames told of, where they lie in the piece, and the piece's spectra."""
    total = frame_count(array)
    for start in range(0, total, PIECE):
        end = min(start + PIECE, total)
        first, last = max(0, start - MARGIN), min(total, end + MARGIN)
        yield slice(start, end), slice(start - first, end - first), _frames(array, first, last - first)
