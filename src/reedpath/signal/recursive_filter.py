"""A recursive filter as products of matrices, so that numpy alone is quick with it.

What a filter gives for a stretch is a sum of what the stretch itself brings and of what is left in the filter from
before; both are products with matrices that are the same for every stretch of one length (the state-space form of any
textbook of signal processing). What is left after each of many stretches is itself such a sum, found by doubling: of
one stretch, of two, of four (Hillis and Steele, "Data parallel algorithms", Communications of the ACM 29(12), 1986).

``scipy.signal.sosfilt`` gives the same (the tests hold them together), but importing SciPy's room for signals, or
that for linear algebra, costs a quarter to half a second of a processor, a tenth of what a short lesson takes, and
this is quicker.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Numbers = npt.NDArray[np.float64]
Sound = npt.NDArray[np.float32]
# stretches multiplied at a time: a product of so little is done at once, a larger one by threads that wait for one
# another
STRETCHES = 96


def _ran(sections: Numbers, came: Numbers, left: Numbers) -> tuple[Numbers, Numbers]:
    """Each row through sections of second order, frame by frame: what goes out, and what is left in the filter.

    came : shape (rows, frames).
    left : from before, shape (rows, 2 * sections), in transposed direct form II.
    """
    left, gone = left.copy(), np.empty_like(came)
    for at, frame in enumerate(came.T):
        for one, (b0, b1, b2, _, a1, a2) in zip(range(0, left.shape[1], 2), sections, strict=True):
            out = b0 * frame + left[:, one]
            left[:, one] = b1 * frame - a1 * out + left[:, one + 1]
            left[:, one + 1] = b2 * frame - a2 * out
            frame = out
        gone[:, at] = frame
    return gone, left


class RecursiveFilter:
    """A filter of several channels that goes on where the sound before ended.

    sections : shape (sections, 6), each row b0, b1, b2, 1, a1, a2 of a section of second order.
    stretch : frames of a stretch; some dozens are quickest.
    """

    def __init__(self, sections: npt.NDArray[np.floating], *, channels: int, stretch: int) -> None:
        order = 2 * len(sections)
        rows = np.eye(stretch + order)
        gone, left = _ran(np.asarray(sections, dtype=np.float64), rows[:, :stretch], rows[:, stretch:])
        # what a frame of the stretch brings, and what is left of it after
        self._brought = np.concatenate([gone[:stretch], left[:stretch]], axis=1).astype(np.float32)
        # what is heard of what was left before, and what of it is left after
        self._heard, self._kept = gone[stretch:].astype(np.float32), left[stretch:]
        self._stretch = stretch
        self._left = np.zeros((channels, order))

    def put(self, sound: Sound) -> Sound:
        """The next frames, shape (channels, frames), whole stretches, filtered."""
        came = sound.reshape(len(sound), sound.shape[1] // self._stretch, self._stretch)
        made = np.empty((*came.shape[:2], self._brought.shape[1]), dtype=np.float32)
        for start in range(0, came.shape[1], STRETCHES):
            some = slice(start, start + STRETCHES)
            np.matmul(came[:, some], self._brought, out=made[:, some])
        gone = made[:, :, : self._stretch]
        gone += self._left_before(made[:, :, self._stretch :]) @ self._heard
        return gone.reshape(sound.shape)

    def _left_before(self, brought: Sound) -> Sound:
        """What is left in the filter before each stretch, of what each brings, shape (channels, stretches, order)."""
        left = np.concatenate([self._left[:, np.newaxis], brought], axis=1)
        kept, stretches = self._kept, 1
        while stretches < left.shape[1]:
            left[:, stretches:] += left[:, :-stretches] @ kept
            kept, stretches = kept @ kept, 2 * stretches
        self._left = left[:, -1].copy()
        return left[:, :-1].astype(np.float32)
