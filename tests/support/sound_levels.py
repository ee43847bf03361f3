"""Sounds brought to a level, and with silence around them, as the takes and records of tests and benches are made."""

from __future__ import annotations

import numpy as np

from reedpath.signal import Samples

__all__ = ["normalized", "padded", "rms"]


def normalized(sound: Samples, peak_decibels: float) -> Samples:
    """The sound with its peak at so many decibels below full scale; silence stays silence."""
    peak = sound.peak
    times = 10.0 ** (peak_decibels / 20.0) / peak if peak > 0 else 1.0
    return Samples(sound.array * np.float32(times), sound.rate)


def padded(sound: Samples, *, before_seconds: float = 0.0, after_seconds: float = 0.0) -> Samples:
    """The sound with silence put before and after."""
    widths = ((round(before_seconds * sound.rate), round(after_seconds * sound.rate)), (0, 0))
    return Samples(np.pad(sound.array, widths), sound.rate)


def rms(sound: Samples) -> float:
    """Root of the mean square over all channels, 1 for a full-scale square wave; 0 for no frames."""
    return float(np.sqrt(np.mean(np.square(sound.array, dtype=np.float64)))) if sound.frames else 0.0
