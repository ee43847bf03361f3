"""The slow curves of a tone: its level, colour, pitch and breath, one value every `HOP` samples.

The level of a starting reed follows a logistic curve, as that of a self-excited oscillation does; a tone's
start is where it has reached a third. Colour follows a little later, so that a tone starts as hardly more
than its fundamental. Once the breath stops both fall away exponentially.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.harp import Breath
from reedpath.pitch import hz_to_midi
from reedpath.sound.spectrum import dull_weight
from reedpath.sound.tones import Attack, Tone
from reedpath.sound.voice_data import ShakeNumbers, VoiceData

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

# the vibrato of a tone that has none
STILL = ShakeNumbers(rate_hz=1.0, cents=0.0, level_db=0.0, brightness_db=0.0, wait_seconds=0.0, grow_seconds=1.0)

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
    """The points of several tones, one tone after the other: seconds, each of shape (points of all,).

    counts : how many points each tone has.
    times : on the performance's clock.
    since, after : since a tone's start, and since its end, 0 before.
    rise, fall : of the tone.
    """

    counts: tuple[int, ...]
    times: FloatArray
    since: FloatArray
    after: FloatArray
    rise: FloatArray
    fall: FloatArray

    @property
    def unit(self) -> FloatArray:
        """Seconds of one logistic unit."""
        return self.rise / RISE_UNITS

    def spread(self, values: Iterable[float]) -> FloatArray:
        """A value of each tone, at all its points."""
        return _spread(values, self.counts)


def _spread(values: Iterable[float], counts: Sequence[int]) -> FloatArray:
    return np.repeat(np.array(list(values), dtype=np.float64), counts)


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
    return np.asarray(np.exp(decibels * (math.log(10.0) / 20.0)))


def _wandering(at: _Moments, rate_hz: float, phases: FloatArray) -> FloatArray:
    """A slow wandering between -1 and 1, mean 0, of three waves whose phases each tone has, shape (tones, 3)."""
    turns = 2.0 * np.pi * rate_hz * at.times
    slow, middle, quick = (
        np.sin(turns * factor + at.spread(phase)) for factor, phase in zip((0.4, 1.0, 1.7), phases.T, strict=True)
    )
    return np.asarray((slow + middle + quick) / 3.0)


def _shaken(tones: Sequence[Tone], shakes: Sequence[ShakeNumbers], at: _Moments) -> FloatArray:
    """The course of each tone's vibrato, -1 to 1, growing in."""
    begun = (tone.start_seconds if tone.vibrato_from_seconds is None else tone.vibrato_from_seconds for tone in tones)
    late = at.times - at.spread(begun) - at.spread(shake.wait_seconds for shake in shakes)
    grown = np.clip(late / at.spread(shake.grow_seconds for shake in shakes), 0.0, 1.0)
    return np.asarray(grown * np.sin(2.0 * np.pi * at.spread(shake.rate_hz for shake in shakes) * late))


def _scoop_cents(tones: Sequence[Tone], data: VoiceData, at: _Moments) -> FloatArray:
    """How far under its pitch a reed is while it starts to speak; nothing where the air flows already."""
    numbers = data.attack
    cents = at.spread(
        0.0
        if tone.attack is Attack.SLURRED
        else numbers.scoop_cents * (numbers.draw_scoop if tone.breath is Breath.DRAW else 1.0)
        for tone in tones
    )
    late = np.maximum(at.since, -0.5 * at.rise)
    return np.asarray(-cents * np.exp(-late / (numbers.scoop_rises * at.rise)))


def _breath(tones: Sequence[Tone], data: VoiceData, at: _Moments, force_db: FloatArray) -> FloatArray:
    """Amplitude of the breath's noise, which is there a little before the reed speaks."""
    numbers = data.breath
    held_db = at.spread(numbers.draw_db if tone.breath is Breath.DRAW else numbers.blow_db for tone in tones)
    puff_db = at.spread(0.0 if tone.attack is Attack.SLURRED else numbers.puff_db for tone in tones)
    level_db = TONE_DB + force_db + held_db + puff_db * np.exp(-np.maximum(at.since, 0.0) / numbers.puff_seconds)
    flowing = _logistic(1.5 * at.since / at.unit + ONSET + 1.0) * np.exp(-THIRD * at.after / at.fall)
    return np.asarray(_amplitude(level_db) * flowing)


