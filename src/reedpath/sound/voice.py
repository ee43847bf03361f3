"""The reed voice: tones to sound.

Each tone is a table of one period read at the phase of its pitch, in two colours (as bright as the force
asks, and as dull as a reed that only begins to speak) between which it moves, times its level, plus the
noise of the breath. Level, colour and pitch are laid out every `HOP` samples and drawn straight between.
The level of a starting reed follows a logistic curve; a tone's start is where it has reached a fifth.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from reedpath.harp import Breath
from reedpath.pitch import hz_to_midi
from reedpath.sound.spectrum import TABLE_POINTS, dull_weight, wave_table
from reedpath.sound.tones import Attack, Tone
from reedpath.sound.voice_data import ShakeNumbers, VoiceData, load_voice

__all__ = ["render_tones", "rise_seconds_of"]

# samples between two points of the slow curves (0.7 ms at 44.1 kHz)
HOP = 32
# logistic units: where a fifth of the level is reached, where a tone is taken up, and from a tenth to nine tenths
FIFTH, TAKEN_UP, RISE_UNITS = -1.386, -6.5, 4.394
# falls to a third after which a tone is given up (about -75 dB)
GIVEN_UP_FALLS = 8.0
# samples of a loop of breath noise
NOISE_SAMPLES = 1 << 16
# decibels full scale: weighted root mean square of one tone of recorded force
TONE_DB = -20.0
# MIDI number to which rise and fall times refer
MIDDLE_C = 60.0

FloatArray = npt.NDArray[np.float64]
Sound = npt.NDArray[np.float32]


def rise_seconds_of(tone: Tone, data: VoiceData | None = None) -> float:
    """Seconds from a tenth to nine tenths of a tone's level as it starts."""
    numbers = (data or load_voice()).attack
    ratio = {
        Attack.TONGUED: numbers.tongued,
        Attack.TURNED: numbers.turned,
        Attack.SLURRED: numbers.slurred,
        Attack.SLAPPED: numbers.slapped,
    }[tone.attack]
    octaves = (hz_to_midi(tone.reed_hz) - MIDDLE_C) / 12.0
    return numbers.rise_seconds * numbers.rise_ratio_per_octave**octaves * ratio


def _fall_seconds_of(tone: Tone, data: VoiceData) -> float:
    octaves = (hz_to_midi(tone.reed_hz) - MIDDLE_C) / 12.0
    return data.release.fall_seconds * data.release.fall_ratio_per_octave**octaves


def _logistic(units: FloatArray) -> FloatArray:
    return 1.0 / (1.0 + np.exp(-np.clip(units, -40.0, 40.0)))


def _wandering(times: FloatArray, rate_hz: float, random: np.random.Generator) -> FloatArray:
    """A slow wandering between about -1 and 1, mean 0."""
    phases = random.uniform(0.0, 2.0 * np.pi, 3)
    turns = 2.0 * np.pi * rate_hz * times
    return sum(np.sin(turns * factor + phase) for factor, phase in zip((0.4, 1.0, 1.7), phases, strict=True)) / 2.0


def _shake(shake: ShakeNumbers, since: FloatArray) -> FloatArray:
    """The course of a vibrato, -1 to 1, growing in."""
    late = since - shake.wait_seconds
    return np.clip(late / shake.grow_seconds, 0.0, 1.0) * np.sin(2.0 * np.pi * shake.rate_hz * late)


