"""Bisquare weights, by which robust local regression counts onsets less the further they lie off (Cleveland 1979)."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from reedpath.hear.middles import middle_of

Float64 = npt.NDArray[np.float64]

# rounds of weighting, and residuals in medians at which an onset no longer counts; Cleveland 1979
ROUNDS, BISQUARE_MEDIANS = 4, 6.0
# seconds; the least median residual assumed, so that a perfect take does not throw out a good onset
LEAST_RESIDUAL = 0.012


def bisquare_weights(stray: Float64) -> Float64:
    """The weight of each onset, 0 to 1, by how many seconds it lies off (absolute)."""
    limit = BISQUARE_MEDIANS * max(middle_of(stray), LEAST_RESIDUAL)
    return np.asarray(np.square(np.maximum(1.0 - np.square(stray / limit), 0.0)))
