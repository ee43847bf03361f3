"""The band measured in the sound it makes, with judges that know nothing of it.

Forms: the twelve-bar, quick-change, eight-bar and minor rounds are common practice, no source.
Pitch: Praat (Boersma 1993), through praat-parselmouth. Loudness: ITU-R BS.1770-5, whose own example is checked.
Banks: the one in the pretty_midi wheel, and FluidR3_GM.sf2 (Debian's fluid-soundfont-gm) where installed.
"""

from __future__ import annotations

import importlib.util
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import parselmouth
import pytest

from reedpath.harp import make_harp
from reedpath.pitch import Key, parse_pitch_class
from reedpath.sound import Backing, Turns, lay_out_backing, loudness_lufs, play_with_band
from reedpath.sound.band import BandPart, sound_part
from reedpath.sound.loudness import filters
from reedpath.sound.mix import CEILING_DB
from support.built_routes import built_lesson, built_route
from support.sample_bank import FLUID_BANK

pytestmark = pytest.mark.outside

RATE = 44_100
WHEEL_BANK = Path(importlib.util.find_spec("pretty_midi").submodule_search_locations[0]) / "TimGM6mb.sf2"
BANKS = [bank for bank in (WHEEL_BANK, FLUID_BANK) if bank.exists()]
E_MAJOR = Key(4)
LICK = "2d 3d' 4b 4d'! 4d:1~ r 5d 4d 4b 3d' 2d:1~ r:1"


def lesson(text: str = LICK, *, key: Key = E_MAJOR, bpm: float = 96.0, swing: int = 2, a4_hz: float = 440.0):
    harp = make_harp("A", a4_hz=a4_hz)
    route = built_route(text, harp=harp, bpm=bpm, swing=Fraction(swing), music_key=key)
    return built_lesson(route, factors=(0.6, 1.0))


def part_of(layout, name: str) -> BandPart:
    return next(part for part in layout.parts if part.name == name)


def onset_errors(sound: np.ndarray, times: list[float]) -> np.ndarray:
    """Seconds by which the level jumps late at each time."""
    mono = np.abs(sound).max(axis=1)
    late = []
    for at in times:
        first = int((at - 0.03) * RATE)
        near = mono[first : first + int(0.08 * RATE)]
        before = near[: int(0.02 * RATE)].max()
        jump = np.argmax(near > before + 0.3 * (near.max() - before))
        late.append(first / RATE + jump / RATE - at)
    return np.array(late)


@pytest.mark.parametrize("bank", BANKS, ids=lambda bank: bank.stem)
@pytest.mark.parametrize("groove", ["shuffle", "slow", "boogie"])
def test_drums_and_bass_are_heard_within_5_ms_of_the_beat(bank: Path, groove: str) -> None:
    given = lesson()
    layout = lay_out_backing(given, given.ladder[-1], Backing(groove=groove, form="one-chord"))
    beat = 60.0 / 96.0
    start = layout.rounds[0].start_seconds
    drums = sound_part(part_of(layout, "drums"), seconds=layout.seconds, rate=RATE, bank=bank)
    strokes = [start + bar * 4 * beat for bar in range(4)]
    assert np.abs(onset_errors(drums, strokes)).max() < 0.005
    bass = sound_part(part_of(layout, "bass"), seconds=layout.seconds, rate=RATE, bank=bank)
    assert np.abs(np.median(onset_errors(bass, strokes[1:]))) < 0.005


def test_swung_eighths_of_band_and_phrase_fall_together() -> None:
    given = lesson("2d 3d 4b 4d 5d 4d 4b 3d")
    layout = lay_out_backing(given, given.ladder[-1], Backing(groove="shuffle", form="one-chord"))
    hats = sorted({round(n.start_seconds, 6) for n in part_of(layout, "drums").notes if n.midi == 42})
    phrase = [span.start_seconds for span in layout.spans[0]]
    assert hats[:8] == pytest.approx(phrase, abs=1e-6)
    third = 60.0 / 96.0 / 3.0
    assert hats[1] - hats[0] == pytest.approx(2 * third)


