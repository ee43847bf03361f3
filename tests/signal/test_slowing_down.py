"""Slowing down: length, pitch and place of what sounds."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.errors import SoundError
from reedpath.signal import Samples, slowed

pytestmark = pytest.mark.slow

RATE = 44_100


def plucked(hz: float = 440.0, seconds: float = 4.0) -> Samples:
    """A note struck each second."""
    out = np.zeros(int(seconds * RATE), dtype=np.float32)
    times = np.arange(int(0.8 * RATE)) / RATE
    note = sum(np.sin(2 * np.pi * hz * k * times) / k for k in (1, 2, 3)) * np.exp(-3 * times) * 0.3
    for start in range(int(seconds)):
        out[start * RATE : start * RATE + len(note)] += note.astype(np.float32)
    return Samples(out, RATE)


@pytest.mark.parametrize("factor", [1 / 3, 0.5, 0.8, 1.25])
def test_length_and_pitch(factor: float) -> None:
    slow = slowed(plucked(), factor)
    assert slow.frames == round(4 * RATE / factor)
    assert slow.channels == 1
    sound = slow.array[:, 0].astype(np.float64)
    lines = np.abs(np.fft.rfft(sound * np.hanning(len(sound))))
    axis = np.fft.rfftfreq(len(sound), 1 / RATE)
    near = (axis > 420) & (axis < 460)
    centre = np.sum(axis[near] * lines[near] ** 2) / np.sum(lines[near] ** 2)
    assert abs(1200 * np.log2(centre / 440.0)) < 2.0


@pytest.mark.parametrize("factor", [0.5, 0.75])
def test_strokes_fall_where_they_should(factor: float) -> None:
    sound = np.abs(slowed(plucked(), factor).array[:, 0])
    for start in range(1, 4):
        at = int(start * RATE / factor)
        stretch = sound[at - 6000 : at + 6000]
        found = (np.argmax(stretch > 0.3 * stretch.max()) - 6000) / RATE
        assert abs(found) * factor < 0.006


def test_full_speed_is_the_same_sound() -> None:
    given = plucked()
    assert slowed(given, 1.0) is given


def test_channels_stay_together() -> None:
    given = plucked()
    both = Samples(np.concatenate([given.array, 0.5 * given.array], axis=1), RATE)
    slow = slowed(both, 0.6)
    assert slow.channels == 2
    assert slow.array[:, 1] == pytest.approx(0.5 * slow.array[:, 0], abs=1e-3)


@pytest.mark.parametrize("frames", [0, 1, 50, 5000])
def test_very_short_sounds_are_stretched_too(frames: int) -> None:
    assert slowed(Samples(np.zeros(frames, dtype=np.float32), RATE), 0.5).frames == 2 * frames


@pytest.mark.parametrize("factor", [0.2, 0.0, -1.0, 2.0, float("nan")])
def test_other_speeds_are_refused(factor: float) -> None:
    with pytest.raises(SoundError, match=r"1/3 to 1\.5 of its speed"):
        slowed(plucked(), factor)
