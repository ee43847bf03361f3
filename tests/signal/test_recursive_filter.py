"""Recursive filters, given as second-order sections, held against `scipy.signal.sosfilt` (https://docs.scipy.org)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.signal import butter, sosfilt

from reedpath.signal.recursive_filter import BLOCK_FRAMES, RecursiveFilter

FILTERS = {
    "high pass of 38 Hz": butter(2, 38, "highpass", fs=44_100, output="sos"),
    "band of 80 to 5,000 Hz": butter(2, (80, 5_000), "bandpass", fs=44_100, output="sos"),
}


@pytest.mark.parametrize("name", FILTERS)
@pytest.mark.parametrize("channels", [1, 2])
@given(lengths=st.lists(st.sampled_from((0, 1, 2, 3, 4, 5, 50, BLOCK_FRAMES - 1, BLOCK_FRAMES)), max_size=6))
def test_blocks_of_any_length_are_filtered_as_the_whole_is(name: str, channels: int, lengths: list[int]) -> None:
    sound = np.random.default_rng(3).standard_normal((sum(lengths) + 1, channels)).astype(np.float32)
    ours = RecursiveFilter(FILTERS[name])
    made = np.concatenate([ours.put(part) for part in np.split(sound, np.cumsum(lengths))])
    parts = np.stack([made.real, made.imag], axis=1)
    assert np.abs(parts[:, :channels] - sosfilt(FILTERS[name], sound.astype(float), axis=0)).max() < 1e-9
    assert channels == 2 or not made.imag.any()
