"""Peaks of a row of values: ours, since the science library's costs most of a second to import."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt


def peak_places(
    values: npt.NDArray[np.floating], *, height: float = -np.inf, distance: int = 1
) -> npt.NDArray[np.intp]:
    """Places of the local maxima of at least a height, the lower of two that are nearer than a distance left out.

    Of a level top the first place counts; the ends of the row are no peaks.

    >>> peak_places(np.array([0, 2, 1, 3, 3, 0, 1, 0.0]), height=2).tolist()
    [1, 3]
    >>> peak_places(np.array([0, 2, 1, 3, 3, 0, 1, 0.0]), distance=3).tolist()
    [3, 6]
    """
    if len(values) < 3:
        return np.zeros(0, dtype=np.intp)
    ups = values[1:] > values[:-1]
    downs = values[1:] < values[:-1]
    places = (ups[:-1] & ~ups[1:]).nonzero()[0]  # it rises before, and not at once after
    if not downs[places + 1].all():
        steps = (ups | downs).nonzero()[0]
        follows = np.searchsorted(steps, places + 1)  # the first change after each place
        changes = follows < len(steps)
        places = places[changes][downs[steps[follows[changes]]]]
    places += 1
    if height > -np.inf:
        places = places[values[places] >= height]
    if distance <= 1 or len(places) < 2:
        return places
    return _apart(places, values[places], distance)


def prominent_peaks(
    values: npt.NDArray[np.floating], *, prominence: float
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.float64]]:
    """Places of the local maxima that stand so far over the land about them, and by how much they do.

    That is the height over the higher one of the two lowest places between a maximum and what is higher, or the end
    of the row, on either side. Of a level top the middle counts; the ends of the row are no peaks. SciPy's
    `find_peaks` gives the same; its room takes half a second of a processor to load, three answers' time.

    >>> places, over = prominent_peaks(np.array([0, 2, 1, 5, 5, 5, 0, 1, 0.0]), prominence=1)
    >>> places.tolist(), over.tolist()
    ([1, 4, 7], [1.0, 5.0, 1.0])
    """
    tops = peak_places(values)
    if not len(tops) or values[tops].max() - values.min() < prominence:
        return tops[:0], np.zeros(0)
    heights = values[tops].tolist()
    lows = np.minimum.reduceat(values, [0, *tops.tolist()]).tolist()  # before the first, between them, after the last
    found, over = [], []
    for number, (first, height) in enumerate(zip(tops.tolist(), heights, strict=True)):
        stands = height - max(
            _lowest(heights[:number][::-1], lows[: number + 1][::-1], height),
            _lowest(heights[number + 1 :], lows[number + 1 :], height),
        )
        if stands >= prominence:
            level = np.flatnonzero(values[first:] != values[first])
            found.append(first + (int(level[0]) - 1) // 2)
            over.append(stands)
    return np.array(found, dtype=np.intp), np.array(over)


def _lowest(heights: Sequence[float], lows: Sequence[float], height: float) -> float:
    """The lowest place to one side of a maximum, as far as the next that is higher: of the lows before each."""
    higher = next((number for number, one in enumerate(heights) if one > height), len(heights))
    return min(lows[: higher + 1])


def _apart(places: npt.NDArray[np.intp], heights: npt.NDArray[np.floating], distance: int) -> npt.NDArray[np.intp]:
    """The places that are left when, from the highest down, each drives out its lower neighbours."""
    at, kept = places.tolist(), [True] * len(places)
    for index in np.argsort(-heights, kind="stable").tolist():
        if kept[index]:
            for near in (range(index - 1, -1, -1), range(index + 1, len(at))):
                for other in near:
                    if abs(at[other] - at[index]) >= distance:
                        break
                    kept[other] = False
    return places[kept]
