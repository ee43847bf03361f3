"""Loudness: the tone that the recommendation names, the filters' gains at the ends of the band, and the gates.

ITU-R BS.1770-5 (2023), annex 1: a sine of 997 Hz at full scale on one channel is -3.01 LKFS.
"""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.sound import loudness_lufs
from reedpath.sound.loudness import filters

RATES = (22_050, 32_000, 44_100, 48_000)


def sine(hz: float, seconds: float, rate: int, level_db: float = 0.0) -> np.ndarray:
    return 10 ** (level_db / 20) * np.sin(2 * np.pi * hz * np.arange(round(seconds * rate)) / rate)


@pytest.mark.parametrize("rate", RATES)
def test_a_full_sine_of_997_hz_is_minus_3_01(rate: int) -> None:
    assert loudness_lufs(sine(997.0, 3.0, rate), rate=rate) == pytest.approx(-3.01, abs=0.03)
    both = np.repeat(sine(997.0, 3.0, rate, -20.0)[:, np.newaxis], 2, axis=1)
    assert loudness_lufs(both, rate=rate) == pytest.approx(-20.0, abs=0.03)


@pytest.mark.parametrize("rate", RATES)
def test_the_shelf_leaves_the_depth_and_lifts_the_height_by_4_db(rate: int) -> None:
    shelf, high_pass = filters(rate)
    assert shelf[:3].sum() / shelf[3:].sum() == pytest.approx(1.0, abs=1e-9)
    signs = np.array([1.0, -1.0, 1.0])
    assert 20 * np.log10(shelf[:3] @ signs / (shelf[3:] @ signs)) == pytest.approx(4.0, abs=0.001)
    assert high_pass[:3].sum() == 0.0
    # the recommendation's own at 48 kHz (annex 1, table 2: a1 = -1.99004745483398, a2 = 0.99007225036621) is 0.04 dB;
    # the lower the rate, the nearer the pass lies to the band's end
    gain_db = 20 * np.log10(high_pass[:3] @ signs / (high_pass[3:] @ signs))
    table_db = 20 * np.log10(4 / (1 + 1.99004745483398 + 0.99007225036621))
    assert gain_db == pytest.approx(table_db * 48_000 / rate, abs=0.001)


def test_quiet_stretches_do_not_count() -> None:
    loud = sine(997.0, 3.0, 48_000, -20.0)
    alone = loudness_lufs(loud, rate=48_000)
    faint = np.concatenate([loud, sine(997.0, 6.0, 48_000, -40.0)])  # more than 10 LU under the mean
    assert loudness_lufs(faint, rate=48_000) == pytest.approx(alone, abs=0.3)
    softer = np.concatenate([loud, sine(997.0, 6.0, 48_000, -24.0)])
    mean = 10 * np.log10((10 ** (-20 / 10) + 2 * 10 ** (-24 / 10)) / 3) + alone + 20
    assert loudness_lufs(softer, rate=48_000) == pytest.approx(mean, abs=0.1)


def test_silence_and_what_is_nearly_silent_is_the_gate() -> None:
    assert loudness_lufs(np.zeros((48_000, 2)), rate=48_000) == -70.0
    assert loudness_lufs(np.zeros((0, 2)), rate=48_000) == -70.0
    assert loudness_lufs(sine(997.0, 2.0, 48_000, -75.0), rate=48_000) == -70.0


def test_a_sound_shorter_than_a_block_is_measured_as_one() -> None:
    assert loudness_lufs(sine(997.0, 0.2, 48_000), rate=48_000) == pytest.approx(-3.01, abs=0.1)
