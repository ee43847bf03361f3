"""A finished record of tones made here: a lead over drums, a bass and chords."""

import numpy as np

from reedpath.signal import Samples

RATE = 16_000
# MIDI numbers and beats of the lead, at 120 quarter notes a minute
LEAD = [(69, 1), (72, 1), (74, 1), (76, 1), (79, 2), (76, 1), (74, 1), (72, 2), (69, 2)] * 2
BEAT = 0.5


def tone(midi, seconds, *, harmonics=8):
    times = np.arange(int(seconds * RATE)) / RATE
    hz = 440 * 2 ** ((midi - 69) / 12)
    wave = sum(np.sin(2 * np.pi * hz * n * times) / n for n in range(1, harmonics + 1))
    return wave * np.exp(-2 * times) * np.minimum(1, (seconds - times) / 0.03)


def laid(notes, seconds):
    out = np.zeros(int(seconds * RATE) + RATE)
    for start, sound in notes:
        at = int(start * RATE)
        out[at : at + len(sound)] += sound[: len(out) - at]
    return out[: int(seconds * RATE)]


def record(*, level=1.0, lead_gain=1.0):
    """A lead to the right over drums, a bass and chords to the left; A minor. lead_gain : of the lead alone."""
    starts = list(np.cumsum([0, *(beats for _, beats in LEAD)]) * BEAT + 0.1)
    seconds = starts.pop() + 0.4
    lead = laid([(s, tone(m, b * BEAT * 0.9)) for s, (m, b) in zip(starts, LEAD, strict=True)], seconds)
    rng = np.random.default_rng(1)
    fading = np.exp(-np.arange(RATE // 10) / (0.02 * RATE))
    thump = np.sin(2 * np.pi * 55 * np.arange(RATE // 10) / RATE) * fading
    hiss = rng.normal(size=RATE // 10) * fading
    beats = np.arange(int((seconds - 0.3) / BEAT))
    drums = laid([(0.1 + n * BEAT, thump if n % 2 == 0 else hiss) for n in beats], seconds)
    bass = laid([(0.1 + n * BEAT, tone((33, 33, 40, 38)[n // 4 % 4], 0.45, harmonics=3)) for n in beats], seconds)
    chords = [(57, 60, 64), (57, 60, 64), (56, 59, 64), (57, 62, 65)]
    comping = laid([(0.1 + (n + 0.5) * BEAT, tone(m, 0.2)) for n in beats[:-1] for m in chords[n // 4 % 4]], seconds)
    left = 0.3 * lead_gain * lead + 0.5 * drums + 0.4 * bass + 0.25 * comping
    right = 0.6 * lead_gain * lead + 0.5 * drums + 0.4 * bass + 0.05 * comping
    both = np.stack([left, right], axis=1)
    return Samples((level * both / np.abs(both).max()).astype(np.float32), RATE)
