"""The slow curves of a tone: its level, colour, pitch and breath, one value every `HOP` samples.

The level of a starting reed follows a logistic curve, as that of a self-excited oscillation does; a tone's
start is where it has reached a third. Colour follows a little later, so that a tone starts as hardly more
than its fundamental. Once the breath stops both fall away exponentially.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.harp import Breath
from reedpath.pitch import hz_to_midi
from reedpath.sound.spectrum import dull_weight
from reedpath.sound.tones import Attack, Tone
from reedpath.sound.voice_data import ShakeNumbers, VoiceData

__all__ = ["HOP", "Curves", "curves_of", "rise_seconds_of", "stretch_of"]

# samples between two points of the curves (0.7 ms at 44.1 kHz)
HOP = 32
# logistic units: where a third of the level is reached, where a tone is taken up, and from a tenth to nine tenths
ONSET, TAKEN_UP, RISE_UNITS = -0.693, -6.5, 4.394
# falls to a third after which a tone is given up (about -75 dB)
GIVEN_UP_FALLS = 8.0
# natural logarithm of three: falls are told by the time to a third
THIRD = 1.1
# decibels full scale: weighted root mean square of one tone of recorded force
TONE_DB = -20.0
# MIDI number to which rise and fall times refer
MIDDLE_C = 60.0

FloatArray = npt.NDArray[np.floating]


@dataclass(frozen=True, slots=True, eq=False)
class Curves:
    """Slow curves of one tone, each of shape (hops + 1,).

    first_sample : place of their first point.
    hz : pitch.
    level, breath : amplitudes, full scale 1, of the tone and of the breath's noise.
    bright : weight of the bright wave, the dull one having the rest.
    """

    first_sample: int
    hz: FloatArray
    level: FloatArray
    bright: FloatArray
    breath: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class _Moments:
    """The clock of one tone: seconds on the performance's clock, since its start and after its end."""

    times: FloatArray
    since: FloatArray
    after: FloatArray
    rise: float
    fall: float

    @property
    def unit(self) -> float:
        """Seconds of one logistic unit."""
        return self.rise / RISE_UNITS


def _octaves_up(tone: Tone) -> float:
    return (hz_to_midi(tone.reed_hz) - MIDDLE_C) / 12.0


def rise_seconds_of(tone: Tone, data: VoiceData) -> float:
    """Seconds from a tenth to nine tenths of a tone's level as it starts."""
    numbers = data.attack
    ratio = {
        Attack.TONGUED: numbers.tongued,
        Attack.TURNED: numbers.turned,
        Attack.SLURRED: numbers.slurred,
        Attack.SLAPPED: numbers.slapped,
    }[tone.attack]
    return numbers.rise_seconds * math.pow(numbers.rise_ratio_per_octave, _octaves_up(tone)) * ratio


def _fall_seconds_of(tone: Tone, data: VoiceData) -> float:
    return data.release.fall_seconds * math.pow(data.release.fall_ratio_per_octave, _octaves_up(tone))


def _logistic(units: FloatArray) -> FloatArray:
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(units, -40.0, 40.0))))


def _amplitude(decibels: FloatArray) -> FloatArray:
    return np.asarray(10.0 ** (decibels / 20.0))


def _wandering(times: FloatArray, rate_hz: float, random: np.random.Generator) -> FloatArray:
    """A slow wandering between -1 and 1, mean 0."""
    phases = random.uniform(0.0, 2.0 * np.pi, 3)
    turns = 2.0 * np.pi * rate_hz * times
    slow, middle, quick = (
        np.sin(turns * factor + phase) for factor, phase in zip((0.4, 1.0, 1.7), phases, strict=True)
    )
    return np.asarray((slow + middle + quick) / 3.0)


def _shake(shake: ShakeNumbers, since: FloatArray) -> FloatArray:
    """The course of a vibrato, -1 to 1, growing in."""
    late = since - shake.wait_seconds
    grown = np.clip(late / shake.grow_seconds, 0.0, 1.0)
    return np.asarray(grown * np.sin(2.0 * np.pi * shake.rate_hz * late))


