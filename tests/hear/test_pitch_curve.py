"""Sound made from stated recipes; how well real sound is heard stands in tests/outside and bench."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.hear import HOP_SECONDS, curve_of, observe, track_pitch
from reedpath.hear.pitch_curve import likeliest_before, prior_at
from reedpath.signal import Samples, concatenated, mixed, silence
from support.examples import examples

RATE = 22_050


def reed(midi, seconds=0.6, rate=RATE, harmonics=10, level=0.2):
    """A tone of ten harmonics of equal slope; midi a number or a curve over the frames."""
    frames = round(seconds * rate)
    hz = 440 * 2 ** ((np.broadcast_to(midi, frames) - 69) / 12)
    phase = 2 * np.pi * np.cumsum(hz) / rate
    tone = sum(np.sin(n * phase) / n * (n * hz < rate / 2.2) for n in range(1, harmonics + 1))
    edge = np.minimum(1, np.minimum(np.arange(frames), np.arange(frames)[::-1]) / (0.01 * rate))
    return Samples(level * tone * edge, rate)


def inner(curve, start, end):
    part = curve.span(start, end)
    return part.midi


@examples(25)
@given(st.floats(45, 100))
def test_a_steady_tone_is_measured_within_a_cent(midi):
    curve = track_pitch(reed(midi))
    assert np.nanmax(np.abs(inner(curve, 0.1, 0.5) - midi)) < 0.01
    assert curve.voiced[12:48].all()


def test_rates_and_channels_do_not_matter():
    for rate in (8000, 44_100, 192_000):
        sound = reed(69.3, rate=rate).with_channels(2)
        assert np.nanmedian(track_pitch(sound).midi) == pytest.approx(69.3, abs=0.02)


def test_the_curve_is_as_long_as_the_sound_and_on_its_clock():
    curve = track_pitch(concatenated([silence(0.5, rate=RATE), reed(70), silence(0.5, rate=RATE)]))
    assert len(curve) == 160
    assert np.diff(curve.seconds) == pytest.approx(HOP_SECONDS)
    heard = curve.seconds[curve.voiced]
    assert (heard[0], heard[-1]) == (pytest.approx(0.5, abs=0.03), pytest.approx(1.1, abs=0.03))
    assert np.isnan(curve.hz[~curve.voiced]).all()
    assert (curve.confidence[~curve.voiced] == 0).all()


def test_blocks_give_what_the_whole_gives():
    sound = concatenated([reed(60), silence(0.2, rate=RATE), reed(67), reed(64)])
    whole = track_pitch(sound)
    blocks = [sound.span(at, at + 0.37) for at in np.arange(0, sound.duration_seconds, 0.37)]
    pieces = track_pitch(iter(blocks))
    assert np.allclose(pieces.hz, whole.hz, equal_nan=True, rtol=1e-3)


def test_a_glide_is_followed():
    frames = round(0.8 * RATE)
    bend = np.interp(np.arange(frames) / RATE, [0, 0.3, 0.5, 0.8], [69, 69, 67, 67])
    curve = track_pitch(reed(bend, seconds=0.8))
    want = np.interp(curve.seconds, [0, 0.3, 0.5, 0.8], [69, 69, 67, 67])
    assert np.nanmax(np.abs(curve.midi - want)[5:75]) < 0.2


def test_a_strong_fifth_partial_does_not_mislead():
    # the trap of plucked steel strings: most of the energy two octaves and a third up
    tone = mixed([reed(52, level=0.05), reed(52 + 27.863, harmonics=1, level=0.3)])
    assert np.nanmedian(track_pitch(tone).midi) == pytest.approx(52, abs=0.05)


def test_a_missing_fundamental_is_supplied():
    times = np.arange(RATE) / RATE
    tone = sum(np.sin(2 * np.pi * 110 * n * times) for n in range(4, 12))
    assert np.nanmedian(track_pitch(Samples(0.05 * tone, RATE)).midi) == pytest.approx(45, abs=0.05)


def low_string_by_phone(strong, loud, rate=8000):
    """A low E of which a telephone leaves the partials 4 to 20, the strong ones so much louder; a little noise."""
    times = np.arange(rate) / rate
    tone = sum((loud if n in strong else 1) * np.sin(2 * np.pi * 82.407 * n * times + n * n) for n in range(4, 21))
    return Samples(0.01 * tone + 1e-4 * np.random.default_rng(1).normal(size=rate), rate)


@pytest.mark.parametrize(("strong", "loud"), [((8, 16), 5), ((6, 12), 5), ((8,), 7)])
def test_a_low_string_by_telephone_is_not_its_loud_partials(strong, loud):
    # heard as a note three octaves up, two and a half octaves up, and as no note, before its period was asked for
    curve = track_pitch(low_string_by_phone(strong, loud))
    assert curve.voiced[10:-10].all()
    assert np.median(curve.midi[10:-10]) == pytest.approx(40, abs=0.05)


def test_a_high_note_by_telephone_is_no_low_one():
    # its wave repeats at the low pitch's period too, but not better than at its own
    curve = track_pitch(reed(76.0, rate=8000, harmonics=5))
    assert np.median(curve.midi[10:-10]) == pytest.approx(76, abs=0.02)


def test_hum_in_a_pause_is_no_note():
    times = np.arange(3 * RATE) / RATE
    hum = Samples(0.004 * sum(np.sin(2 * np.pi * 50 * n * times) / n for n in range(1, 9)), RATE)
    played = concatenated([silence(1, rate=RATE), reed(81, seconds=1), silence(1, rate=RATE)])
    curve = track_pitch(mixed([hum, played]))
    assert not curve.voiced[:90].any()
    assert not curve.voiced[215:].any()
    assert np.nanmedian(curve.midi) == pytest.approx(81, abs=0.02)


def test_a_quiet_second_voice_in_a_pause_is_no_note():
    lead = concatenated([reed(76, seconds=1), silence(1, rate=RATE), reed(74, seconds=1)])
    curve = track_pitch(mixed([lead, reed(50, seconds=3, level=0.01)]))
    assert not curve.voiced[108:192].any()


@pytest.mark.parametrize("frames", [0, 1, 100, RATE])
def test_silence_is_a_curve_without_voice(frames):
    curve = track_pitch(Samples(np.zeros(frames), RATE))
    assert len(curve) == -(-frames * 100 // RATE)
    assert not curve.voiced.any()


def test_noise_is_a_curve_without_voice():
    noise = np.random.default_rng(3).normal(size=2 * RATE)
    for level in (1.0, 0.1, 1e-4):
        assert not track_pitch(Samples(level * noise, RATE)).voiced.any()


def test_a_prior_decides_between_octaves():
    times = np.arange(RATE) / RATE
    # odd harmonics so weak that both octaves are possible
    tone = sum(np.sin(2 * np.pi * 220 * n * times) * (1 if n % 2 == 0 else 0.07) / n for n in range(1, 13))
    sound = observe(Samples(0.2 * tone, RATE))
    for wanted in (57, 69):
        prior = [(wanted - 0.5, 0.0), (wanted + 0.5, 0.0)]
        assert np.nanmedian(curve_of(sound, prior=prior).midi) == pytest.approx(wanted, abs=0.05)


def test_a_prior_is_interpolated_and_ends():
    prior = [(60, 0.0), (62, -2.0)]
    assert prior_at(prior, np.array([59.9, 60.0, 61.0, 62.1])).tolist() == [-30.0, 0.0, -1.0, -30.0]
    assert prior_at(None, np.array([60.0])) == 0.0


@pytest.mark.parametrize("prior", [[60, 62], [(60, 0.0)], [(62, 0.0), (60, 0.0)]])
def test_a_prior_of_another_shape_is_refused(prior):
    with pytest.raises(ValueError, match=r"shape \(n, 2\)"):
        track_pitch(reed(69), prior=prior)


@examples(40)
@given(st.integers(1, 90), st.integers(2, 6), st.integers(0, 2**32 - 1))
def test_the_search_in_stretches_is_viterbis(frames, states, seed):
    # step by step: Rabiner, "A tutorial on hidden Markov models", Proc. IEEE 77(2), 1989, section III B
    steps = np.random.default_rng(seed).integers(-50, 0, (frames, states, states)).astype(np.float32)
    best = score = np.zeros(states, dtype=np.float32)
    for step in steps:
        best = (best[:, np.newaxis] + step).max(axis=0)
    back, found = likeliest_before(steps, score)
    assert found.max() - found.min() == best.max() - best.min()
    state, gain = int(found.argmax()), 0.0
    for step, froms in zip(steps[::-1], back[::-1], strict=True):
        gain += step[froms[state], state]
        state = froms[state]
    assert gain == best.max()