TWELVE = "I I I I IV IV I I V IV I I"
FORMS = {
    "twelve-bar": (Key(4), TWELVE),
    "quick-change": (Key(0), "I IV I I IV IV I I V IV I I"),
    "eight-bar": (Key(7), "I V IV IV I V I I"),
    "minor-twelve-bar": (Key(9, "minor"), "I I I I IV IV I I bVI V I I"),
}


def bass_pitch_class(sound: np.ndarray, start: float, end: float) -> int:
    cut = sound[int(start * RATE) : int(end * RATE)].mean(axis=1).astype(np.float64)
    pitch = parselmouth.Sound(cut, RATE).to_pitch_ac(time_step=0.01, pitch_floor=35.0, pitch_ceiling=250.0)
    hz = pitch.selected_array["frequency"]
    return round(69 + 12 * np.log2(float(np.median(hz[hz > 0])) / 440.0)) % 12


@pytest.mark.parametrize("name", FORMS)
def test_the_bass_stands_on_the_roots_of_the_form(name: str) -> None:
    key, numerals = FORMS[name]
    given = lesson(key=key, bpm=80.0)
    layout = lay_out_backing(given, given.ladder[-1], Backing(form=name, groove="slow", rounds=1, key=key))
    sound = sound_part(part_of(layout, "bass"), seconds=layout.seconds, rate=RATE, bank=WHEEL_BANK)
    steps = {"I": 0, "IV": 5, "V": 7, "bVI": 8}
    bar, start = 4 * 60.0 / 80.0, layout.rounds[0].start_seconds
    heard = [
        bass_pitch_class(sound, start + n * bar + 0.08, start + n * bar + 0.7) for n in range(len(numerals.split()))
    ]
    assert heard == [(key.tonic + steps[one]) % 12 for one in numerals.split()]


def chroma(sound: np.ndarray) -> np.ndarray:
    """Energy of each pitch class, its fundamentals' range only, summing to 1."""
    power = np.abs(np.fft.rfft(sound.mean(axis=1) * np.hanning(len(sound)), 1 << 17)) ** 2
    hz = np.fft.rfftfreq(1 << 17, 1 / RATE)
    kept = (hz > 120) & (hz < 700)
    classes = np.round(69 + 12 * np.log2(hz[kept] / 440.0)).astype(int) % 12
    found = np.bincount(classes, weights=power[kept], minlength=12)
    return found / found.sum()


@pytest.mark.parametrize("player", ["guitar", "piano"])
def test_the_chords_sound_the_notes_of_a_dominant_seventh(player: str) -> None:
    given = lesson()
    backing = Backing(form="twelve-bar", groove="slow", rounds=1, chords=player)
    layout = lay_out_backing(given, given.ladder[-1], backing)
    sound = sound_part(part_of(layout, player), seconds=layout.seconds, rate=RATE, bank=WHEEL_BANK)
    bar, start = 4 * 60.0 / 96.0, layout.rounds[0].start_seconds
    for number, root in ((0, "E"), (4, "A"), (8, "B")):
        tonic = parse_pitch_class(root)
        energy = chroma(sound[int((start + number * bar) * RATE) : int((start + (number + 1) * bar) * RATE)])
        assert sum(energy[(tonic + step) % 12] for step in (0, 4, 7, 10)) > 0.8
        assert energy[(tonic + 4) % 12] > energy[(tonic + 3) % 12]


