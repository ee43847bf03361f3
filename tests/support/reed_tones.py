"""Tones for tests of hearing, made from a stated recipe; never a proof of how real sound is heard."""

from __future__ import annotations

import numpy as np

from reedpath.signal import Samples, concatenated, silence

__all__ = ["RATE", "pluck", "reed_tone", "tune"]

RATE = 22_050


def reed_tone(midi, seconds=0.6, *, rate=RATE, harmonics=10, level=0.2):
    """Harmonics of falling strength with edges of 10 ms; midi is a number or one value for each frame."""
    frames = round(seconds * rate)
    hz = 440 * 2 ** ((np.broadcast_to(midi, frames) - 69) / 12)
    phase = 2 * np.pi * np.cumsum(hz) / rate
    tone = sum(np.sin(n * phase) / n * (n * hz < rate / 2.2) for n in range(1, harmonics + 1))
    edge = np.minimum(1, np.minimum(np.arange(frames), np.arange(frames)[::-1]) / (0.01 * rate))
    return Samples(level * tone * edge, rate)


def pluck(midi, seconds=0.6, *, rate=RATE, level=0.3):
    """Slightly stretched partials that die away, the higher the sooner, from a sudden start."""
    times = np.arange(round(seconds * rate)) / rate
    hz = 440 * 2 ** ((midi - 69) / 12)
    tone = np.zeros(len(times))
    for n in range(1, 16):
        partial = n * hz * np.sqrt(1 + 2e-5 * n * n)
        if partial < rate / 2.2:
            tone += np.sin(2 * np.pi * partial * times + n) / n * np.exp(-times * (2 + 0.6 * n))
    tone *= np.minimum(1, np.arange(len(times))[::-1] / (0.02 * rate))
    return Samples(level * tone, rate)


def tune(pitches, *, seconds=0.4, gap=0.05, make=reed_tone):
    """Tones one after another with short stops; the first starts after a quarter of a second."""
    parts = [silence(0.25, rate=RATE)]
    for midi in pitches:
        parts += [make(midi, seconds), silence(gap, rate=RATE)]
    return concatenated([*parts, silence(0.25, rate=RATE)])