class _Curves:
    """Slow curves of one tone, one value every `HOP` samples from ``first_seconds`` on."""

    def __init__(self, tone: Tone, data: VoiceData, rate: int) -> None:
        rise = rise_seconds_of(tone, data)
        unit, fall = rise / RISE_UNITS, _fall_seconds_of(tone, data)
        self.first_sample = int(np.floor((tone.start_seconds + (TAKEN_UP - FIFTH) * unit) * rate))
        last = tone.end_seconds + GIVEN_UP_FALLS * fall
        self.hops = int(np.ceil((last * rate - self.first_sample) / HOP))
        times = (self.first_sample + HOP * np.arange(self.hops + 1)) / rate
        since, after = times - tone.start_seconds, np.maximum(times - tone.end_seconds, 0.0)
        random = np.random.default_rng(tone.seed)
        shake = data.vibratos[tone.vibrato] if tone.vibrato else None
        shaken = _shake(shake, since) if shake else np.zeros_like(since)
        cents = data.unsteady.cents * _wandering(times, data.unsteady.rate_hz, random)
        level_db = data.unsteady.level_db * _wandering(times, data.unsteady.rate_hz, random)
        level_db += data.spectrum.level_per_force * (tone.force - data.spectrum.recorded_force)
        overshoot = np.exp(-np.maximum(since, 0.0) / data.attack.overshoot_seconds)
        level_db += data.attack.overshoot_db * overshoot + (shake.level_db if shake else 0.0) / 2.0 * shaken
        speaking = _logistic(since / unit + FIFTH)
        self.level = 10.0 ** ((level_db + TONE_DB) / 20.0) * speaking * np.exp(-1.1 * after / fall)
        self.level[-1] = 0.0
        octaves = np.interp(times, tone.contour.seconds, np.log2(tone.contour.hz))
        octaves += (cents + (shake.cents if shake else 0.0) * shaken + self._scoop(tone, data, since, rise)) / 1200.0
        self.hz = np.exp2(octaves)
        depth = 0.0 if tone.overbend else np.maximum(0.0, 12.0 * (np.log2(tone.reed_hz) - octaves))
        dulling = data.spectrum.bend_dulling * depth - (shake.brightness_db if shake else 0.0) / 2.0 * shaken
        lag = data.attack.brightness_lag * rise
        colour = _logistic((since - lag) / unit + FIFTH) * np.exp(-after / fall)
        self.bright = dull_weight(data, dulling) * colour
        self.breath = self._breath(tone, data, since, unit) * np.exp(-1.1 * after / fall)
        self.breath[-1] = 0.0

    @staticmethod
    def _scoop(tone: Tone, data: VoiceData, since: FloatArray, rise: float) -> FloatArray:
        cents = data.attack.scoop_cents * (data.attack.draw_scoop if tone.breath is Breath.DRAW else 1.0)
        if tone.attack is Attack.SLURRED:
            cents = 0.0
        return -cents * np.exp(-np.maximum(since, -0.5 * rise) / (data.attack.scoop_rises * rise))

    @staticmethod
    def _breath(tone: Tone, data: VoiceData, since: FloatArray, unit: float) -> FloatArray:
        numbers = data.breath
        held_db = numbers.draw_db if tone.breath is Breath.DRAW else numbers.blow_db
        held_db += TONE_DB + data.spectrum.level_per_force * (tone.force - data.spectrum.recorded_force)
        puff = 0.0 if tone.attack is Attack.SLURRED else numbers.puff_db
        level_db = held_db + puff * np.exp(-np.maximum(since, 0.0) / numbers.puff_seconds)
        return 10.0 ** (level_db / 20.0) * _logistic(1.5 * since / unit + FIFTH + 1.0)


def _drawn(values: FloatArray) -> Sound:
    """A slow curve drawn straight between its points, one value a sample, shape (hops * HOP,)."""
    points = values.astype(np.float32)
    ramp = np.arange(HOP, dtype=np.float32) / np.float32(HOP)
    return (points[:-1, np.newaxis] + (points[1:] - points[:-1])[:, np.newaxis] * ramp).reshape(-1)


@lru_cache(maxsize=16)
def _breath_noise(hz: float, width_octaves: float, rate: int) -> Sound:
    """A loop of breath noise of root mean square 1, shape (NOISE_SAMPLES,)."""
    random = np.random.default_rng(round(hz))
    lines = np.fft.rfft(random.standard_normal(NOISE_SAMPLES))
    axis = np.fft.rfftfreq(NOISE_SAMPLES, 1.0 / rate)
    octaves = np.log2(np.maximum(axis, 1.0) / hz) / width_octaves
    noise = np.fft.irfft(lines * 10.0 ** (-12.0 * octaves**2 / 20.0))
    return (noise / noise.std()).astype(np.float32)


def _looped(noise: Sound, start: int, count: int) -> Sound:
    if start + count <= len(noise):
        return noise[start : start + count]
    return np.resize(np.roll(noise, -start), count)


def _render_tone(tone: Tone, data: VoiceData, rate: int) -> tuple[int, Sound]:
    """The first sample's place and the sound of one tone."""
    curves = _Curves(tone, data, rate)
    table = wave_table(data, tone, rate=rate)
    steps = _drawn(curves.hz * (TABLE_POINTS / rate))
    places = np.cumsum(steps, dtype=np.float64)
    whole = places.astype(np.int64)
    part = (places - whole).astype(np.float32)
    whole &= TABLE_POINTS - 1
    wave = table[whole]
    wave += part * (table[1:] - table[:-1])[whole]
    colour = _drawn(curves.bright)
    sound = wave.imag + colour * (wave.real - wave.imag)
    sound *= _drawn(curves.level)
    draw = tone.breath is Breath.DRAW
    noise = _breath_noise(data.breath.draw_hz if draw else data.breath.blow_hz, data.breath.width_octaves, rate)
    start = int(np.random.default_rng(tone.seed + 1).integers(NOISE_SAMPLES))
    opening = np.abs(whole * np.float32(2.0 / TABLE_POINTS) - np.float32(1.0), dtype=np.float32)
    opening *= np.float32(2.0 * data.breath.chopped)
    opening += np.float32(1.0 - data.breath.chopped)
    sound += _looped(noise, start, len(sound)) * _drawn(curves.breath) * opening
    return curves.first_sample, sound


def render_tones(
    tones: Iterable[Tone], *, seconds: float, rate: int = 44_100, data: VoiceData | None = None
) -> Sound:
    """
    The tones of a performance, dry, shape (round(seconds * rate),), float32.

    What lies before 0 or after the end is cut. The same tones give the same samples.
    """
    voice = data or load_voice()
    out = np.zeros(round(seconds * rate), dtype=np.float32)
    for tone in tones:
        first, sound = _render_tone(tone, voice, rate)
        begin, end = max(first, 0), min(first + len(sound), len(out))
        if begin < end:
            out[begin:end] += sound[begin - first : end - first]
    return out
