"""A recursive filter of a sound of two channels: each block of it is a banded triangular system, which BLAS solves.

``scipy.signal.sosfilt`` gives the same (the tests hold them together), but importing it costs half a second of a
processor, a fifth of what a short lesson's sounds take in each process that makes them; and this is quicker. The two
channels are the two parts of complex numbers, so that one system is solved for both.
"""

from __future__ import annotations

from functools import reduce

import numpy as np
import numpy.typing as npt

__all__ = ["BLOCK_FRAMES", "RecursiveFilter"]

Signal = npt.NDArray[np.complex128]
# frames solved at a time, at most; so many stay in a processor's nearest memory
BLOCK_FRAMES = 8_192


class RecursiveFilter:
    """A filter that goes on where the block before ended: what comes, weighted, less what went, weighted.

    sections : shape (sections, 6), each row b0, b1, b2, 1, a1, a2 of a section of second order. All are multiplied
        out to one, which is exact enough for two; of more, low ones would lose digits.
    """

    def __init__(self, sections: npt.NDArray[np.floating]) -> None:
        ahead, self._back = (reduce(np.polymul, part) for part in (sections[:, :3], sections[:, 3:]))
        self._order = len(self._back) - 1
        # for numbers of which every second one is of the same channel
        self._ahead = np.zeros(2 * self._order + 1)
        self._ahead[::2] = ahead
        # what is on the diagonal and under it, in BLAS's form of a band
        self._band = np.empty((self._order + 1, BLOCK_FRAMES), dtype=np.complex128, order="F")
        self._band[:] = self._back[:, np.newaxis]
        self._came, self._gone = np.zeros((2, self._order), dtype=np.complex128)

    def put(self, block: npt.NDArray[np.floating]) -> Signal:
        """The next frames, shape (frames, 1) or (frames, 2), at most `BLOCK_FRAMES`, filtered.

        The second channel comes back as the imaginary part.
        """
        from scipy.linalg.blas import ztbsv

        if not len(block):
            return np.zeros(0, dtype=np.complex128)
        came = np.zeros(self._order + len(block), dtype=np.complex128)
        came[: self._order] = self._came
        came.real[self._order :] = block[:, 0]
        if block.shape[1] == 2:
            came.imag[self._order :] = block[:, 1]
        wanted: Signal = np.convolve(came.view(np.float64), self._ahead, mode="valid").view(np.complex128)
        # what went before this block is still heard in its first frames
        wanted[: self._order] -= np.convolve(self._gone, self._back)[self._order :][: len(wanted)]
        made: Signal = ztbsv(self._order, self._band[:, : len(wanted)], wanted, lower=1, diag=1, overwrite_x=1)
        self._came = came[-self._order :]
        self._gone = np.concatenate([self._gone, made])[-self._order :]
        return made
