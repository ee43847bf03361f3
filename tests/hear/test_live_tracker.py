import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reedpath.hear import Tracker
from reedpath.signal import concatenated, silence
from support.reed_tones import reed_tone

# seconds from the middle of a window to when its value is ready
READY = 0.016


def followed(sound, block=480, **options):
    """Each value with the time at which it was given out, in seconds of sound fed."""
    tracker = Tracker(sound.rate, **options)
    array = sound.array[:, 0]
    found = []
    for start in range(0, len(array), block):
        now = min(start + block, len(array)) / sound.rate
        found += [(now, value) for value in tracker.feed(array[start : start + block])]
    return found


@settings(max_examples=20, deadline=None)
@given(st.floats(48, 98), st.sampled_from([8000, 16_000, 44_100, 48_000, 96_000]))
def test_a_tone_is_followed_within_two_cents(midi, rate):
    values = [value for _, value in followed(reed_tone(midi, 0.4, rate=rate))]
    inside = [value.midi for value in values if 0.05 < value.seconds < 0.35]
    assert np.max(np.abs(np.array(inside) - midi)) < 0.02


@pytest.mark.parametrize("block", [64, 128, 480])
@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_a_new_note_is_known_within_thirty_milliseconds(block, rate):
    sound = concatenated([silence(0.2, rate=rate), reed_tone(67, 0.3, rate=rate), reed_tone(72, 0.3, rate=rate)])
    values = followed(sound, block)
    for onset, midi in ((0.2, 67), (0.5, 72)):
        first = next(now for now, value in values if abs(value.midi - midi) < 0.5 and value.seconds > onset - READY)
        assert first - onset <= 0.030 + block / rate


def test_values_do_not_depend_on_the_blocks():
    sound = concatenated([silence(0.1, rate=44_100), reed_tone(70, 0.3, rate=44_100), silence(0.1, rate=44_100)])
    whole = [value for _, value in followed(sound, block=sound.frames)]
    pieces = [value for _, value in followed(sound, block=333)]
    assert len(pieces) == len(whole)
    for one, other in zip(pieces, whole, strict=True):
        assert one.seconds == other.seconds
        assert one.hz == pytest.approx(other.hz, nan_ok=True, rel=1e-5)


def test_silence_and_noise_have_no_pitch():
    noise = np.random.default_rng(1).normal(size=24_000) * 0.1
    tracker = Tracker(48_000)
    for block in (np.zeros(24_000), noise, np.full(4800, np.nan)):
        assert all(np.isnan(value.hz) for value in tracker.feed(block))


def test_a_prior_is_heeded():
    values = [value for _, value in followed(reed_tone(69, 0.3, rate=48_000), prior=[(56.5, 0.0), (57.5, 0.0)])]
    heard = {round(value.midi) for value in values if not np.isnan(value.hz)}
    assert heard <= {57}


def test_a_rate_too_low_is_a_fault():
    with pytest.raises(ValueError, match="at least 8000 Hz, not 4000"):
        Tracker(4000)