def stretch_of(tone: Tone, data: VoiceData, *, rate: int) -> tuple[int, int]:
    """The first sample of a tone, and how many it has: whole hops."""
    rise, fall = rise_seconds_of(tone, data), _fall_seconds_of(tone, data)
    first = math.floor((tone.start_seconds + (TAKEN_UP - ONSET) * rise / RISE_UNITS) * rate)
    return first, HOP * math.ceil(((tone.end_seconds + GIVEN_UP_FALLS * fall) * rate - first) / HOP)


def _moments(tones: Sequence[Tone], data: VoiceData, rate: int) -> tuple[list[int], _Moments]:
    """The first sample of each tone, and the points of all."""
    stretches = [stretch_of(tone, data, rate=rate) for tone in tones]
    firsts, counts = [first for first, _ in stretches], tuple(count // HOP + 1 for _, count in stretches)
    times = np.concatenate(
        [(first + HOP * np.arange(count)) / rate for first, count in zip(firsts, counts, strict=True)]
    )
    return firsts, _Moments(
        counts,
        times,
        since=times - _spread((tone.start_seconds for tone in tones), counts),
        after=np.maximum(times - _spread((tone.end_seconds for tone in tones), counts), 0.0),
        rise=_spread((rise_seconds_of(tone, data) for tone in tones), counts),
        fall=_spread((_fall_seconds_of(tone, data) for tone in tones), counts),
    )


def _contours(tones: Sequence[Tone], at: _Moments) -> FloatArray:
    """Pitches that the tones' contours ask for, octaves of 1 Hz."""
    ends = np.cumsum(at.counts)[:-1]
    return np.concatenate(
        [
            np.interp(times, tone.contour.seconds, np.log2(tone.contour.hz))
            for times, tone in zip(np.split(at.times, ends), tones, strict=True)
        ]
    )


def curves_of(tones: Sequence[Tone], data: VoiceData, *, rate: int) -> list[Curves]:
    """The slow curves of tones, at least one, at so many samples a second; tones of one seed wander together.

    They are reckoned together, since most tones are too short for numpy to be quick with one.
    """
    firsts, at = _moments(tones, data, rate)
    phases = np.array([np.random.default_rng(tone.seed).uniform(0.0, 2.0 * np.pi, (2, 3)) for tone in tones])
    shakes = [getattr(data.vibrato, tone.vibrato) if tone.vibrato else STILL for tone in tones]
    shaken = _shaken(tones, shakes, at)
    cents = data.unsteady.cents * _wandering(at, data.unsteady.rate_hz, phases[:, 0])
    cents += at.spread(shake.cents for shake in shakes) * shaken + _scoop_cents(tones, data, at)
    octaves = _contours(tones, at) + cents / 1200.0

    force = at.spread(tone.force for tone in tones) - data.spectrum.recorded_force
    force_db = at.spread(tone.level_db for tone in tones) + data.spectrum.level_per_force * force
    level_db = TONE_DB + force_db + data.unsteady.level_db * _wandering(at, data.unsteady.rate_hz, phases[:, 1])
    level_db += at.spread(shake.level_db for shake in shakes) / 2.0 * shaken
    overshoot = np.exp(-np.maximum(at.since, 0.0) / data.attack.overshoot_seconds)
    level_db += data.attack.overshoot_db * overshoot
    level = _amplitude(level_db) * _logistic(at.since / at.unit + ONSET) * np.exp(-THIRD * at.after / at.fall)

    reed = at.spread(-math.inf if tone.overbend else math.log2(tone.reed_hz) for tone in tones)
    depth = np.maximum(0.0, 12.0 * (reed - octaves))
    dulling = data.spectrum.bend_dulling * depth
    dulling -= at.spread(shake.brightness_db for shake in shakes) / 2.0 * shaken
    late = (at.since - data.attack.brightness_lag * at.rise) / at.unit
    bright = dull_weight(data, dulling) * _logistic(late + ONSET) * np.exp(-at.after / at.fall)
    breath = _breath(tones, data, at, force_db)

    ends = np.cumsum(at.counts)
    level[ends - 1] = breath[ends - 1] = 0.0
    parts = (np.split(curve, ends[:-1]) for curve in (np.exp2(octaves), level, bright, breath))
    return [Curves(first, *of_one) for first, *of_one in zip(firsts, *parts, strict=True)]
