"""Swing: where in a beat a straight place is played, and back.

The first half of a beat takes ``swing`` times as long as the second; inside each half, time runs evenly.
"""

from __future__ import annotations

__all__ = ["straightened", "swung"]


def swung(place: float, swing: float) -> float:
    """
    Where in a beat, 0 to 1, a written place sounds.

    >>> round(swung(0.5, 2.0), 4), swung(1.0, 2.0)
    (0.6667, 1.0)
    """
    first = swing / (1.0 + swing)
    return place * 2 * first if place < 0.5 else first + (place - 0.5) * 2 * (1 - first)


def straightened(place: float, swing: float) -> float:
    """
    Where in a beat, 0 to 1, a sounding place is written.

    >>> round(straightened(2 / 3, 2.0), 4)
    0.5
    """
    first = swing / (1.0 + swing)
    return place / (2 * first) if place < first else 0.5 + (place - first) / (2 * (1 - first))
