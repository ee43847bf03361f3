"""Recordings as phones and broken cards leave them: telephone coding, ends that are missing, a side turned over."""

from __future__ import annotations

import os

import numpy as np
import pytest

from reedpath.errors import SoundError
from reedpath.hear import observe
from reedpath.signal import Samples, encode, open_blocks
from reedpath.signal.one_channel import OneChannel
from support.coded_sounds import coded
from support.reed_tones import reed_tone

RATE = 44_100
TONE = reed_tone(69, 3.0, rate=RATE)


def heard(data: bytes, *, allow_truncated: bool = False) -> np.ndarray:
    with open_blocks(data, allow_truncated=allow_truncated) as blocks:
        return np.concatenate([block.array for block in blocks])


# RFC 4867 for the file, 3GPP TS 26.090 for the coding; the library's encoder is not ours
def test_a_voice_memo_of_a_telephone_is_read():
    data = coded(TONE, "amr")
    assert data.startswith(b"#!AMR\n")
    with open_blocks(data) as blocks:
        assert (blocks.kind, blocks.rate, blocks.channels) == ("amr", 8000, 1)
        assert sum(block.frames for block in blocks) == pytest.approx(3 * 8000, abs=400)
    curve = observe(Samples(heard(data), 8000))
    assert np.median(curve.midi[50:-50, 0]) == pytest.approx(69.0, abs=0.1)


def test_a_memo_that_leaves_the_silence_out_is_whole():
    array = np.concatenate([TONE.array[:, 0], np.zeros(4 * RATE), TONE.array[:, 0]])
    data = coded(Samples(array, RATE), "amr", options={"dtx": "1"})
    assert len(data) < 0.8 * len(coded(Samples(array, RATE), "amr"))
    assert len(heard(data)) / 8000 == pytest.approx(10.0, abs=0.05)


def test_frames_alone_promise_no_length():
    array = np.concatenate([np.random.default_rng(1).normal(0, 0.2, 3 * RATE), np.zeros(5 * RATE)])
    assert len(heard(coded(Samples(array, RATE), "aac"))) / RATE == pytest.approx(8.0, abs=0.1)


@pytest.mark.parametrize("form", ["flac", "wav", "aac", "amr", "webm"])
def test_of_a_file_that_breaks_off_all_is_heard_that_is_there(form):
    noise = Samples(np.random.default_rng(2).normal(0, 0.1, int(2.9 * RATE)), RATE)  # of one size all through
    data = encode(noise, format=form) if form in ("flac", "wav") else coded(noise, form)
    part = data[: int(0.6 * len(data))]
    with open_blocks(data) as whole:
        rate = whole.rate
    with pytest.raises(SoundError, match="breaks off"):
        heard(part)
    assert len(heard(part, allow_truncated=True)) / rate == pytest.approx(0.6 * 2.9, abs=0.12)


def test_damaged_frames_are_not_told_on_standard_error(capfd):
    data = bytearray(encode(TONE, format="mp3"))
    for place in np.random.default_rng(3).integers(1000, len(data), 40):
        data[place] ^= 0xFF
    for bad in (bytes(data), bytes(data[: len(data) // 2])):
        heard(bad, allow_truncated=True)
    assert capfd.readouterr().err == ""


def test_standard_error_is_there_again_afterwards(capfd):
    heard(encode(TONE, format="mp3"))
    os.write(2, b"still here")
    assert capfd.readouterr().err == "still here"


# ------------------------------------------------------------------------------------- channels turned over


def test_channels_that_cancel_each_other_are_heard_as_one():
    one = TONE.array[:, 0]
    turned = Samples(np.column_stack([one, -0.8 * one]), RATE)
    assert np.abs(OneChannel().of(turned)).max() == pytest.approx(0.9 * TONE.peak, rel=1e-4)
    straight, other = observe(TONE), observe(turned)
    np.testing.assert_allclose(other.midi[30:-30, 0], straight.midi[30:-30, 0], atol=0.01)


def test_what_is_recorded_with_two_microphones_is_their_mean():
    rng = np.random.default_rng(4)
    own = np.column_stack([TONE.array[:, 0] + rng.normal(0, 0.01, TONE.frames) for _ in range(2)])
    apart = np.column_stack([np.roll(TONE.array[:, 0], 12), TONE.array[:, 0]])  # 9 cm further from one of them
    silent = np.column_stack([TONE.array[:, 0], np.zeros(TONE.frames)])
    for array in (own, apart, silent):
        sound = Samples(array, RATE)
        assert np.array_equal(OneChannel().of(sound), sound.mono().array[:, 0])


def test_a_pause_changes_nothing_of_it():
    one = TONE.array[:, 0]
    channel = OneChannel()
    channel.of(Samples(np.column_stack([one, -one]), RATE))
    faint = np.full((100, 2), 1e-4, dtype=np.float32)
    assert channel.of(Samples(np.zeros((100, 2)), RATE)).shape == (100,)
    assert np.abs(channel.of(Samples(faint * [1, -1], RATE))).max() == pytest.approx(1e-4, rel=1e-3)
