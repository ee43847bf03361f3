"""The spectrum of a reed: levels of its harmonics, and one period of its wave as a table.

Levels of the recorded notes are interpolated harmonic by harmonic between pitches, then tilted by force,
breath and kind of note. Beyond the recorded notes the nearest one stands, its harmonics following the
recordings' fall above `rolloff_hz`.
"""

from __future__ import annotations

import statistics
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from reedpath.harp import Breath
from reedpath.pitch import hz_to_midi, midi_to_hz
from reedpath.sound.tones import Tone
from reedpath.sound.voice_data import VoiceData

# points of one period; a straight line between them is good to -80 dB for the twentieth harmonic
TABLE_POINTS = 2048
# harmonics at most
MOST_PARTIALS = 64
# hertz; nothing is written above it: the recordings hold nothing there
HIGHEST_HZ = 14_000.0
# share of the sampling rate kept free of aliases
NYQUIST_SHARE = 0.47
# octaves above the fundamental at which a weight between the two waves is exactly the tilt asked for
WEIGHT_OCTAVES = 2.0
# decibels and hertz of the rise towards high frequencies in ITU-R BS.1770-5's first filter, nearly
HEAD_DB, HEAD_HZ = 4.0, 1700.0

# digits of a force that its wave has: a hundredth is 0.09 dB an octave, which nobody hears
FORCE_DIGITS = 2
# waves kept: more than one harp has, bends and forces included, 33 kB each
KEPT_WAVES = 512

FloatArray = npt.NDArray[np.floating]


class WaveTable(NamedTuple):
    """One period of a tone's wave in two colours, complex: real the tone held, imaginary as dull as it starts.

    points : shape (TABLE_POINTS,).
    steps : from each point to the next one, around the period, the same shape.
    """

    points: npt.NDArray[np.complex64]
    steps: npt.NDArray[np.complex64]


def _fall_db(data: VoiceData, hz: FloatArray) -> FloatArray:
    return np.asarray(-data.spectrum.rolloff_db * np.log2(np.maximum(hz / data.spectrum.rolloff_hz, 1.0)))


def _recorded_levels_db(data: VoiceData, midi: float, count: int) -> FloatArray:
    """Levels at a pitch within the recorded ones, shape (count,), shorter notes going on falling."""
    rows = []
    for note in data.notes:
        known = np.array(note.levels_db[:count])
        more = np.arange(len(known) + 1, count + 1)
        last = float(np.mean(known[-3:]))
        rows.append(np.concatenate([known, last - data.spectrum.rolloff_db * np.log2(more / len(known))]))
    table = np.array(rows)
    place = float(np.interp(midi, data.midi, np.arange(len(data.notes))))
    low = min(int(place), max(0, len(data.notes) - 2))
    high = min(low + 1, len(data.notes) - 1)
    return np.asarray(table[low] + (place - low) * (table[high] - table[low]))


@lru_cache(maxsize=KEPT_WAVES)
def _levels_at_db(data: VoiceData, hz: float) -> FloatArray:
    """Levels of the harmonics at a pitch before any tilt, shape (harmonics,), to be read only."""
    count = int(np.clip(HIGHEST_HZ / hz, 1, MOST_PARTIALS))
    numbers = np.arange(1, count + 1)
    midi = hz_to_midi(hz)
    recorded = float(np.clip(midi, data.notes[0].midi, data.notes[-1].midi))
    levels = _recorded_levels_db(data, recorded, count)
    levels += _fall_db(data, numbers * hz) - _fall_db(data, numbers * midi_to_hz(recorded))
    levels.flags.writeable = False
    return levels


def partial_levels_db(
    data: VoiceData, hz: float, *, force: float, breath: Breath, overbend: bool = False
) -> FloatArray:
    """
    Levels of the harmonics of a held tone, decibels, shape (harmonics,); their common level means nothing.

    hz : pitch of the tone.
    force : 0 to 1.
    """
    levels = _levels_at_db(data, hz)
    rules = data.spectrum
    tilt = rules.brightness_per_force * (force - rules.recorded_force)
    tilt += rules.draw_brightness * (1.0 if breath is Breath.DRAW else -1.0)
    tilt += rules.overbend_brightness if overbend else 0.0
    return np.asarray(levels + tilt * np.log2(np.arange(1, len(levels) + 1)))


def dull_weight(data: VoiceData, dulling_db: npt.ArrayLike) -> FloatArray:
    """Weight of the bright wave, the dull one having the rest, for a tilt of so many dB an octave.

    Exact for the harmonic `WEIGHT_OCTAVES` above the fundamental; 1 for no tilt, over 1 for a brighter tone.
    """
    darkest = 10.0 ** (-data.spectrum.onset_dulling * WEIGHT_OCTAVES / 20.0)
    wanted = 10.0 ** (-np.asarray(dulling_db) * WEIGHT_OCTAVES / 20.0)
    return np.asarray((wanted - darkest) / (1.0 - darkest))


def _loudness(levels_db: FloatArray, hz: FloatArray) -> float:
    head = HEAD_DB * hz**2 / (hz**2 + HEAD_HZ**2)
    return float(np.sqrt(0.5 * np.sum(10.0 ** ((levels_db + head) / 10.0))))


def wave_table(data: VoiceData, tone: Tone, *, rate: int) -> WaveTable:
    """
    One period of a tone's wave.

    Real part: the tone held at its force. Imaginary part: the same, as dull as it starts. Both hold only
    harmonics that stay under Nyquist at the highest pitch of the contour, and are as loud as one another's
    held wave at a weighted root mean square of 1.
    """
    hz = tone.contour.hz
    middle, highest = statistics.median(hz), max(hz)
    force = round(tone.force, FORCE_DIGITS)
    return _wave_table(data, middle, highest, force, tone.breath, overbend=tone.overbend, rate=rate)


@lru_cache(maxsize=KEPT_WAVES)
def _wave_table(
    data: VoiceData,
    middle: float,
    highest: float,
    force: float,
    breath: Breath,
    *,
    overbend: bool,
    rate: int,
) -> WaveTable:
    """The wave of every tone of a middle and a highest pitch, which a phrase sounds over and over."""
    levels = partial_levels_db(data, middle, force=force, breath=breath, overbend=overbend)
    levels = levels[: max(1, int(NYQUIST_SHARE * rate / highest))]
    numbers = np.arange(1, len(levels) + 1)
    amplitudes = 10.0 ** (levels / 20.0) / _loudness(levels, numbers * middle)
    dull = amplitudes * 10.0 ** (-data.spectrum.onset_dulling * np.log2(numbers) / 20.0)
    # phases that spread the period's energy (Schroeder 1970, "Synthesis of low-peak-factor signals")
    turns = np.exp(-1j * np.pi * numbers * (numbers - 1) / len(levels))
    lines = np.zeros((2, TABLE_POINTS // 2 + 1), dtype=np.complex128)
    for line, kept in zip(lines, (amplitudes, dull), strict=True):
        line[1 : len(levels) + 1] = kept * turns * TABLE_POINTS / 2
    held, dulled = np.fft.irfft(lines)
    points = (held + 1j * dulled).astype(np.complex64)
    steps = np.diff(points, append=points[:1])
    points.flags.writeable = steps.flags.writeable = False
    return WaveTable(points, steps)