def _scoop_cents(tone: Tone, data: VoiceData, at: _Moments) -> FloatArray:
    """How far under its pitch a reed is while it starts to speak; nothing where the air flows already."""
    numbers = data.attack
    cents = numbers.scoop_cents * (numbers.draw_scoop if tone.breath is Breath.DRAW else 1.0)
    if tone.attack is Attack.SLURRED:
        cents = 0.0
    late = np.maximum(at.since, -0.5 * at.rise)
    return np.asarray(-cents * np.exp(-late / (numbers.scoop_rises * at.rise)))


def _breath(tone: Tone, data: VoiceData, at: _Moments, force_db: float) -> FloatArray:
    """Amplitude of the breath's noise, which is there a little before the reed speaks."""
    numbers = data.breath
    held_db = numbers.draw_db if tone.breath is Breath.DRAW else numbers.blow_db
    puff_db = 0.0 if tone.attack is Attack.SLURRED else numbers.puff_db
    level_db = TONE_DB + force_db + held_db + puff_db * np.exp(-np.maximum(at.since, 0.0) / numbers.puff_seconds)
    flowing = _logistic(1.5 * at.since / at.unit + ONSET + 1.0) * np.exp(-THIRD * at.after / at.fall)
    return np.asarray(_amplitude(level_db) * flowing)


def stretch_of(tone: Tone, data: VoiceData, *, rate: int) -> tuple[int, int]:
    """The first sample of a tone, and how many it has: whole hops."""
    rise, fall = rise_seconds_of(tone, data), _fall_seconds_of(tone, data)
    first = math.floor((tone.start_seconds + (TAKEN_UP - ONSET) * rise / RISE_UNITS) * rate)
    return first, HOP * math.ceil(((tone.end_seconds + GIVEN_UP_FALLS * fall) * rate - first) / HOP)


def _moments(tone: Tone, data: VoiceData, rate: int) -> tuple[int, _Moments]:
    rise, fall = rise_seconds_of(tone, data), _fall_seconds_of(tone, data)
    first, count = stretch_of(tone, data, rate=rate)
    hops = count // HOP
    times = (first + HOP * np.arange(hops + 1)) / rate
    after = np.maximum(times - tone.end_seconds, 0.0)
    return first, _Moments(times, times - tone.start_seconds, after, rise, fall)


def curves_of(tone: Tone, data: VoiceData, *, rate: int) -> Curves:
    """The slow curves of a tone at so many samples a second; tones of one seed wander together."""
    first, at = _moments(tone, data, rate)
    random = np.random.default_rng(tone.seed)
    shake = getattr(data.vibrato, tone.vibrato) if tone.vibrato else None
    shaken = np.zeros_like(at.times)
    if shake:
        begun = tone.start_seconds if tone.vibrato_from_seconds is None else tone.vibrato_from_seconds
        shaken = _shake(shake, at.times - begun)
    cents = data.unsteady.cents * _wandering(at.times, data.unsteady.rate_hz, random)
    cents = cents + (shake.cents if shake else 0.0) * shaken + _scoop_cents(tone, data, at)
    octaves = np.interp(at.times, tone.contour.seconds, np.log2(tone.contour.hz)) + cents / 1200.0

    force_db = tone.level_db + data.spectrum.level_per_force * (tone.force - data.spectrum.recorded_force)
    level_db = TONE_DB + force_db + data.unsteady.level_db * _wandering(at.times, data.unsteady.rate_hz, random)
    level_db = level_db + (shake.level_db if shake else 0.0) / 2.0 * shaken
    overshoot = np.exp(-np.maximum(at.since, 0.0) / data.attack.overshoot_seconds)
    level_db = level_db + data.attack.overshoot_db * overshoot
    level = _amplitude(level_db) * _logistic(at.since / at.unit + ONSET) * np.exp(-THIRD * at.after / at.fall)

    depth = 0.0 if tone.overbend else np.maximum(0.0, 12.0 * (np.log2(tone.reed_hz) - octaves))
    dulling = data.spectrum.bend_dulling * depth - (shake.brightness_db if shake else 0.0) / 2.0 * shaken
    late = (at.since - data.attack.brightness_lag * at.rise) / at.unit
    bright = dull_weight(data, dulling) * _logistic(late + ONSET) * np.exp(-at.after / at.fall)
    breath = _breath(tone, data, at, force_db)
    level[-1] = breath[-1] = 0.0
    return Curves(first, np.exp2(octaves), level, bright, breath)
