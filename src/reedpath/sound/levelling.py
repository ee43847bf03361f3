"""Levelling: every sound at one loudness, whatever is in it, and no sample over -1 dB full scale.

A sound is measured whole before its beginning is given out. It is kept meanwhile: a short one in memory, a long one
in a file (`signal.SoundAside`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import chain

import numpy as np
import numpy.typing as npt

from reedpath.signal import Samples, SoundAside, concatenated
from reedpath.sound.loudness import SILENT_LUFS, LoudnessMeter
from reedpath.sound.mix import CEILING_DB, LIMITER_REACH_SECONDS, faded, limited

# LUFS of all that is sounded: the middle of the -20 to -16 recommended for files and streams (AES TD1004.1.15-10,
# 2015), moderate for the ear, and with room for the strokes of the drums under the ceiling
TARGET_LUFS = -18.0
# seconds of a sound that is kept in memory while it is measured: 42 MB of it
KEPT_SECONDS = 120.0
# decibels that the mean of the two sides loses of the harmonica's room, measured on the examples
ONE_CHANNEL_DB = 0.8
# LU that the limiter may take away before the gain makes up for it; far under what is heard
UNHEARD_LU = 0.1

Blocks = Callable[[], Iterator[Samples]]
Sound = npt.NDArray[np.float32]


def _limited_blocks(blocks: Iterator[Samples], gain: float) -> Iterator[Samples]:
    """Blocks that follow one another, louder by a gain, the loudest moments turned down as in one piece."""
    # the end of what was given out, which the limiter looks back at, and what waits for what follows
    held, given = np.zeros((2, 0), np.float32), 0
    rate = around = 0
    for block in chain(blocks, [None]):
        if block is not None:
            rate, around = block.rate, round(LIMITER_REACH_SECONDS * block.rate)
            wide = np.empty((2, held.shape[1] + block.frames), np.float32)
            wide[:, : held.shape[1]] = held
            np.multiply(block.array.T, np.float32(gain), out=wide[:, held.shape[1] :])
            held = wide
        ready = held.shape[1] - (around if block is not None else 0)
        # no piece is shorter than a fade, so that both ends lie in one piece each
        if ready - given < (around if block is not None else 1):
            continue
        yield Samples(limited(held, rate)[:, given:ready].T, rate)
        first = max(0, ready - around)
        held, given = held[:, first:], ready - first


def _measured(blocks: Iterator[Samples]) -> LoudnessMeter | None:
    """The meter after all blocks; None for no block."""
    meter = None
    for block in blocks:
        meter = meter or LoudnessMeter(rate=block.rate, channels=block.channels)
        meter.add(block.array)
    return meter


def _gain(blocks: Blocks) -> float:
    """How much louder a sound is to be, so that it has the target's loudness when it is limited."""
    meter = _measured(blocks())
    if meter is None or meter.lufs <= SILENT_LUFS:
        return 1.0
    gain = float(10.0 ** ((TARGET_LUFS - meter.lufs) / 20.0))
    if meter.peak * gain > 10.0 ** (CEILING_DB / 20.0):
        held = _measured(_limited_blocks(blocks(), gain))
        if held is not None and TARGET_LUFS - held.lufs > UNHEARD_LU:
            gain *= float(10.0 ** ((TARGET_LUFS - held.lufs) / 20.0))
    return gain


def levelled_blocks(blocks: Blocks, *, seconds: float, by: Blocks | None = None) -> Iterator[Samples]:
    """
    A stereo sound in blocks at the loudness of all sounds, its ends faded.

    blocks : gives the sound as it is mixed; called again where there is no room to keep it.
    seconds : its length.
    by : the sound whose loudness counts instead, for what is itself hardly ever heard, such as a click alone.
    """
    if seconds <= KEPT_SECONDS:
        kept = list(blocks())
        yield from _levelled_blocks(lambda: iter(kept), by)
    elif by is not None:  # the sound itself is gone through once
        with SoundAside(by) as aside:
            yield from _levelled_blocks(blocks, aside)
    else:
        with SoundAside(blocks) as aside:
            yield from _levelled_blocks(aside, None)


def _levelled_blocks(blocks: Blocks, by: Blocks | None) -> Iterator[Samples]:
    gain = _gain(by or blocks)
    limited_blocks = _limited_blocks(blocks(), gain)
    block = next(limited_blocks, None)
    is_first = True
    while block is not None:
        following = next(limited_blocks, None)
        yield _with_ends(block, is_first=is_first, is_last=following is None)
        block, is_first = following, False


def _with_ends(block: Samples, *, is_first: bool, is_last: bool) -> Samples:
    """A block faded where the whole sound begins and ends."""
    if not (is_first or is_last):
        return block
    sound = block.array.T.copy()
    ends = faded(sound.copy(), block.rate)
    half = sound.shape[1] // 2
    if is_first:
        sound[:, :half] = ends[:, :half]
    if is_last:
        sound[:, half:] = ends[:, half:]
    return Samples(sound.T, block.rate)


def levelled(sound: Samples, *, by: Samples | None = None) -> Samples:
    """A stereo sound in one piece at the loudness of all sounds; ``by`` as for `levelled_blocks`."""
    measured = None if by is None else lambda: iter([by])
    return concatenated(list(levelled_blocks(lambda: iter([sound]), seconds=sound.duration_seconds, by=measured)))


def in_one_channel(block: Samples) -> Samples:
    """A block of a play-along on one channel, which two loudspeakers play as loud as they play its two."""
    return Samples(block.mono().array * np.float32(10.0 ** (ONE_CHANNEL_DB / 20.0)), block.rate)
