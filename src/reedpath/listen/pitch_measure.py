"""Measures: what pitch an event has, how it gets there, and how still it holds."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from reedpath.hear import HOP_SECONDS, PitchCurve
from reedpath.hear.frames import windows_of
from reedpath.hear.middles import middle_of, quantiles_of

Float64 = npt.NDArray[np.float64]

# seconds at the start and end of a note in which the neighbours sound into hear's windows (half of 64 ms)
EDGE_SECONDS = 0.03
# seconds from the start within which a reed still settles: recorded reeds start up to 60 cents flat (measured on
# the recordings of tests/support/sample_bank.py)
SETTLING_SECONDS = 0.05
# semitones of spread from which a note is taken to glide, so that its level is sought where it stays longest
GLIDES = 0.6
# semitones within which a glide has arrived; a player's notion of "there", twice the least difference that is
# heard (Hill & Summers, JASA 121, 2007: about 10 cents)
ARRIVED = 0.2
# frames that it must stay there (50 ms), so that going past is not arriving
STAYS = 5
# semitones off its level at which a note is said to start or turn somewhere else; half a category of pitch is
# about 35 cents (Hill & Summers 2007)
ELSEWHERE = 0.35
# cycles a second between which a swing of pitch is a vibrato, least cents either way, and least share of the
# pitch's variance; common practice, no source
VIBRATO_HZ, VIBRATO_CENTS, VIBRATO_SHARE = (3.5, 8.5), 8.0, 0.5
# seconds; least length for a vibrato to be told
VIBRATO_SECONDS = 0.45
# frames for which waves are kept: 5 s, and as many times that as a note lasts
LONG_FRAMES = 500


class Shape(StrEnum):
    """How a note comes to its pitch."""

    STRUCK = "struck"  # it is there at once
    FROM_ABOVE = "from above"  # it slides down to it
    FROM_BELOW = "from below"  # it is let up to it
    BEYOND = "beyond"  # it goes past it and comes back


class HeardVibrato(Struct, frozen=True):
    """A regular swing of pitch: cycles a second, and cents either way."""

    hz: float
    cents: float


@dataclass(frozen=True, slots=True)
class PitchMeasure:
    """The pitch of one event.

    midi : its level, where it stays, MIDI number with its fraction.
    start_midi, end_midi : soon after its start and just before its end.
    glide_seconds : from its start until it stays at its level. shape : how it comes there.
    unsteady_cents : standard deviation from a straight line while at its level, vibrato left out.
    vibrato : None where there is none.
    """

    midi: float
    start_midi: float
    end_midi: float
    glide_seconds: float
    shape: Shape
    unsteady_cents: float
    vibrato: HeardVibrato | None


def _longest_level(midi: Float64) -> float:
    """Median of the narrowest band that holds half of the values (the shorth; Andrews et al. 1972)."""
    ordered = np.sort(midi)
    half = max(2, (len(ordered) + 1) // 2)
    if len(ordered) <= 2:
        return middle_of(ordered)
    widths = ordered[half - 1 :] - ordered[: len(ordered) - half + 1]
    first = int(widths.argmin())
    return middle_of(ordered[first : first + half])


def _glide(midi: Float64, level: float) -> int:
    """Frames until the pitch has come to stay within reach of its level."""
    near = np.abs(midi - level) < ARRIVED
    count = max(1, min(STAYS, len(near) // 3))
    stays = windows_of(near, count).all(axis=1)
    return int(stays.argmax()) if stays.any() else 0


def _shape(midi: Float64, level: float, start: float) -> Shape:
    if start - level > ELSEWHERE:
        below = quantiles_of(midi, (0.05,))[0]
        return Shape.BEYOND if level - below > ELSEWHERE else Shape.FROM_ABOVE
    if level - start > ELSEWHERE:
        return Shape.FROM_BELOW
    return Shape.STRUCK


@lru_cache(maxsize=4)
def _waves(frames: int) -> tuple[Float64, npt.NDArray[np.complex128]]:
    """Cycles a second that a vibrato may have, and a wave of each over so many frames."""
    tried = np.arange(VIBRATO_HZ[0], VIBRATO_HZ[1], 0.2)
    return tried, np.exp(-2j * np.pi * tried[:, np.newaxis] * np.arange(frames) * HOP_SECONDS)


def _vibrato(midi: Float64) -> tuple[HeardVibrato | None, float]:
    """A vibrato, if any, and what is left of the standard deviation in cents without it."""
    count = len(midi)
    if count < 4:
        return None, 0.0
    at = np.arange(count) - (count - 1) / 2.0
    still = midi - midi.mean()
    still -= (at @ still) / (at @ at) * at
    whole = 100.0 * float(still.std())
    if count * HOP_SECONDS < VIBRATO_SECONDS or whole == 0.0:
        return None, whole
    tried, waves = _waves(LONG_FRAMES * -(-count // LONG_FRAMES))
    strength = 2.0 * np.abs(waves[:, :count] @ still) / count
    best = int(strength.argmax())
    cents = 100.0 * float(strength[best])
    share = (cents**2 / 2.0) / whole**2
    if cents < VIBRATO_CENTS or share < VIBRATO_SHARE:
        return None, whole
    return HeardVibrato(float(tried[best]), cents), whole * float(np.sqrt(max(0.0, 1.0 - share)))


def measure_pitch(curve: PitchCurve, start_seconds: float, end_seconds: float) -> PitchMeasure | None:
    """The pitch of what sounds between two times; None where nothing does."""
    edge = min(EDGE_SECONDS, 0.2 * (end_seconds - start_seconds))
    part = curve.span(start_seconds + edge, end_seconds - edge)
    midi, seconds = part.midi[part.voiced], part.seconds[part.voiced]
    if not len(midi):
        return None
    settled = midi[seconds >= start_seconds + SETTLING_SECONDS]
    steady = settled if len(settled) >= 3 else midi
    low, high = quantiles_of(steady, (0.1, 0.9))
    spread = high - low
    level = _longest_level(steady) if spread > GLIDES else middle_of(steady)
    arrived = _glide(midi, level)
    start = middle_of(midi[:3])
    held = midi[arrived:]
    held = held[np.abs(held - level) < 2 * ELSEWHERE]
    vibrato, unsteady = _vibrato(held)
    shape = _shape(midi, level, start)
    return PitchMeasure(
        midi=level,
        start_midi=start,
        end_midi=middle_of(midi[-3:]),
        glide_seconds=0.0 if shape is Shape.STRUCK else float(seconds[arrived]) - start_seconds,
        shape=shape,
        unsteady_cents=unsteady,
        vibrato=vibrato,
    )
