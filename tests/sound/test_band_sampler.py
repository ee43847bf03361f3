"""The sampler: a bank's notes at the right pitch, level, place and length; damaged banks told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import SoundError
from reedpath.pitch import midi_to_hz
from reedpath.sound.band import BandNote, BandPart, sound_part
from reedpath.sound.band.sampler import _cubic, sample_note
from reedpath.sound.band.soundfont import open_bank, zones_of
from reedpath.sound.loudness import loudness_lufs
from support.examples import examples
from support.tiny_bank import sine, tiny_bank, write_bank

RATE = 44_100
# generators (SoundFont 2.04, section 8.1.2)
FILTER, PAN, DECAY, SUSTAIN, RELEASE, KEYS, VELOCITIES, ATTENUATION = 8, 17, 36, 37, 38, 43, 44, 48
COARSE, FINE, SAMPLE, MODES, SCALE, ROOT = 51, 52, 53, 54, 56, 58


def span(low: int, high: int) -> int:
    return low | high << 8


def loudest_hz(sound: np.ndarray) -> float:
    mono = sound.mean(axis=1)
    lines = np.abs(np.fft.rfft(mono * np.hanning(len(mono)), 1 << 19))
    return float(np.argmax(lines) * RATE / (1 << 19))


def note(
    tmp_path: Path, zones: list[dict[int, int]], key: int = 69, velocity: int = 127, ms: int = 500, **more: object
):
    samples = more.pop("samples", [sine(440.0)])
    drums, a4_hz = bool(more.pop("drums", False)), float(more.pop("a4_hz", 440.0))
    bank = open_bank(write_bank(tmp_path, tiny_bank(zones, samples, **more)))
    return sample_note(bank, 0, key, velocity, ms, drums=drums, rate=RATE, a4_hz=a4_hz).sound


@pytest.mark.parametrize("key", [45, 60, 69, 74, 88])
def test_an_overriding_root_key_sets_the_pitch(tmp_path: Path, key: int) -> None:
    # the sample's header says key 60 and is overruled: what the MIDI library's renderer gets wrong
    sound = note(tmp_path, [{ROOT: 69, MODES: 1, SAMPLE: 0}], key)
    assert 1200 * np.log2(loudest_hz(sound) / midi_to_hz(key)) == pytest.approx(0.0, abs=2.0)


def test_without_one_the_samples_own_key_does(tmp_path: Path) -> None:
    sound = note(tmp_path, [{MODES: 1, SAMPLE: 0}], 72, original_key=69)
    assert 1200 * np.log2(loudest_hz(sound) / midi_to_hz(72)) == pytest.approx(0.0, abs=2.0)


def test_coarse_and_fine_tuning_and_correction_add_up(tmp_path: Path) -> None:
    sound = note(tmp_path, [{ROOT: 69, COARSE: -2, FINE: 30, MODES: 1, SAMPLE: 0}], correction=-10)
    assert 1200 * np.log2(loudest_hz(sound) / 440.0) == pytest.approx(-180.0, abs=2.0)


def test_a_presets_tuning_is_added_to_its_instruments(tmp_path: Path) -> None:
    sound = note(tmp_path, [{ROOT: 69, FINE: 20, MODES: 1, SAMPLE: 0}], preset_zones=[{FINE: 50}, {FINE: 30}])
    # the first zone has no instrument: it holds for all, and the second overrules it
    assert 1200 * np.log2(loudest_hz(sound) / 440.0) == pytest.approx(50.0, abs=2.0)


def test_scale_tuning_narrows_the_keys(tmp_path: Path) -> None:
    sound = note(tmp_path, [{ROOT: 69, SCALE: 50, MODES: 1, SAMPLE: 0}], 81)
    assert 1200 * np.log2(loudest_hz(sound) / 440.0) == pytest.approx(600.0, abs=2.0)


def test_keys_and_velocities_choose_their_zone(tmp_path: Path) -> None:
    zones = [
        {KEYS: span(0, 59), ROOT: 69, SAMPLE: 0},
        {KEYS: span(60, 127), VELOCITIES: span(0, 99), ROOT: 69, SAMPLE: 0},
        {KEYS: span(60, 127), VELOCITIES: span(100, 127), ROOT: 81, SAMPLE: 1},
    ]
    bank = open_bank(write_bank(tmp_path, tiny_bank(zones, [sine(440.0), sine(880.0)])))
    found = [zones_of(bank, 0, key, velocity) for key, velocity in ((40, 90), (70, 90), (70, 110))]
    assert [len(one) for one in found] == [1, 1, 1]
    assert [one[0].root_cents for one in found] == [6900.0, 6900.0, 8100.0]
    assert zones_of(bank, 5, 70, 90) == ()


def test_a_loop_carries_a_note_past_its_sample(tmp_path: Path) -> None:
    looped = note(tmp_path, [{ROOT: 69, MODES: 1, RELEASE: -2000, SAMPLE: 0}], ms=3000)
    assert np.abs(looped[100_000:130_000]).max() > 0.2
    once = note(tmp_path, [{ROOT: 69, SAMPLE: 0}], ms=3000)
    assert len(once) < 44_100


def test_a_note_fades_once_released(tmp_path: Path) -> None:
    sound = note(tmp_path, [{ROOT: 69, MODES: 1, RELEASE: -2000, SAMPLE: 0}], ms=500)
    assert len(sound) < 1.0 * RATE
    assert np.abs(sound[-200:]).max() < 0.01
    assert np.abs(np.diff(sound[:, 0])).max() < 0.05


@given(st.lists(st.integers(-32768, 32767), min_size=4, max_size=4), st.floats(0.0, 1.0, exclude_max=True))
def test_between_points_a_sample_goes_by_the_cubic_of_catmull_and_rom(points: list[int], part: float) -> None:
    """Catmull & Rom, "A class of local interpolating splines" (1974), in the form that goes through its points."""
    a, b, c, d = (point / 32768 for point in points)
    wanted = 2 * b + (c - a) * part + (2 * a - 5 * b + 4 * c - d) * part**2 + (3 * (b - c) + d - a) * part**3
    made = _cubic(np.array(points, dtype=np.int16), np.array([1.0 + part]))
    assert made == pytest.approx([wanted / 2], abs=1e-9)


# a sample that stands still shows the envelope alone
STILL = np.full(11_025, 0.5)


def test_a_sample_that_ends_is_faded_out_straight_over_8_ms(tmp_path: Path) -> None:
    sound = note(tmp_path, [{ROOT: 69, SAMPLE: 0}], ms=3000, samples=[STILL])[:, 0]
    fade = round(0.008 * RATE)
    level = float(sound[RATE // 4])
    assert sound[1000:-fade] == pytest.approx(level, rel=1e-3)
    assert sound[-fade:] == pytest.approx(level * np.linspace(1.0, 0.0, fade), abs=1e-4 * level)


def test_a_release_falls_by_100_db_in_its_time(tmp_path: Path) -> None:
    # timecents: 1200 an octave of seconds (SoundFont 2.04, section 8.1.2, generator 38)
    seconds = 2.0 ** (-2000 / 1200)
    sound = note(tmp_path, [{ROOT: 69, MODES: 1, RELEASE: -2000, SAMPLE: 0}], ms=500, samples=[STILL])[:, 0]
    for late in (0.05, 0.1, 0.15):
        fallen = 20 * np.log10(sound[round((0.5 + late) * RATE)] / sound[RATE // 4])
        assert fallen == pytest.approx(-100.0 * late / seconds, abs=0.05)


def test_an_attack_rises_straight_in_amplitude(tmp_path: Path) -> None:
    # half a second (generator 34, -1200 timecents)
    sound = note(tmp_path, [{ROOT: 69, MODES: 1, 34: -1200, SAMPLE: 0}], ms=2000, samples=[STILL])[:, 0]
    full = float(sound[RATE])
    for share in (0.25, 0.5, 0.75):
        assert sound[round(share * 0.5 * RATE)] == pytest.approx(share * full, rel=1e-3)


def test_a_decay_falls_to_its_sustain(tmp_path: Path) -> None:
    # decay 1 s for 100 dB, sustain 12 dB under the peak: reached after 0.12 s
    sound = note(tmp_path, [{ROOT: 69, MODES: 1, DECAY: 0, SUSTAIN: 120, SAMPLE: 0}], ms=800)
    peak, held = np.abs(sound[:300]).max(), np.abs(sound[12_000:20_000]).max()
    assert 20 * np.log10(held / peak) == pytest.approx(-12.0, abs=1.0)


def test_velocity_attenuation_and_pan(tmp_path: Path) -> None:
    loud = np.abs(note(tmp_path, [{ROOT: 69, SAMPLE: 0}])).max()
    soft = np.abs(note(tmp_path, [{ROOT: 69, SAMPLE: 0}], velocity=64)).max()
    assert 20 * np.log10(soft / loud) == pytest.approx(40 * np.log10(64 / 127), abs=0.1)
    less = np.abs(note(tmp_path, [{ROOT: 69, ATTENUATION: 100, SAMPLE: 0}])).max()
    assert 20 * np.log10(less / loud) == pytest.approx(-4.0, abs=0.1)
    left = note(tmp_path, [{ROOT: 69, PAN: -500, SAMPLE: 0}])
    assert np.abs(left[:, 1]).max() < 1e-6
    assert np.abs(left[:, 0]).max() > 0.4


def test_a_filter_takes_the_height_away(tmp_path: Path) -> None:
    # 6900 cents over 8.176 Hz is 440 Hz
    buzz = sum(np.sin(2 * np.pi * 440 * k * np.arange(20_000) / 22_050) for k in (1, 8)) / 4
    zones = [{ROOT: 69, SAMPLE: 0}]
    plain = note(tmp_path, zones, samples=[buzz])
    soft = note(tmp_path, [{FILTER: 6900, **zones[0]}], samples=[buzz])

    def ratio(sound: np.ndarray) -> float:
        lines = np.abs(np.fft.rfft(sound[:20_000, 0]))
        axis = np.fft.rfftfreq(20_000, 1 / RATE)
        return float(lines[np.argmin(np.abs(axis - 3520))] / lines[np.argmin(np.abs(axis - 440))])

    assert ratio(soft) < 0.1 * ratio(plain)


def test_a_sweep_opens_the_filter_and_shuts_it_again(tmp_path: Path) -> None:
    buzz = sum(np.sin(2 * np.pi * 440 * k * np.arange(20_000) / 22_050) for k in (1, 8)) / 4
    # the sweep starts four octaves over 440 Hz and is gone after half a second
    zones = [{FILTER: 6900, 11: 4800, 28: -1200, 29: 1000, ROOT: 69, SAMPLE: 0}]
    sound = note(tmp_path, zones, ms=850, samples=[buzz])[:, 0]

    def height(stretch: np.ndarray) -> float:
        lines = np.abs(np.fft.rfft(stretch * np.hanning(len(stretch))))
        axis = np.fft.rfftfreq(len(stretch), 1 / RATE)
        return float(lines[np.argmin(np.abs(axis - 3520))] / lines[np.argmin(np.abs(axis - 440))])

    assert height(sound[:3000]) > 0.5
    assert height(sound[24_000:30_000]) < 0.08
    assert np.abs(np.diff(sound)).max() < 0.5


def test_drums_keep_their_pitch_whatever_the_reference(tmp_path: Path) -> None:
    zones = [{KEYS: span(36, 36), ROOT: 36, SAMPLE: 0}]
    sound = note(tmp_path, zones, 36, drums=True, a4_hz=450.0, bank=128)
    assert loudest_hz(sound) == pytest.approx(440.0, abs=1.0)
    tuned = note(tmp_path, [{ROOT: 69, SAMPLE: 0}], a4_hz=450.0)
    assert loudest_hz(tuned) == pytest.approx(450.0, abs=1.0)


@given(key=st.integers(0, 127), velocity=st.integers(1, 127), ms=st.integers(1, 400))
@examples(25, fixture=True)
def test_any_note_is_finite_and_silent_at_its_end(tmp_path: Path, key: int, velocity: int, ms: int) -> None:
    sound = note(tmp_path, [{ROOT: 69, MODES: 1, SAMPLE: 0}], key, velocity, ms)
    assert np.all(np.isfinite(sound))
    assert np.abs(sound[-1:]).max(initial=0.0) < 1e-3


def test_a_part_comes_at_its_own_loudness_and_on_time(tmp_path: Path) -> None:
    late = np.concatenate([np.zeros(220), sine(440.0)])  # a sample that is silent for 10 ms
    path = write_bank(tmp_path, tiny_bank([{ROOT: 69, MODES: 0, SAMPLE: 0}], [late]))
    part = BandPart("bass", 0, -24.0, tuple(BandNote(0.5 + index, 0.4, 69, 100) for index in range(4)))
    sound = sound_part(part, seconds=5.0, rate=RATE, bank=path)
    assert sound.shape == (5 * RATE, 2)
    assert loudness_lufs(sound, rate=RATE) == pytest.approx(-24.0, abs=0.1)
    first = np.argmax(np.abs(sound[:, 0]) > 0.1 * np.abs(sound).max())
    assert first / RATE == pytest.approx(0.5, abs=0.003)


def test_a_part_in_pieces_is_the_same_as_in_one(tmp_path: Path) -> None:
    """Notes that begin just before and after a seam, or ring on over it, of a sample that swells."""
    swelling = sine(440.0) * np.minimum(1.0, np.arange(len(sine(440.0))) / (0.05 * 22_050))
    path = write_bank(tmp_path, tiny_bank([{ROOT: 69, MODES: 0, SAMPLE: 0}], [swelling]))
    starts = (0.1, 0.45, 0.51, 0.99, 1.02, 1.2)
    part = BandPart("bass", 0, -24.0, tuple(BandNote(start, 0.4, 69, 100) for start in starts))
    whole = sound_part(part, seconds=2.0, rate=RATE, bank=path, gain=1.0)
    pieces = [
        sound_part(part, seconds=0.5, rate=RATE, bank=path, start_seconds=0.5 * place, gain=1.0) for place in range(4)
    ]
    assert np.array_equal(np.concatenate(pieces), whole)
    assert all(piece.any() for piece in pieces)


def test_an_empty_part_is_silence(tmp_path: Path) -> None:
    path = write_bank(tmp_path, tiny_bank([{ROOT: 69, SAMPLE: 0}], [sine(440.0)]))
    assert not sound_part(BandPart("bass", 0, -24.0, ()), seconds=0.5, rate=RATE, bank=path).any()


@pytest.mark.parametrize("spoil", ["text", "truncated", "missing", "empty"])
def test_a_damaged_bank_is_told_by_name(tmp_path: Path, spoil: str) -> None:
    data = tiny_bank([{ROOT: 69, SAMPLE: 0}], [sine(440.0)])
    damaged = {
        "text": b"hello, this is no bank",
        "truncated": data[:900],
        "empty": b"",
        "missing": data.replace(b"shdr", b"xxxx"),
    }
    path = tmp_path / f"{spoil}.sf2"
    path.write_bytes(damaged[spoil])
    with pytest.raises(SoundError, match=f"{spoil}.sf2: not a sound bank that can be read"):
        open_bank(path)
