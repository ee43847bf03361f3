"""Knots: a function drawn straight between points, and where it rises, its way back."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

__all__ = ["Knots", "knots_of"]


@dataclass(frozen=True, slots=True)
class Knots:
    """A function given at some points, straight between them and beyond them.

    xs : ascending, at least two.
    ys : as many; the way back is asked for only where they do not descend.
    """

    xs: tuple[float, ...]
    ys: tuple[float, ...]

    def at(self, x: float) -> float:
        """The value at x.

        >>> Knots((0.0, 1.0, 2.0), (0.0, 10.0, 10.0)).at(0.5)
        5.0
        """
        return _straight(self.xs, self.ys, x)

    def back(self, y: float) -> float:
        """The x at which the value is y; where it stands still, the end of the standstill.

        >>> Knots((0.0, 1.0, 2.0), (0.0, 10.0, 10.0)).back(2.5)
        0.25
        """
        return _straight(self.ys, self.xs, y)


def _straight(xs: Sequence[float], ys: Sequence[float], x: float) -> float:
    index = min(max(bisect_right(xs, x) - 1, 0), len(xs) - 2)
    while index > 0 and xs[index + 1] == xs[index]:
        index -= 1
    run = xs[index + 1] - xs[index]
    return ys[index] if run == 0 else ys[index] + (x - xs[index]) * (ys[index + 1] - ys[index]) / run


def knots_of(points: Iterable[tuple[float, float]], *, may_fall: bool = False) -> Knots:
    """Knots through points in any order; of several at one x the last counts.

    may_fall : whether a value may lie below one before; otherwise it is lifted to it.

    >>> knots_of([(1, 5), (0, 0), (2, 4)]).ys, knots_of([(1, 5), (0, 0), (2, 4)], may_fall=True).ys
    ((0.0, 5.0, 5.0), (0.0, 5.0, 4.0))
    """
    by_x = {float(x): float(y) for x, y in points}
    xs = sorted(by_x)
    ys: list[float] = []
    for x in xs:
        ys.append(by_x[x] if may_fall or not ys else max(by_x[x], ys[-1]))
    if not xs:
        xs, ys = [0.0], [0.0]
    if len(xs) == 1:
        xs, ys = [xs[0], xs[0] + 1.0], [ys[0], ys[0] + 1.0]
    return Knots(tuple(xs), tuple(ys))
