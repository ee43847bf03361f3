"""The sampler: one note of a sound bank as sound.

Samples are read at the pitch's speed by a cubic through four points, looped where they loop, shaped by the
zone's volume envelope (an attack straight in amplitude, a decay and a release straight in decibels), softened
by its low pass and the sweep of it, and placed left and right.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from reedpath.sound.band.soundfont import Bank, Envelope, SampleZone, points_of, zones_of

# seconds that a drum rings at most, and a released note
DRUM_SECONDS, RELEASE_SECONDS = 2.5, 1.2
# decibels: what decay and release times refer to, and where a released note is given up
ENVELOPE_DB, GIVEN_UP_DB = 100.0, 66.0
# decibels by which a velocity of v is softer than 127: this much for each tenfold (section 8.4.1)
VELOCITY_DB = 40.0
# share of a bank's attenuation that is applied: most banks were made on hardware that did so (common practice)
ATTENUATION_SHARE = 0.4
# cents that a sample is moved up or down at most; over it nothing is heard
MOST_CENTS = 12_000.0
# share of its early peak at which a note is heard to start; seconds of that early stretch; longest delay believed
HEARD_SHARE, EARLY_SECONDS, MOST_DELAY_SECONDS = 0.3, 0.1, 0.06
# share of the sampling rate over which a low pass does nothing that is heard; the lowest one, hertz
OPEN_SHARE, LOWEST_HZ = 0.42, 60.0
# octaves between the standing filters that a sweep moves through; our choice
FILTER_STEP_OCTAVES = 0.5
# seconds of fading out where a sample is cut
CUT_SECONDS = 0.008

Sound = npt.NDArray[np.float32]


class SampledNote:
    """A note's sound, shape (frames, 2), and the seconds after its start at which it is heard to begin."""

    __slots__ = ("delay_seconds", "sound")

    def __init__(self, sound: Sound, delay_seconds: float) -> None:
        self.sound = sound
        self.delay_seconds = delay_seconds


def _places(zone: SampleZone, step: float, frames: int, *, looping: bool) -> npt.NDArray[np.floating]:
    """Where in the bank's samples each frame reads, up to the sample's end."""
    places = zone.start + step * np.arange(frames)
    if looping:
        length = zone.loop_end - zone.loop_start
        late = places >= zone.loop_end
        places[late] = zone.loop_start + (places[late] - zone.loop_start) % length
        return places
    return places[: max(0, int((zone.end - 3 - zone.start) / step))]


def _cubic(samples: npt.NDArray[np.int16], places: npt.NDArray[np.floating]) -> npt.NDArray[np.floating]:
    """Samples between points by the Catmull-Rom cubic, full scale 1."""
    whole = places.astype(np.int64)
    part = places - whole
    before, here, after, later = (
        samples[np.clip(whole + shift, 0, len(samples) - 1)].astype(np.float64) / 32768.0 for shift in (-1, 0, 1, 2)
    )
    slope, far = (after - before) / 2.0, (later - here) / 2.0
    twist = 2.0 * (here - after) + slope + far
    return np.asarray(here + part * (slope + part * (3.0 * (after - here) - 2.0 * slope - far + part * twist)))


def _stages(course: Envelope, times: npt.NDArray[np.floating]) -> tuple[npt.NDArray[np.floating], ...]:
    """How far an envelope has risen, 0 to 1, and how much of its decay is over, from 0 on."""
    late = times - course.delay
    rising = np.clip(late / course.attack, 0.0, 1.0) if course.attack > 0 else (late >= 0).astype(float)
    falling = np.maximum(late - course.attack - course.hold, 0.0)
    return rising, falling / course.decay if course.decay > 0 else np.where(falling > 0, 1.0, 0.0)


def _volume(zone: SampleZone, frames: int, held_seconds: float, rate: int) -> npt.NDArray[np.floating]:
    rising, over = _stages(zone.volume, np.arange(frames) / rate)
    level_db = np.minimum(over * ENVELOPE_DB, zone.volume.sustain)
    released = np.maximum(np.arange(frames) / rate - held_seconds, 0.0)
    level_db = level_db + released / max(zone.release, CUT_SECONDS) * ENVELOPE_DB
    return np.asarray(rising * 10.0 ** (-level_db / 20.0))


