"""Steady parts: stretches of a take's own sound, looked at once more when it is known what lies there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import numpy.typing as npt

from reedpath.signal.samples import Samples

__all__ = ["steady_parts"]

Float32 = npt.NDArray[np.float32]


# seconds of sound that are looked at at a time
BLOCK_SECONDS = 10


def _blocks(sound: Samples | Iterable[Samples]) -> Iterator[Samples]:
    for block in [sound] if isinstance(sound, Samples) else sound:
        step = BLOCK_SECONDS * block.rate
        for start in range(0, block.frames, step):
            yield Samples(block.array[start : start + step], block.rate)


def _mono(block: Samples) -> Float32:
    array = block.array[:, 0] if block.channels == 1 else block.array.mean(axis=1)
    return np.nan_to_num(array.astype(np.float32, copy=False), nan=0.0, posinf=0.0, neginf=0.0)


def steady_parts(
    sound: Samples | Iterable[Samples], spans: Sequence[tuple[float, float]]
) -> Iterator[tuple[int, Float32, int]]:
    """
    The sound of some stretches, read in one go; no more is kept of it than the stretches that are still open.

    Parameters
    ----------
    sound : whole, or in blocks.
    spans : start and end of each stretch in seconds, in any order.

    Yields
    ------
    Number of the stretch, its frames as one channel, and their rate in hertz; cut short where the sound ends.
    """
    order = sorted(range(len(spans)), key=lambda one: spans[one][1])
    kept, begins = np.zeros(0, dtype=np.float32), 0
    at, rate = 0, 0
    starts = np.minimum.accumulate([spans[one][0] for one in reversed(order)])[::-1] if order else np.zeros(0)
    for block in _blocks(sound):
        if at == len(order):
            return
        rate = block.rate
        kept = np.concatenate([kept, _mono(block)])
        while at < len(order) and round(spans[order[at]][1] * rate) <= begins + len(kept):
            first, last = (max(0, round(edge * rate) - begins) for edge in spans[order[at]])
            yield order[at], kept[first:last], rate
            at += 1
        needless = min(len(kept), max(0, round(starts[at] * rate) - begins)) if at < len(order) else len(kept)
        kept, begins = kept[needless:], begins + needless
    for number in order[at:] if rate else ():
        first, last = (max(0, round(edge * rate) - begins) for edge in spans[number])
        yield number, kept[first:last], rate
