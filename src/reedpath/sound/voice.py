"""The reed voice: tones to sound.

Each tone is a table of one period read at the phase of its pitch, in two colours (as bright as its force
asks, and as dull as a reed that only begins to speak) between which it moves, times its level; and the noise
of the breath, partly in time with the reed. The slow curves are drawn straight between their points.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from reedpath.harp import Breath
from reedpath.sound.curves import HOP, Curves, curves_of, stretch_of
from reedpath.sound.spectrum import TABLE_POINTS, wave_table
from reedpath.sound.tones import Tone
from reedpath.sound.voice_data import VoiceData, load_voice

# samples of a loop of breath noise
NOISE_SAMPLES = 1 << 16
# decibels by which the breath's noise is less at the edges of its width
NOISE_EDGE_DB = 12.0

# hops drawn at a time: a product of so little is done at once, a larger one by threads that wait for one another
DRAWN_HOPS = 512

# tones whose slow curves are reckoned together: enough for numpy, and some hundred kilobytes each
TONES_AT_ONCE = 32

Sound = npt.NDArray[np.float32]

# what a curve's value at a hop and its way to the next one add to each sample of the hop, shape (2, HOP)
_LINE = np.stack([np.ones(HOP), np.arange(HOP) / HOP]).astype(np.float32)
# what a phase at a hop, its growth a sample and that growth's way to the next hop add to it after each sample of the
# hop, shape (3, HOP): the sums of 1 and of the line
_SUMS = np.stack([np.ones(HOP), np.arange(1.0, HOP + 1), np.cumsum(np.arange(HOP) / HOP)])


def _spread(columns: npt.NDArray[np.floating], rows: npt.NDArray[np.floating]) -> npt.NDArray[np.floating]:
    """What each hop has, shape (hops, rows), spread over its samples, shape (hops * HOP,)."""
    out = np.empty((len(columns), HOP), dtype=columns.dtype)
    for start in range(0, len(columns), DRAWN_HOPS):
        np.matmul(columns[start : start + DRAWN_HOPS], rows, out=out[start : start + DRAWN_HOPS])
    return out.reshape(-1)


def _drawn(values: npt.NDArray[np.floating]) -> Sound:
    """A slow curve drawn straight between its points, one value a sample, shape (hops * HOP,)."""
    points = values.astype(np.float32)
    return np.asarray(_spread(np.stack([points[:-1], np.diff(points)], axis=1), _LINE), dtype=np.float32)


def _phases(hz: npt.NDArray[np.floating], rate: int) -> npt.NDArray[np.float64]:
    """Where in its table a wave is at each sample, in points from 0 on, shape (hops * HOP,)."""
    growth = hz * (TABLE_POINTS / rate)
    columns = np.zeros((len(growth) - 1, len(_SUMS)))
    columns[:, 1], columns[:, 2] = growth[:-1], np.diff(growth)
    columns[1:, 0] = np.cumsum(columns[:-1] @ _SUMS[:, -1]) % TABLE_POINTS
    return np.asarray(_spread(columns, _SUMS), dtype=np.float64)


@lru_cache(maxsize=16)
def _breath_noise(hz: float, width_octaves: float, rate: int) -> Sound:
    """A loop of breath noise of root mean square 1, shape (NOISE_SAMPLES,)."""
    random = np.random.default_rng(round(hz))
    lines = np.fft.rfft(random.standard_normal(NOISE_SAMPLES))
    axis = np.fft.rfftfreq(NOISE_SAMPLES, 1.0 / rate)
    octaves = np.log2(np.maximum(axis, 1.0) / hz) / width_octaves
    noise = np.fft.irfft(lines * 10.0 ** (-NOISE_EDGE_DB * octaves**2 / 20.0))
    return np.asarray(noise / noise.std(), dtype=np.float32)


def _looped(noise: Sound, start: int, count: int) -> Sound:
    if start + count <= len(noise):
        return noise[start : start + count]
    return np.resize(np.roll(noise, -start), count)


@lru_cache(maxsize=16)
def _opening(chopped: float) -> Sound:
    """How much of the breath a reed lets through at each point of its period, mean 1, shape (TABLE_POINTS,)."""
    shut = np.abs(np.arange(TABLE_POINTS) * (2.0 / TABLE_POINTS) - 1.0)
    return np.asarray(2.0 * chopped * shut + 1.0 - chopped, dtype=np.float32)


def _chopped_noise(tone: Tone, phase: npt.NDArray[np.int64], data: VoiceData, rate: int) -> Sound:
    """The breath's noise of a tone, partly in time with the reed's opening; mean power about 1."""
    numbers = data.breath
    hz = numbers.draw_hz if tone.breath is Breath.DRAW else numbers.blow_hz
    start = int(np.random.default_rng(tone.seed + 1).integers(NOISE_SAMPLES))
    opening = _opening(numbers.chopped)[phase]
    opening *= _looped(_breath_noise(hz, numbers.width_octaves, rate), start, len(phase))
    return np.asarray(opening)


def _render_tone(tone: Tone, curves: Curves, data: VoiceData, rate: int) -> Sound:
    """The sound of one tone, from the first sample of its curves on."""
    table = wave_table(data, tone, rate=rate)
    places = _phases(curves.hz, rate)
    phase = places.astype(np.int64)
    places -= phase
    part = places.astype(np.float32)
    phase &= TABLE_POINTS - 1
    wave = table.points[phase]
    wave += part * table.steps[phase]
    sound = wave.imag + _drawn(curves.bright) * (wave.real - wave.imag)
    sound *= _drawn(curves.level)
    sound += _chopped_noise(tone, phase, data, rate) * _drawn(curves.breath)
    return sound


def render_tones(
    tones: Iterable[Tone],
    *,
    seconds: float,
    start_seconds: float = 0.0,
    rate: int = 44_100,
    data: VoiceData | None = None,
) -> Sound:
    """
    The tones of a performance, dry, shape (round(seconds * rate),), float32, from a moment of it on.

    What lies before that moment or after the end is cut. The same tones give the same samples.
    """
    voice = data or load_voice()
    out = np.zeros(round(seconds * rate), dtype=np.float32)
    origin = round(start_seconds * rate)
    heard = []
    for tone in tones:
        first, count = stretch_of(tone, voice, rate=rate)
        if -count < first - origin < len(out):
            heard.append(tone)
    for start in range(0, len(heard), TONES_AT_ONCE):
        some = heard[start : start + TONES_AT_ONCE]
        for tone, curves in zip(some, curves_of(some, voice, rate=rate), strict=True):
            sound = _render_tone(tone, curves, voice, rate)
            first = curves.first_sample - origin
            begin, end = max(first, 0), min(first + len(sound), len(out))
            out[begin:end] += sound[begin - first : end - first]
    return out
