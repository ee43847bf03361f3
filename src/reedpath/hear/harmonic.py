"""The harmonics of a note among the partials that its sound has."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import Float32
from reedpath.hear.observing import Observations
from reedpath.hear.partials import PARTIALS_HOP_SECONDS

Float64 = npt.NDArray[np.float64]

# partials looked at, and hertz over which a missing one says nothing
HARMONICS, TOP_HZ = 16, 4800.0
# decibels under the loudest partial at which one is taken that is not there
FLOOR_DB = -50.0
# cents by which a partial may miss its place, and how many more for each harmonic
MISS_CENTS, MISS_CENTS_EACH = 20.0, 0.5
# seconds from a strike, and before its end, between which its partials are taken
AFTER_STRIKE, BEFORE_END = 0.06, 0.05

_NUMBERS = np.arange(1, HARMONICS + 1)


def partials_between(seen: Observations, start: float, end: float) -> tuple[Float32, Float32]:
    """Hertz and magnitudes of the partials of a note, shape (windows, partials); none where it is too short.

    Parameters
    ----------
    seen : observed with ``chords=True``. start, end : seconds, of the note.
    """
    if seen.partials is None:
        raise ValueError("notes together need what observe(sound, chords=True) saw")
    centres = np.arange(len(seen.partials.hz)) * PARTIALS_HOP_SECONDS
    rows = np.flatnonzero((centres >= start + AFTER_STRIKE) & (centres <= end - BEFORE_END))
    return seen.partials.hz[rows], seen.partials.magnitude[rows]


def on_harmonics(hz: Float32, magnitude: Float32, pitch_hz: float) -> tuple[Float64, Float64]:
    """Decibels under the loudest, and cents off (NaN if absent), of each harmonic: shape (windows, `HARMONICS`)."""
    cents = 1200.0 * np.log2(np.maximum(hz[:, :, np.newaxis] / (pitch_hz * _NUMBERS), 1e-6))
    on = np.abs(cents) < MISS_CENTS + MISS_CENTS_EACH * _NUMBERS
    heights = np.where(on, magnitude[:, :, np.newaxis], 0.0)
    best = heights.argmax(axis=1)
    top = heights.max(axis=1)
    level = 20.0 * np.log10(np.maximum(top / max(float(magnitude.max()), 1e-12), 10.0 ** (FLOOR_DB / 20.0)))
    off = np.take_along_axis(cents, best[:, np.newaxis, :], axis=1)[:, 0, :]
    return level, np.where(top > 0, off, np.nan)
