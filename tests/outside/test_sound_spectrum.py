"""The voice's spectrum, attack and noise against recordings of a real harmonica.

The recordings are the harmonica notes of FluidR3_GM.sf2 (MIT; Debian's fluid-soundfont-gm), read where the
bank is installed and never copied. `bench/harmonica_spectrum.py` prints the same as a table.
"""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.harp import Breath
from reedpath.pitch import midi_to_hz
from reedpath.sound import Attack, Contour, Tone, render_tones
from support.sample_bank import FLUID_BANK, Recorded, harmonic_levels_db, read_harmonica, steady_part

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(not FLUID_BANK.exists(), reason="Debian's fluid-soundfont-gm is not installed"),
]

# harmonics compared, and the highest frequency at which the recordings still hold something, hertz
HARMONICS, HIGHEST_HZ = 12, 14_000.0
RATE = 44_100


def voiced(midi: int, breath: Breath, *, seconds: float = 0.4, force: float = 0.7) -> np.ndarray:
    """One note of the voice from 15 ms before its start on."""
    hz = midi_to_hz(midi)
    tone = Tone(0.1, 0.1 + seconds, Contour((0.1,), (hz,)), hz, breath, force=force, attack=Attack.TURNED)
    return render_tones([tone], seconds=seconds + 0.2)[int(0.085 * RATE) :].astype(np.float64)


def distance_db(note: Recorded, breath: Breath) -> float:
    """Mean distance of the harmonics' levels once both notes are equally loud, decibels."""
    hz = midi_to_hz(note.midi)
    want = harmonic_levels_db(steady_part(note.samples), note.rate, hz, count=HARMONICS)
    sound = voiced(note.midi, breath)[: int(0.4 * RATE)]
    have = harmonic_levels_db(steady_part(sound), RATE, hz, count=HARMONICS)
    known = np.isfinite(want) & (np.arange(1, HARMONICS + 1) * hz < HIGHEST_HZ)
    apart = (have - want)[known]
    return float(np.abs(apart - apart.mean()).mean())


@pytest.fixture(scope="module")
def recordings() -> list[Recorded]:
    return read_harmonica()


@pytest.mark.parametrize("breath", list(Breath))
def test_harmonics_lie_near_the_recorded_ones(recordings: list[Recorded], breath: Breath) -> None:
    distances = [distance_db(note, breath) for note in recordings]
    assert np.mean(distances) < 1.0, distances
    assert max(distances) < 1.5, distances


def rise_seconds(sound: np.ndarray, rate: int, hz: float) -> float:
    """From a tenth to nine tenths of the level that a note has after 80 to 150 ms."""
    width = max(int(2 * rate / hz), int(0.004 * rate))
    level = np.sqrt(np.convolve(sound**2, np.ones(width) / width, "same"))
    held = np.median(level[int(0.08 * rate) : int(0.15 * rate)])
    tenth, nine = np.argmax(level > 0.1 * held), np.argmax(level > 0.9 * held)
    return float((nine - tenth) / rate)


def test_it_starts_about_as_fast_as_the_recorded_notes(recordings: list[Recorded]) -> None:
    ratios = []
    for note in recordings:
        hz = midi_to_hz(note.midi)
        recorded = rise_seconds(note.samples, note.rate, hz)
        ours = np.mean([rise_seconds(voiced(note.midi, breath), RATE, hz) for breath in Breath])
        ratios.append(ours / recorded)
    # the recorded notes themselves lie between 13 and 39 ms, in no order of pitch
    assert 1 / 2.5 < min(ratios) < max(ratios) < 2.5, ratios
    assert np.exp(np.mean(np.log(ratios))) == pytest.approx(1.0, abs=0.25), ratios


def test_high_harmonics_come_in_later_than_the_fundamental(recordings: list[Recorded]) -> None:
    # in the recordings the sixth harmonic of E4 is 20 dB further under its place than the first, 12 ms in
    for sound, rate in ((recordings[0].samples, recordings[0].rate), (voiced(64, Breath.DRAW), RATE)):
        hz = midi_to_hz(64)
        early = harmonic_levels_db(sound[int(0.006 * rate) : int(0.022 * rate)], rate, hz, count=6)
        held = harmonic_levels_db(sound[int(0.1 * rate) : int(0.3 * rate)], rate, hz, count=6)
        missing = held - early
        assert np.mean(missing[3:]) > missing[0] + 4.0


def between_harmonics_db(sound: np.ndarray, rate: int, hz: float) -> float:
    """Power between the harmonics up to 8 kHz under the whole, decibels."""
    size = 1 << 17
    power = np.abs(np.fft.rfft(sound * np.blackman(len(sound)), size)) ** 2
    axis = np.fft.rfftfreq(size, 1 / rate)
    away = np.abs((axis / hz + 0.5) % 1.0 - 0.5) * hz > 60.0
    return float(10 * np.log10(power[away & (axis > 60) & (axis < 8000)].sum() / power.sum()))


def test_the_breath_is_heard_but_under_the_tone(recordings: list[Recorded]) -> None:
    for note in recordings:
        hz = midi_to_hz(note.midi)
        recorded = between_harmonics_db(steady_part(note.samples), note.rate, hz)
        ours = between_harmonics_db(voiced(note.midi, Breath.DRAW, seconds=1.0)[9000:40000], RATE, hz)
        assert recorded - 6.0 < ours < -35.0, (note.midi, recorded, ours)
