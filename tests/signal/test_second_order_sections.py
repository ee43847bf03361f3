"""Filters as second-order sections, held against scipy's (https://docs.scipy.org, `scipy.signal.sosfilt`)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.signal import butter, sosfilt

from reedpath.signal.sections import BLOCK_FRAMES, SecondOrderSections

FILTERS = {
    "high pass of 38 Hz": butter(2, 38, "highpass", fs=44_100, output="sos"),
    "band of 80 to 5,000 Hz": butter(4, (80, 5_000), "bandpass", fs=44_100, output="sos"),
}


@pytest.mark.parametrize("name", FILTERS)
@given(
    lengths=st.lists(st.sampled_from((0, 1, 2, 3, 50, BLOCK_FRAMES - 1, BLOCK_FRAMES, BLOCK_FRAMES + 1)), max_size=6)
)
def test_blocks_of_any_length_are_filtered_as_the_whole_is(name: str, lengths: list[int]) -> None:
    sound = np.random.default_rng(3).standard_normal(sum(lengths) + 1).astype(np.float32)
    ours = SecondOrderSections(FILTERS[name])
    parts = [ours.put(part) for part in np.split(sound, np.cumsum(lengths))]
    assert np.abs(np.concatenate(parts) - sosfilt(FILTERS[name], sound.astype(float))).max() < 1e-9
