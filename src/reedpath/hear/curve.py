"""The pitch curve: pitch, confidence and level over time."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.hear.observe import Observations, observe
from reedpath.hear.path import best_path, voicing
from reedpath.signal.samples import Samples

__all__ = ["PitchCurve", "curve_of", "track_pitch"]

Float64 = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class PitchCurve:
    """Pitch over time, one value every `HOP_SECONDS` (10 ms), each array of shape (frames,).

    seconds : time of the middle of each window.
    hz : pitch, NaN where unvoiced.
    confidence : 0 to 1, that the frame is voiced and its pitch is right.
    voiced : whether the frame belongs to the lead.
    energy : level of the sound in decibels under full scale.
    """

    seconds: Float64
    hz: Float64
    confidence: Float64
    voiced: npt.NDArray[np.bool_]
    energy: Float64

    @property
    def midi(self) -> Float64:
        """Pitch as MIDI numbers with their fraction at A4 = 440 Hz, NaN where unvoiced."""
        return np.asarray(69.0 + 12.0 * np.log2(self.hz / 440.0))

    def __len__(self) -> int:
        return len(self.seconds)

    def span(self, start_seconds: float, end_seconds: float) -> PitchCurve:
        """The curve from one time to another."""
        first, last = np.searchsorted(self.seconds, (start_seconds, end_seconds))
        return self.frames(int(first), int(last))

    def frames(self, first: int, last: int) -> PitchCurve:
        """The curve from one frame to before another; shares its memory."""
        part = slice(first, last)
        return PitchCurve(
            self.seconds[part], self.hz[part], self.confidence[part], self.voiced[part], self.energy[part]
        )


def curve_of(seen: Observations, *, prior: npt.ArrayLike | None = None) -> PitchCurve:
    """The pitch curve of what was seen; the prior is that of `track_pitch`."""
    path = best_path(seen, prior=prior)
    voiced = path >= 0
    chosen = np.maximum(path, 0)[:, np.newaxis].astype(np.intp)
    midi = np.take_along_axis(seen.midi, chosen, axis=1)[:, 0].astype(np.float64)
    strength = np.take_along_axis(seen.strength, chosen, axis=1)[:, 0].astype(np.float64)
    best = np.maximum(seen.strength[:, 0].astype(np.float64), 1e-6)
    confidence = strength / best / (1.0 + np.exp(-voicing(seen)))
    return PitchCurve(
        seconds=seen.seconds,
        hz=np.where(voiced, 440.0 * np.exp2((midi - 69.0) / 12.0), np.nan),
        confidence=np.where(voiced, confidence, 0.0),
        voiced=voiced,
        energy=seen.envelope_db[: 2 * seen.frames : 2].astype(np.float64),
    )


def track_pitch(sound: Samples | Iterable[Samples], *, prior: npt.ArrayLike | None = None) -> PitchCurve:
    """The pitch curve of a sound with one lead voice.

    Parameters
    ----------
    sound : whole, or in blocks, as `reedpath.signal.open_blocks` gives them.
    prior : what may be expected: shape (n, 2), rows of a MIDI number (with its fraction, cents / 100),
        ascending, and the natural logarithm of its weight. None for no preference.
    """
    return curve_of(observe(sound), prior=prior)
