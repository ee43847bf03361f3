import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.hear import Tracker
from reedpath.hear.live_salience import PERIODS, WINDOW_SECONDS
from reedpath.signal import concatenated, silence
from support.examples import examples
from support.reed_tones import reed_tone

pytestmark = pytest.mark.slow

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


@examples(20)
@given(st.floats(48, 98), st.sampled_from([8000, 16_000, 44_100, 48_000, 96_000]))
def test_a_tone_is_followed_within_two_cents(midi, rate):
    values = [value for _, value in followed(reed_tone(midi, 0.25, rate=rate))]
    inside = [value.midi for value in values if 0.05 < value.seconds < 0.2]
    assert np.max(np.abs(np.array(inside) - midi)) < 0.02


@pytest.mark.parametrize("rate", [16_000, 44_100])
def test_a_pure_tone_is_followed_where_windows_of_two_lengths_meet(rate):
    meeting = 69 + 12 * np.log2(PERIODS / np.array(WINDOW_SECONDS) / 440)
    near = [one + step for one in meeting for step in np.arange(-1.5, 2.0, 0.5) if one + step >= 54.0]
    for midi in [*near, *np.arange(54.0, 96.0, 2.0)]:
        values = [value for _, value in followed(reed_tone(midi, 0.15, rate=rate, harmonics=1))]
        inside = [value.midi for value in values if 0.06 < value.seconds < 0.12]
        assert np.max(np.abs(np.array(inside) - midi)) < 0.02, midi


@pytest.mark.parametrize("block", [64, 128, 480])
@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_a_new_note_is_known_within_thirty_milliseconds(block, rate):
    sound = concatenated([silence(0.2, rate=rate), reed_tone(67, 0.3, rate=rate), reed_tone(72, 0.3, rate=rate)])
    values = followed(sound, block)
    for onset, midi in ((0.2, 67), (0.5, 72)):
        first = next(now for now, value in values if abs(value.midi - midi) < 0.5 and value.seconds > onset - READY)
        assert first - onset <= 0.030 + block / rate


def in_blocks(rate, array, sizes, **options):
    """The values when the sound is cut into blocks of these sizes in turn."""
    tracker, found, at = Tracker(rate, **options), [], 0
    while at < len(array):
        size = sizes[len(found) % len(sizes)]
        found.append(tracker.feed(array[at : at + size]))
        at += size
    return [repr(value) for values in found for value in values]


RATES = [8000, 11_025, 16_000, 22_050, 32_000, 44_100, 48_000, 96_000, 192_000]


@examples(15)
@given(
    rate=st.sampled_from(RATES),
    sizes=st.lists(st.sampled_from([1, 7, 64, 333, 441, 4096]), min_size=1, max_size=4),
    midi=st.floats(45, 95),
    gain=st.sampled_from([0.0, 1e-4, 1.0, 50.0]),
    holes=st.booleans(),
)
def test_values_are_the_same_to_the_last_bit_however_the_stream_is_cut(rate, sizes, midi, gain, holes):
    sound = concatenated([silence(0.03, rate=rate), reed_tone(midi, 0.08, rate=rate), silence(0.02, rate=rate)])
    array = np.clip(gain * sound.array[:, 0], -1, 1)
    if holes:
        array[len(array) // 2 :: 997] = np.nan
    together = [(midi, midi + 4)]
    whole = in_blocks(rate, array, [len(array)], together=together)
    assert len(whole) == pytest.approx(len(array) / rate / 0.004, abs=2)
    assert in_blocks(rate, array, sizes, together=together) == whole


@pytest.mark.parametrize("rate", RATES)
def test_moments_grow_and_end_at_the_sound_whatever_the_rate(rate):
    sound = concatenated([reed_tone(60, 0.2, rate=rate), reed_tone(72, 0.2, rate=rate), silence(0.1, rate=rate)])
    moments = [value.seconds for _, value in followed(sound)]
    assert np.all(np.diff(moments) > 0)
    assert 0.5 - 0.03 < moments[-1] < 0.5


def test_a_clipped_tone_keeps_its_pitch():
    array = np.clip(40 * reed_tone(69, 0.3, rate=44_100).array[:, 0], -1, 1)
    values = Tracker(44_100).feed(array)
    assert all(abs(value.midi - 69) < 0.02 for value in values if 0.05 < value.seconds < 0.25)


def test_the_age_of_a_note_starts_with_it_and_goes_on_through_a_glide():
    course = np.concatenate([np.full(8820, 60.0), np.linspace(60, 62, 4410), np.full(8820, 62.0)])
    sound = concatenated(
        [silence(0.1, rate=44_100), reed_tone(course, 0.5, rate=44_100), reed_tone(69, 0.3, rate=44_100)]
    )
    values = [value for _, value in followed(sound)]
    ages = {round(value.seconds, 2): value.age_seconds for value in values}
    assert ages[0.05] == 0
    assert ages[0.5] == pytest.approx(0.4, abs=0.03)
    assert ages[0.8] == pytest.approx(0.2, abs=0.04)


@pytest.mark.parametrize("midi", [38.0, 43.0, 50.0, 103.0])
def test_the_lowest_and_highest_reeds_are_followed(midi):
    # 73 Hz, an octave under a low D harp; the lowest reed of a low G; of a low D; the highest of a high G
    values = [value for _, value in followed(reed_tone(midi, 0.5, rate=44_100))]
    assert all(abs(value.midi - midi) < 0.05 for value in values if 0.1 < value.seconds < 0.4)


@pytest.mark.parametrize(
    ("sounding", "found"), [((60, 64), (60, 64)), ((60,), ()), ((64,), ()), ((67,), ()), ((48,), ())]
)
def test_a_set_is_found_when_all_of_it_sounds_and_nothing_else(sounding, found):
    array = sum(reed_tone(midi, 0.5, rate=44_100).array[:, 0] for midi in sounding)
    values = Tracker(44_100, together=[(60, 64), (64, 67)]).feed(array)
    assert {value.together for value in values if 0.15 < value.seconds < 0.45} == {found}


def test_the_larger_set_is_found_where_two_sound():
    array = sum(reed_tone(midi, 0.5, rate=44_100).array[:, 0] for midi in (60, 64, 67))
    values = Tracker(44_100, together=[(60, 64), (60, 64, 67)]).feed(array)
    assert {value.together for value in values if 0.15 < value.seconds < 0.45} == {(60, 64, 67)}


def test_silence_and_noise_have_no_pitch():
    noise = np.random.default_rng(1).normal(size=24_000) * 0.1
    tracker = Tracker(48_000)
    for block in (np.zeros(24_000), noise, np.full(4800, np.nan), np.full(4800, np.inf), np.zeros(0)):
        assert all(np.isnan(value.hz) for value in tracker.feed(block))


def test_a_prior_is_heeded():
    values = [value for _, value in followed(reed_tone(69, 0.3, rate=48_000), prior=[(56.5, 0.0), (57.5, 0.0)])]
    heard = {round(value.midi) for value in values if not np.isnan(value.hz)}
    assert heard <= {57}


def test_a_rate_too_low_is_a_fault():
    with pytest.raises(ValueError, match="at least 8000 Hz, not 4000"):
        Tracker(4000)
