"""Recursive filters as second-order sections: each block is a banded triangular system, which BLAS solves.

``scipy.signal.sosfilt`` gives the same (the tests hold them together), but importing it costs half a second of a
processor, a fifth of what a short lesson's sounds take in each process that makes them; and this is quicker.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["SecondOrderSections"]

Signal = npt.NDArray[np.float64]
# frames solved at a time; so many stay in a processor's nearest memory
BLOCK_FRAMES = 16_384


class _SecondOrderSection:
    """One section, y[n] = b0 x[n] + b1 x[n-1] + b2 x[n-2] - a1 y[n-1] - a2 y[n-2], and what of it is remembered."""

    def __init__(self, section: npt.NDArray[np.floating]) -> None:
        self._ahead, (_, *self._back) = section[:3], section[3:]
        # what is on the diagonal and under it, in BLAS's form of a band
        self._band = np.empty((3, BLOCK_FRAMES), order="F")
        self._band[:] = section[3:, np.newaxis]
        self._came, self._gone = np.zeros(2), np.zeros(2)

    def put(self, block: Signal) -> Signal:
        """A block of at most `BLOCK_FRAMES`, filtered."""
        from scipy.linalg.blas import dtbsv

        a1, a2 = self._back
        came = np.concatenate([self._came, block])
        wanted = np.convolve(came, self._ahead, mode="valid")
        wanted[0] -= a1 * self._gone[1] + a2 * self._gone[0]
        if len(wanted) > 1:
            wanted[1] -= a2 * self._gone[1]
        made: Signal = dtbsv(2, self._band[:, : len(wanted)], wanted, lower=1, diag=1, overwrite_x=1)
        self._came, self._gone = came[-2:], np.concatenate([self._gone, made[-2:]])[-2:]
        return made


class SecondOrderSections:
    """A filter of one channel that goes on where the block before ended.

    sections : shape (sections, 6), each row b0, b1, b2, 1, a1, a2.
    """

    def __init__(self, sections: npt.NDArray[np.floating]) -> None:
        self._sections = [_SecondOrderSection(section) for section in sections]

    def put(self, sound: npt.NDArray[np.floating]) -> Signal:
        """The next samples, shape (frames,), filtered."""
        made = np.empty(len(sound))
        for start in range(0, len(sound), BLOCK_FRAMES):
            block = np.asarray(sound[start : start + BLOCK_FRAMES], dtype=np.float64)
            for section in self._sections:
                block = section.put(block)
            made[start : start + BLOCK_FRAMES] = block
        return made