def _cutoffs(zone: SampleZone, frames: int, rate: int) -> npt.NDArray[np.floating]:
    """Octaves over 1 Hz of the low pass at each frame, no higher than where it does nothing."""
    rising, over = _stages(zone.sweep, np.arange(frames) / rate)
    course = rising * np.maximum(zone.sweep.sustain, 1.0 - over)
    octaves = math.log2(zone.filter_hz or OPEN_SHARE * rate) + zone.sweep_cents / 1200.0 * course
    return np.asarray(np.clip(octaves, math.log2(LOWEST_HZ), math.log2(OPEN_SHARE * rate)))


def _softened(sound: npt.NDArray[np.floating], zone: SampleZone, rate: int) -> npt.NDArray[np.floating]:
    """The sound under its low pass. A sweep moves between standing filters half an octave or less apart."""
    if (zone.filter_hz is None and zone.sweep_cents >= 0) or not len(sound):
        return sound
    from scipy.signal import butter, sosfilt

    octaves = _cutoffs(zone, len(sound), rate)
    low, high = float(octaves.min()), float(octaves.max())
    steps = math.ceil((high - low) / FILTER_STEP_OCTAVES)
    place = (octaves - low) / max(high - low, 1e-9) * steps
    out = np.zeros_like(sound)
    for step in range(steps + 1):
        weight = np.maximum(0.0, 1.0 - np.abs(place - step))
        hz = 2.0 ** (low + (high - low) * step / max(1, steps))
        out += weight * sosfilt(butter(2, hz / (rate / 2), output="sos"), sound)
    return out


def _zone_sound(
    bank: Bank, zone: SampleZone, key: int, velocity: int, held_seconds: float, rate: int, a4_hz: float
) -> Sound:
    cents = key * 100.0 - zone.root_cents
    if zone.scale != 100.0:
        cents = (key * 100.0 - zone.root_cents) * zone.scale / 100.0
    cents = min(MOST_CENTS, max(-MOST_CENTS, cents))
    step = zone.rate / rate * math.pow(2.0, cents / 1200.0) * a4_hz / 440.0
    ringing = min(RELEASE_SECONDS, max(zone.release, CUT_SECONDS) * GIVEN_UP_DB / ENVELOPE_DB)
    frames = max(1, round((held_seconds + ringing) * rate))
    sound = _cubic(points_of(bank, zone), _places(zone, step, frames, looping=zone.loops))
    sound = _softened(sound, zone, rate) * _volume(zone, len(sound), held_seconds, rate)
    cut = min(len(sound), round(CUT_SECONDS * rate))
    if cut:
        sound[len(sound) - cut :] *= np.linspace(1.0, 0.0, cut)
    level_db = -ATTENUATION_SHARE * zone.attenuation_db + VELOCITY_DB * math.log10(velocity / 127.0)
    angle = (zone.pan + 1.0) * math.pi / 4.0
    sides = np.array([math.cos(angle), math.sin(angle)]) * 10.0 ** (level_db / 20.0)
    return np.asarray(sound[:, np.newaxis] * sides, dtype=np.float32)


def _delay_seconds(sound: Sound, rate: int) -> float:
    early = np.abs(sound[: round(EARLY_SECONDS * rate)]).max(axis=1, initial=0.0)
    if not len(early) or early.max() < 1e-6:
        return 0.0
    return min(MOST_DELAY_SECONDS, float(np.argmax(early > HEARD_SHARE * early.max())) / rate)


@lru_cache(maxsize=2048)
def sample_note(
    bank: Bank,
    program: int,
    key: int,
    velocity: int,
    held_ms: int,
    *,
    drums: bool = False,
    rate: int = 44_100,
    a4_hz: float = 440.0,
) -> SampledNote:
    """
    A note of a program of a bank, held for so many milliseconds; silence where the bank has nothing for it.

    A drum rings out whatever its length.
    """
    held_seconds = DRUM_SECONDS if drums else held_ms / 1000.0
    sounds = [
        _zone_sound(bank, zone, key, velocity, held_seconds, rate, 440.0 if drums else a4_hz)
        for zone in zones_of(bank, program, key, velocity, drums=drums)
    ]
    out = np.zeros((max((len(one) for one in sounds), default=0), 2), dtype=np.float32)
    for one in sounds:
        out[: len(one)] += one
    return SampledNote(out, _delay_seconds(out, rate))
