"""Recursive filters, given as second-order sections, held against `scipy.signal.sosfilt` (https://docs.scipy.org)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.signal import butter, sosfilt

from reedpath.signal.recursive_filter import STRETCHES, RecursiveFilter

FILTERS = {
    "high pass of 38 Hz": butter(2, 38, "highpass", fs=44_100, output="sos"),
    "band of 80 to 5,000 Hz": butter(4, (80, 5_000), "bandpass", fs=44_100, output="sos"),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", FILTERS)
@given(
    channels=st.integers(1, 3),
    stretch=st.sampled_from((1, 2, 7, 45)),
    stretches=st.lists(st.sampled_from((0, 1, 2, 3, 50, STRETCHES, STRETCHES + 1)), max_size=5).filter(sum),
)
def test_whole_stretches_however_they_come_are_filtered_as_the_whole_is(
    name: str, channels: int, stretch: int, stretches: list[int]
) -> None:
    sound = np.random.default_rng(3).standard_normal((channels, sum(stretches) * stretch)).astype(np.float32)
    ours = RecursiveFilter(FILTERS[name], channels=channels, stretch=stretch)
    parts = [ours.put(part) for part in np.split(sound, np.cumsum(stretches) * stretch, axis=1)]
    # samples of 32 bits have 24 for their digits
    assert np.concatenate(parts, axis=1) == pytest.approx(sosfilt(FILTERS[name], sound.astype(float)), abs=1e-5)
