"""The clocks of two recorders, lined up by what both hear."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.hear import LOW_RATE, Clock, clock_between


def scene(seconds: float, seed: int) -> np.ndarray:
    """Syllables of noise, with pauses."""
    random = np.random.default_rng(seed)
    parts, total = [], 0.0
    while total < seconds:
        length, pause = random.uniform(0.08, 0.4), random.uniform(0.02, 0.5)
        count = round(length * LOW_RATE)
        parts += [0.1 * random.uniform(0.3, 1) * random.standard_normal(count), np.zeros(round(pause * LOW_RATE))]
        total += length + pause
    return np.concatenate(parts)[: round(seconds * LOW_RATE)]


def recorded(sound: np.ndarray, *, start: float, end: float, drift: float, seed: int) -> np.ndarray:
    """A stretch of a scene by another clock, softer and with noise of its own."""
    count = int((end - start) * LOW_RATE * (1 + drift))
    places = start * LOW_RATE + np.arange(count) / (1 + drift)
    heard = 0.4 * np.interp(places, np.arange(len(sound)), sound)
    return (heard + 0.002 * np.random.default_rng(seed).standard_normal(count)).astype(np.float32)


@pytest.mark.slow
@pytest.mark.parametrize(("start", "end", "drift"), [(0.0, 120.0, 0.0), (7.3, 110.0, 120e-6), (31.0, 118.0, -90e-6)])
def test_a_second_recorder_is_lined_up_to_a_few_milliseconds(start: float, end: float, drift: float) -> None:
    sound = scene(120.0, 3)
    first = recorded(sound, start=0.0, end=120.0, drift=0.0, seed=1)
    clock = clock_between(first, recorded(sound, start=start, end=end, drift=drift, seed=2))
    assert clock is not None
    for at in (0.0, end - start):
        assert clock.there(at) == pytest.approx(start + at / (1 + drift), abs=0.004)
        assert clock.here(clock.there(at)) == pytest.approx(at)


def test_one_that_began_before_and_went_on_after_is_lined_up_too() -> None:
    sound = scene(100.0, 4)
    first = recorded(sound, start=20.0, end=70.0, drift=0.0, seed=1)
    clock = clock_between(first, recorded(sound, start=0.0, end=100.0, drift=0.0, seed=2))
    assert clock is not None
    assert clock.offset_seconds == pytest.approx(-20.0, abs=0.004)


def test_recordings_that_only_touch_or_hear_something_else_are_not_lined_up() -> None:
    sound = scene(80.0, 5)
    first = recorded(sound, start=0.0, end=40.0, drift=0.0, seed=1)
    assert clock_between(first, recorded(sound, start=40.0, end=80.0, drift=0.0, seed=2)) is None
    assert clock_between(first, recorded(scene(60.0, 6), start=0.0, end=60.0, drift=0.0, seed=2)) is None
    assert clock_between(first, np.zeros(10, dtype=np.float32)) is None
    assert clock_between(np.zeros(0, dtype=np.float32), first) is None


def test_a_clock_is_there_and_back() -> None:
    clock = Clock(2.0, 1.0001)
    assert clock.there(10.0) == pytest.approx(12.001)
    assert clock.here(12.001) == pytest.approx(10.0)
