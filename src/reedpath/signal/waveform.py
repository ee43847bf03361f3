"""How loud a sound is over time, as a picture of it is drawn; made block by block, so that it may be long."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from msgspec import Struct

from reedpath.signal.samples import Samples

# columns of a second at first, and at most of the whole: a desk's screen shows some 2,000
COLUMNS_PER_SECOND = 50.0
MOST_COLUMNS = 8_000


class Waveform(Struct, frozen=True):
    """How loud a sound is over time.

    seconds : its length. peaks : of columns of equal length, the largest amplitude, 0 to 100 of the loudest.
    """

    seconds: float
    peaks: tuple[int, ...]


def waveform_of_blocks(blocks: Iterable[Samples]) -> Waveform:
    """The waveform of a sound that comes in blocks of one rate."""
    peaks: list[float] = []
    seconds, rest = 0.0, np.zeros(0, dtype=np.float32)
    for block in blocks:
        step = max(1, round(block.rate / COLUMNS_PER_SECOND))
        seconds += block.duration_seconds
        loud = np.concatenate((rest, np.abs(block.array).max(axis=1)))
        whole = len(loud) // step
        peaks += loud[: whole * step].reshape(whole, step).max(axis=1).tolist()
        rest = loud[whole * step :]
    if len(rest):
        peaks.append(float(rest.max()))
    together = -(-len(peaks) // MOST_COLUMNS) or 1
    columns = [max(peaks[at : at + together]) for at in range(0, len(peaks), together)]
    loudest = max(columns, default=0.0) or 1.0
    return Waveform(round(seconds, 3), tuple(round(100 * one / loudest) for one in columns))
