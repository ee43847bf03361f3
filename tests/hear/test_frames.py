from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.hear.frames import BLOCK_SECONDS, RATE, FrameCutter, heard_blocks, windows_of
from reedpath.signal import Samples
from support.examples import examples


def ramp(length):
    return np.arange(1, length + 1, dtype=np.float32)


@examples(40)
@given(st.lists(st.integers(0, 700), min_size=1, max_size=8))
def test_windows_do_not_depend_on_the_blocks(lengths):
    whole = ramp(sum(lengths))
    once, pieces = FrameCutter(hop=50, window=120), FrameCutter(hop=50, window=120)
    at_once = np.concatenate([once.feed(whole), once.finish()])
    cuts = np.cumsum([0, *lengths])
    parts = [pieces.feed(whole[a:b]).copy() for a, b in pairwise(cuts)]
    assert np.array_equal(np.concatenate([*parts, pieces.finish()]), at_once)
    assert len(at_once) == -(-len(whole) // 50)


def test_a_window_is_centred_on_its_time():
    cutter = FrameCutter(hop=50, window=120)
    windows = np.concatenate([cutter.feed(ramp(500)), cutter.finish()])
    for number, window in enumerate(windows):
        assert window[60] == number * 50 + 1


def test_blocks_are_of_one_length_and_all_is_heard():
    sounds = [Samples(np.ones((length, 2)), 8000) for length in (5, 100_000, 3, 40_000)]
    blocks = list(heard_blocks(sounds))
    assert {len(block) for block in blocks[:-1]} == {BLOCK_SECONDS * RATE}
    assert sum(map(len, blocks)) == pytest.approx(2 * 140_008, abs=2)


def test_what_is_no_number_is_silence():
    (block,) = heard_blocks(Samples(np.array([np.nan, np.inf, -np.inf, 0.5]), RATE))
    assert block.tolist() == [0.0, 0.0, 0.0, 0.5]


@given(st.integers(0, 60), st.integers(1, 20), st.integers(1, 9), st.integers(1, 3))
def test_windows_are_those_of_numpy(length, width, hop, step):
    row = ramp(length * step)[::step]
    expected = (
        np.lib.stride_tricks.sliding_window_view(row, width)[::hop] if length >= width else np.zeros((0, width))
    )
    assert np.array_equal(windows_of(row, width, hop), expected)
