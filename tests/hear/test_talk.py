"""Talk told from playing, and the level of each moment."""

from __future__ import annotations

import numpy as np

from reedpath.hear import HOP_SECONDS, LOW_RATE, course_of, low_sound
from reedpath.signal import Samples


def noise(seconds: float, level: float, seed: int = 1) -> np.ndarray:
    return level * np.random.default_rng(seed).standard_normal(round(seconds * LOW_RATE))


def note(seconds: float, hz: float) -> np.ndarray:
    """A steady tone with overtones."""
    time = np.arange(round(seconds * LOW_RATE)) / LOW_RATE
    return sum(0.2 / n * np.sin(2 * np.pi * n * hz * time) for n in range(1, 6))


def speech(seconds: float, seed: int = 2) -> np.ndarray:
    """Noise through a filter that changes its shape every 80 ms: what parts speech from a reed."""
    random = np.random.default_rng(seed)
    parts = []
    for _ in range(round(seconds / 0.08)):
        hz = random.uniform(200, 3000)
        own = random.standard_normal(round(0.08 * LOW_RATE))
        time = np.arange(len(own)) / LOW_RATE
        parts.append(0.1 * own * np.cos(2 * np.pi * hz * time + random.uniform(0, 6)))
    return np.concatenate(parts)


def shares(sound: np.ndarray, start: float, end: float, **known: float) -> tuple[float, float]:
    course = course_of(sound.astype(np.float32), **known)
    inside = slice(round(start / HOP_SECONDS), round(end / HOP_SECONDS))
    return float(course.talk[inside].mean()), float(course.tone[inside].mean())


def test_a_reed_is_told_from_speech_and_from_silence() -> None:
    notes = np.concatenate([note(0.5, hz) for hz in (392.0, 440.0, 523.0, 392.0)])
    sound = np.concatenate([noise(1.0, 1e-4), speech(2.0), noise(1.0, 1e-4), notes, noise(1.0, 1e-4)])
    sound += noise(len(sound) / LOW_RATE, 1e-4, 9)[: len(sound)]
    assert shares(sound, 1.1, 2.9)[0] > 0.9
    assert shares(sound, 1.1, 2.9)[1] == 0.0
    assert shares(sound, 4.1, 5.9)[1] > 0.95
    assert shares(sound, 4.1, 5.9)[0] == 0.0
    assert shares(sound, 3.2, 3.8) == (0.0, 0.0)


def test_what_stands_still_under_the_harps_lowest_note_is_a_voice() -> None:
    """As where somebody speaks on one pitch: the lowest partial stands, what lies over it moves."""
    voice = 2 * note(2.0, 180.0) + 0.5 * speech(2.0)
    sound = np.concatenate([noise(1.0, 1e-4), voice, noise(1.0, 1e-4)])
    assert shares(sound, 1.1, 2.9)[1] > 0.9
    assert shares(sound, 1.1, 2.9, lowest_hz=262.0)[0] > 0.9


def test_a_voice_that_stands_has_a_period_below_the_instrument_and_notes_of_it_have_none() -> None:
    """A voice whose second formant stands: its strongest partial is as still as a reed's."""
    time = np.arange(LOW_RATE) / LOW_RATE
    voice = sum(
        0.2 * np.exp(-(((n * 105 - 630) / 150) ** 2)) * np.sin(2 * np.pi * n * 105 * time) for n in range(1, 20)
    )
    still = noise(1.0, 1e-4)
    for lowest_hz, hz in ((262.0, 262.0), (262.0, 784.0), (196.0, 440.0), (349.0, 392.0)):
        sound = np.concatenate([still, voice, still, note(1.0, hz), still]) + noise(5.0, 1e-4, 9)
        course = course_of(sound.astype(np.float32), lowest_hz=lowest_hz)
        half = round(2.5 / HOP_SECONDS)
        assert course.tone[:half].sum() * HOP_SECONDS > 0.8, hz
        assert course.voiced[:half].sum() * HOP_SECONDS > 0.8, hz
        assert course.tone[half:].sum() * HOP_SECONDS > 0.8, hz
        assert not course.voiced[half:].any(), hz


def test_a_recording_is_one_channel_at_the_low_rate_however_its_blocks_are_cut() -> None:
    array = np.stack([note(1.0, 300.0), -note(1.0, 300.0)], axis=1).astype(np.float32)
    assert np.abs(low_sound([Samples(array, LOW_RATE)])).max() < 1e-6
    mono = Samples(array[:, :1], LOW_RATE)
    parts = [mono.span(0.0, 0.4), mono.span(0.4, 1.0)]
    np.testing.assert_allclose(low_sound(parts), low_sound([mono]))
    assert len(low_sound([])) == 0


def test_no_sound_has_no_course() -> None:
    course = course_of(np.zeros(0, dtype=np.float32))
    assert course.margin_db == 0.0
    silent = course_of(np.zeros(LOW_RATE, dtype=np.float32))
    assert not silent.talk.any()
    assert not silent.tone.any()


def test_a_recording_that_is_cut_off_hears_worse() -> None:
    sound = np.concatenate([noise(1.0, 1e-3), note(2.0, 440.0), noise(1.0, 1e-3)]).astype(np.float32)
    loud = np.clip(sound * 8, -1, 1)
    assert course_of(loud).margin_db < course_of(sound).margin_db


def vowel(seconds: float, hz: float) -> np.ndarray:
    """A voice that falls by a third: partials under a formant that rises."""
    time = np.arange(round(seconds * LOW_RATE)) / LOW_RATE
    turned = 2 * np.pi * np.cumsum(hz * (1 - 0.25 * time / seconds)) / LOW_RATE
    formant = 500 + 1200 * time / seconds
    partials = (np.exp(-(((n * hz - formant) / 400) ** 2)) * np.sin(n * turned) for n in range(1, int(3500 / hz)))
    return 0.2 * np.hanning(len(time)) * sum(partials)


def knock(seconds: float, seed: int = 4) -> np.ndarray:
    time = np.arange(round(seconds * LOW_RATE)) / LOW_RATE
    return noise(seconds, 0.3, seed) * np.exp(-time / 0.04)


def test_a_word_has_a_voices_period_and_a_knock_has_none() -> None:
    still = noise(1.0, 1e-4)
    for hz in (90.0, 120.0, 210.0, 330.0):
        sound = np.concatenate([still, vowel(0.3, hz), still, knock(0.3), still])
        course = course_of((sound + noise(len(sound) / LOW_RATE, 1e-4, 9)[: len(sound)]).astype(np.float32))
        half = round(1.7 / HOP_SECONDS)
        assert course.talk[:half].any(), hz
        assert course.talk[half:].any(), hz
        assert course.voiced[:half].sum() * HOP_SECONDS >= 0.1, hz
        assert course.voiced[half:].sum() * HOP_SECONDS <= 0.05, hz
        assert not (course.voiced & ~course.talk).any()
