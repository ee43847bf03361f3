import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import SoundError
from reedpath.signal import Samples, concatenated, mixed, silence


def ramp(frames=100, rate=100, channels=1):
    return Samples(np.repeat(np.linspace(0, 0.5, frames)[:, None], channels, axis=1), rate)


def test_one_dimension_is_one_channel():
    sound = Samples(np.zeros(50), 100)
    assert (sound.frames, sound.channels, sound.duration_seconds) == (50, 1, 0.5)
    assert sound.array.dtype == np.float32


def test_the_array_cannot_be_written():
    with pytest.raises(ValueError, match="read-only"):
        ramp().array[0] = 1.0


@pytest.mark.parametrize(("shape", "rate"), [((2, 3, 4), 100), ((5, 0), 100), ((5, 1), 0)])
def test_nonsense_is_refused(shape, rate):
    with pytest.raises(ValueError, match=r"shape|rate"):
        Samples(np.zeros(shape), rate)


def test_equal_by_value():
    assert ramp() == ramp()
    assert ramp() != ramp(rate=99)
    assert ramp() != Samples(-ramp().array, 100)


@given(st.floats(-1, 3), st.floats(-1, 3))
def test_a_span_lies_inside(start, end):
    sound = ramp()
    part = sound.span(start, end)
    assert 0 <= part.frames <= sound.frames
    inside = min(max(end, 0), 1) - min(max(start, 0), 1)
    assert part.duration_seconds == pytest.approx(max(inside, 0), abs=0.0101)


def test_mono_is_the_mean_of_the_channels():
    stereo = Samples(np.array([[1.0, 0.0], [0.5, 0.25]]), 10)
    assert stereo.mono().array[:, 0].tolist() == [0.5, 0.375]
    assert stereo.channel(1).array[:, 0].tolist() == [0.0, 0.25]
    assert stereo.with_channels(4).channels == 4


def test_put_together():
    whole = concatenated([ramp(), silence(0.5, rate=100)])
    assert whole.duration_seconds == 1.5
    both = mixed([ramp(), silence(2, rate=100)])
    assert both.duration_seconds == 2.0
    assert both.span(0, 1) == ramp()


def test_unlike_sounds_are_not_put_together():
    with pytest.raises(SoundError, match="100 Hz with 1 channels, 100 Hz with 2 channels"):
        concatenated([ramp(), ramp(channels=2)])
    with pytest.raises(SoundError, match="one rate"):
        mixed([ramp(), ramp(rate=50)])


def test_spans_lie_where_they_are_asked_for():
    assert ramp().span(0.25, 0.5).array.tolist() == ramp().array[25:50].tolist()
    assert ramp().span(0.25).frames == 75
    assert ramp().span(0.5, 0.25).frames == ramp().span(2.0).frames == 0


def test_one_channel_is_copied_and_many_are_mixed_first():
    stereo = Samples(np.array([[1.0, 0.0], [0.5, 0.25]]), 10)
    assert ramp().with_channels(3).array.tolist() == [[value] * 3 for value in ramp().array[:, 0].tolist()]
    assert stereo.with_channels(3).array.tolist() == [[0.5] * 3, [0.375] * 3]
    assert stereo.with_channels(2) is stereo
    assert ramp().mono().channels == 1


def test_what_is_mixed_is_summed_and_what_is_put_together_keeps_its_order():
    short, long = Samples(np.array([0.1, 0.2]), 10), Samples(np.array([0.3, 0.3, 0.4]), 10)
    assert mixed([short, long]).array[:, 0].tolist() == pytest.approx([0.4, 0.5, 0.4])
    assert concatenated([short, long]).array[:, 0].tolist() == pytest.approx([0.1, 0.2, 0.3, 0.3, 0.4])
    assert (silence(0.5, rate=10, channels=2).frames, silence(0.5, rate=10, channels=2).channels) == (5, 2)
    assert silence(1.0, rate=10).channels == 1
    for together in (mixed, concatenated):
        with pytest.raises(ValueError, match="at least one sound"):
            together([])


def test_a_peak_is_that_of_all_channels():
    assert Samples(np.array([[0.2, -0.7]]), 10).peak == pytest.approx(0.7)
    assert silence(0, rate=10).peak == 0.0
    assert len(ramp(frames=7)) == 7
    assert ramp() != "a sound"
