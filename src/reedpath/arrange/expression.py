"""Expression: how much it is worth to have a note on a reed that can be bent, scooped and shaken.

Some harps have a note twice: a standard one has the second position's home note as 2 draw, which bends, and as 3
blow, which doesn't. Players take the one that can be worked where it counts (teachers' advice, docs/arranging.md).
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from reedpath.arrange.demands import Pace, Standing
from reedpath.arrange.player import Weights

Points: TypeAlias = NDArray[np.float64]


def worth_of(standing: Standing, pace: Pace, weights: Weights) -> Points:
    """Points that it is worth to play each of n events on a reed that can be bent, shaken and scooped, shape (n,).

    Short notes inside a phrase are worth nothing, wherever they lie; held ones the more the longer they are, and
    those that end a phrase, are shaken or are the home note.
    """
    table = weights.expression
    held = np.clip(pace.duration - table.from_seconds, 0.0, table.most_seconds)
    marks = table.ending * standing.ending + table.shaken * standing.shaken + table.home * standing.home
    worth: Points = table.per_second * held + marks
    return worth