@pytest.mark.parametrize("a4_hz", [440.0, 443.0])
def test_the_band_is_tuned_to_the_harp(a4_hz: float) -> None:
    given = lesson(a4_hz=a4_hz)
    layout = lay_out_backing(given, given.ladder[-1], Backing(form="one-chord", groove="slow"))
    held = replace(
        part_of(layout, "bass"), notes=(replace(part_of(layout, "bass").notes[0], start_seconds=0.1, seconds=2.0),)
    )
    sound = sound_part(held, seconds=2.5, rate=RATE, a4_hz=a4_hz, bank=WHEEL_BANK)
    reference = sound_part(held, seconds=2.5, rate=RATE, bank=WHEEL_BANK)

    def hz(samples: np.ndarray) -> float:
        lines = np.abs(np.fft.rfft(samples.mean(axis=1)[8000:80_000] * np.hanning(72_000), 1 << 20))
        axis = np.fft.rfftfreq(1 << 20, 1 / RATE)
        near = (axis > 30) & (axis < 60)
        return float(axis[near][np.argmax(lines[near])])

    assert 1200 * np.log2(hz(sound) / hz(reference)) == pytest.approx(1200 * np.log2(a4_hz / 440.0), abs=1.5)


def test_another_reference_pitch_leaves_the_beat_in_place() -> None:
    given = lesson(a4_hz=446.0)
    layout = lay_out_backing(given, given.ladder[-1], Backing(form="twelve-bar", groove="shuffle", rounds=1))
    drums = sound_part(part_of(layout, "drums"), seconds=layout.seconds, rate=RATE, a4_hz=446.0, bank=WHEEL_BANK)
    bar, start = 4 * 60.0 / 96.0, layout.rounds[0].start_seconds
    assert np.abs(onset_errors(drums, [start, start + 4 * bar, start + 10 * bar])).max() < 0.005


@pytest.mark.parametrize("bank", BANKS, ids=lambda bank: bank.stem)
@pytest.mark.parametrize("groove", ["shuffle", "slow", "boogie", "swift"])
def test_the_harmonica_stands_before_the_band(bank: Path, groove: str) -> None:
    given = lesson(" ".join([LICK] * 2))
    rung, backing = (
        given.ladder[-1],
        Backing(form="one-chord", groove=groove, chords="both", rounds=1, count_in_bars=0),
    )
    whole = play_with_band(given, rung, backing, bank=bank)
    band = play_with_band(given, rung, replace(backing, turns=Turns.YOURS), bank=bank)
    assert whole.peak <= 10 ** (CEILING_DB / 20) + 1e-6
    alone = whole.array - band.array
    over = loudness_lufs(alone, rate=RATE) - loudness_lufs(band.array, rate=RATE)
    assert 2.0 < over < 9.0
    assert -22.0 < loudness_lufs(whole.array, rate=RATE) < -14.0


def test_loudness_is_measured_as_the_recommendation_says() -> None:
    # BS.1770-5: a 997 Hz sine at 0 dB full scale in one front channel reads -3.01 LKFS
    for rate in (44_100, 48_000):
        sine = np.sin(2 * np.pi * 997 * np.arange(5 * rate) / rate)
        assert loudness_lufs(np.stack([sine, 0 * sine], axis=1), rate=rate) == pytest.approx(-3.01, abs=0.02)
        assert loudness_lufs(np.stack([sine, sine], axis=1) / 10, rate=rate) == pytest.approx(-20.0, abs=0.02)


def test_loudness_filters_are_the_recommendations_at_48_khz() -> None:
    # BS.1770-5, tables 1 and 2
    shelf = [1.53512485958697, -2.69169618940638, 1.19839281085285, 1.0, -1.69065929318241, 0.73248077421585]
    high_pass = [1.0, -2.0, 1.0, 1.0, -1.99004745483398, 0.99007225036621]
    assert filters(48_000) == pytest.approx(np.array([shelf, high_pass]), abs=1e-6)


def test_silent_stretches_do_not_count_in_loudness() -> None:
    sine = 0.1 * np.sin(2 * np.pi * 997 * np.arange(4 * 48_000) / 48_000)
    padded = np.concatenate([sine, np.zeros(20 * 48_000)])
    assert loudness_lufs(padded, rate=48_000) == pytest.approx(loudness_lufs(sine, rate=48_000), abs=0.4)
    assert loudness_lufs(np.zeros(48_000), rate=48_000) == -70.0
    assert loudness_lufs(np.zeros(0), rate=48_000) == -70.0
