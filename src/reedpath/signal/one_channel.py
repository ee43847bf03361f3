"""One channel of several, so that nothing is lost: their mean, unless they cancel each other out."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from reedpath.signal.samples import Samples

Float32 = npt.NDArray[np.float32]

# share of the louder channel's power that the mean of two must have; under it they cancel each other out (from a
# correlation of -0.8 on: one of two alike is wired the other way round). Channels with nothing in common keep a half
LEAST_SHARE = 0.1
# share of a channel's power that another must have to count: a side that is all but silent cancels nothing
HEARD_SHARE = 1e-3


class OneChannel:
    """The blocks of a sound as one channel.

    Of two channels that cancel each other out the second is turned over; which, is decided from block to block, and
    stays while nothing speaks against it, so that a pause changes nothing.
    """

    def __init__(self) -> None:
        self._signs: tuple[float, ...] | None = None

    def of(self, block: Samples) -> Float32:
        """A block as one channel, shape (frames,)."""
        if block.channels == 1:
            return block.array[:, 0]
        found = _signs(block.array)
        if found is not None:
            self._signs = found
        if self._signs is None or len(self._signs) != block.channels or min(self._signs) > 0.0:
            return block.mono().array[:, 0]
        return np.asarray(block.array @ np.array(self._signs, dtype=np.float32) / np.float32(block.channels))


def _signs(array: Float32) -> tuple[float, ...] | None:
    """The sign of each channel, by which none cancels the first loud one; None in silence."""
    products = (array.T @ array).astype(np.float64)
    powers = np.diag(products)
    loudest = int(powers.argmax())
    if not np.isfinite(powers).all() or powers[loudest] == 0.0:
        return None
    together = {
        channel: float(products[loudest, channel])
        for channel in range(array.shape[1])
        if powers[channel] > HEARD_SHARE * powers[loudest]
    }
    turned = {
        channel: (powers[loudest] + powers[channel] + 2.0 * product) / 4.0 < LEAST_SHARE * powers[loudest]
        for channel, product in together.items()
    }
    return tuple(-1.0 if turned.get(channel, False) else 1.0 for channel in range(array.shape[1]))
