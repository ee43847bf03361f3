"""Products with a matrix of which each column has values in a stretch of its rows only, and zeros in the others.

Bands of a spectrum are such a matrix. The product is taken for some columns at a time, without the rows that are zero
in all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from reedpath.hear.frames import Float32


class StretchedMatrix:
    """A matrix parted before some of its columns.

    >>> whole = np.array([[1, 0, 0], [2, 3, 0], [0, 0, 4]], dtype=np.float32)
    >>> StretchedMatrix(whole, [2]).under(np.ones((1, 3), dtype=np.float32)).tolist()
    [[3.0, 3.0, 4.0]]
    """

    def __init__(self, whole: Float32, before: Sequence[int]) -> None:
        self._columns = whole.shape[1]
        self._parts: list[tuple[slice, slice, Float32]] = []
        for first, last in pairwise([0, *before, self._columns]):
            filled = np.flatnonzero(whole[:, first:last].any(axis=1))
            rows = slice(int(filled[0]), int(filled[-1]) + 1) if len(filled) else slice(0, 0)
            self._parts.append((rows, slice(first, last), np.ascontiguousarray(whole[rows, first:last])))

    def under(self, rows: Float32) -> Float32:
        """The product of some rows and the matrix, shape (rows, columns)."""
        product = np.empty((len(rows), self._columns), dtype=np.float32)
        for own, columns, part in self._parts:
            np.matmul(rows[:, own], part, out=product[:, columns])
        return product
