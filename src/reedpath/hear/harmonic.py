"""Harmonic pairs: whether a second note sounds over another, though its partials may all fall on the other's.

An octave, a twelfth or a fifteenth over a note adds no partial of its own. What it does change:

    the partials that both have (every second, third or fourth) stand out against their neighbours
    they are a little off the series of the others, since no two reeds or strings agree
    they beat, or fade at another pace
    all of this against what the same instrument's notes near by do when they are alone, where that is known

The log odds are a weighted sum of these clues, a logistic regression fitted by bench/hear_octaves.py on the
development half of the glued notes; the numbers are in harmonic.toml. At any other interval the upper note has
partials to itself, and the clues are how many of them are there and how loud.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import Float32
from reedpath.hear.observing import Observations
from reedpath.hear.partials import PARTIALS_HOP_SECONDS
from reedpath.hear.weights import Weight, read_weights

Float64 = npt.NDArray[np.float64]

# semitones at which all partials of the upper note fall on every second, third or fourth of the lower
PARTINGS = {12: 2, 19: 3, 24: 4}
# semitones by which an interval may miss one of these and be meant
MISS_SEMITONES = 0.5
# partials looked at, and hertz over which a missing one says nothing
HARMONICS, TOP_HZ = 16, 4800.0
# decibels under the loudest partial at which one is taken that is not there
FLOOR_DB = -50.0
# cents by which a partial may miss its place, and how many more for each harmonic
MISS_CENTS, MISS_CENTS_EACH = 20.0, 0.5
# decibels by which a shared partial may stand out or sink at most; in tens of decibels from here on
STANDS_OUT_DB = (-20.0, 30.0)
# cents of mistuning that count, and at all; decibels of movement that count
MOST_CENTS, SOME_CENTS, MOVING_DB = 15.0, 4.0, (-3.0, 6.0)
# seconds from a strike, and before its end, between which its partials are taken
AFTER_STRIKE, BEFORE_END = 0.06, 0.05
# semitones within which another note says what an instrument does there
NEAR_SEMITONES = 3.0

_NUMBERS = np.arange(1, HARMONICS + 1)


class SharedWeights(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Log odds for each clue, where the lower note has all partials of the upper: the columns of `clue_row`."""

    always: Weight
    first_shared: Weight
    second_shared: Weight
    third_shared: Weight
    shared: Weight
    hollow_shared: Weight
    loudest_shared: Weight
    mistuned: Weight
    mistuned_at_all: Weight
    moving: Weight
    slope: Weight
    first_against_alone: Weight
    second_against_alone: Weight
    third_against_alone: Weight
    shared_against_alone: Weight
    least_against_alone: Weight
    known_alone: Weight


class ApartWeights(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Log odds for each clue at any other interval, in the order of `apart_row`."""

    always: Weight
    found: Weight
    first_found: Weight
    level: Weight
    share: Weight
    loudest: Weight


class _HarmonicFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    above_12: SharedWeights
    above_19: SharedWeights
    above_24: SharedWeights
    apart: ApartWeights


CLUE_NAMES, APART_NAMES = SharedWeights.__struct_fields__, ApartWeights.__struct_fields__


def partials_between(seen: Observations, start: float, end: float) -> tuple[Float32, Float32]:
    """Hertz and magnitudes of the partials of a note, shape (windows, partials); none where it is too short.

    Parameters
    ----------
    seen : observed with ``chords=True``. start, end : seconds, of the note.
    """
    if seen.partials is None:
        raise ValueError("notes together need what observe(sound, chords=True) saw")
    centres = np.arange(len(seen.partials.hz)) * PARTIALS_HOP_SECONDS
    rows = np.flatnonzero((centres >= start + AFTER_STRIKE) & (centres <= end - BEFORE_END))
    return seen.partials.hz[rows], seen.partials.magnitude[rows]


def on_harmonics(hz: Float32, magnitude: Float32, pitch_hz: float) -> tuple[Float64, Float64]:
    """Decibels under the loudest, and cents off (NaN if absent), of each harmonic: shape (windows, `HARMONICS`)."""
    cents = 1200.0 * np.log2(np.maximum(hz[:, :, np.newaxis] / (pitch_hz * _NUMBERS), 1e-6))
    on = np.abs(cents) < MISS_CENTS + MISS_CENTS_EACH * _NUMBERS
    heights = np.where(on, magnitude[:, :, np.newaxis], 0.0)
    best = heights.argmax(axis=1)
    top = heights.max(axis=1)
    level = 20.0 * np.log10(np.maximum(top / max(float(magnitude.max()), 1e-12), 10.0 ** (FLOOR_DB / 20.0)))
    off = np.take_along_axis(cents, best[:, np.newaxis, :], axis=1)[:, 0, :]
    return level, np.where(top > 0, off, np.nan)


def _weighted_cents(off: Float64, level: Float64, which: npt.NDArray[np.bool_]) -> float:
    weights = np.where(np.isfinite(off) & which, 10.0 ** (level / 40.0), 0.0)
    total = float(weights.sum())
    return float((weights * np.nan_to_num(off)).sum()) / total if total > 0 else float("nan")


def _shared_clues(hz: Float32, magnitude: Float32, lower_midi: float, part: int) -> Float64:
    """The first eleven clues, for an upper note on every second, third or fourth partial."""
    pitch_hz = 440.0 * 2.0 ** ((lower_midi - 69.0) / 12.0)
    clues = np.zeros(11)
    clues[0] = 1.0
    if not len(hz):
        return clues
    level, off = on_harmonics(hz, magnitude, pitch_hz)
    mean, inside = level.mean(axis=0), pitch_hz * _NUMBERS < TOP_HZ
    shared = _NUMBERS % part == 0
    for place in range(3):
        number = part * (place + 1)
        if number <= HARMONICS and inside[number - 1]:
            beside = [mean[n - 1] for n in (number - 1, number + 1) if n <= HARMONICS and inside[n - 1]]
            clues[1 + place] = np.clip(mean[number - 1] - np.mean(beside), *STANDS_OUT_DB) / 10.0
    clues[4] = clues[1:4].mean()
    clues[5], clues[6] = min(clues[4], 0.0), clues[1:4].max()
    apart = _weighted_cents(off, level, shared & inside) - _weighted_cents(off, level, ~shared & inside)
    if np.isfinite(apart):
        clues[7], clues[8] = min(abs(apart), MOST_CENTS) / 10.0, min(abs(apart), SOME_CENTS) / 10.0
    steady = np.isfinite(off).all(axis=0) & inside
    moves = level.std(axis=0)
    if len(level) > 2 and (steady & shared).any() and (steady & ~shared).any():
        more = np.median(moves[steady & shared]) - np.median(moves[steady & ~shared])
        clues[9] = np.clip(more, *MOVING_DB) / 3.0
    low = mean[:6][inside[:6]]
    clues[10] = np.polyfit(np.arange(len(low)), low, 1)[0] / 10.0 if len(low) > 2 else 0.0
    return clues


def clue_row(
    hz: Float32,
    magnitude: Float32,
    lower_midi: float,
    part: int,
    alone: Sequence[tuple[Float32, Float32, float]] = (),
) -> Float64:
    """The clues of `CLUE_NAMES` for an upper note on every second, third or fourth partial of a lower one.

    Parameters
    ----------
    hz, magnitude : the partials, as `partials_between` gives them. part : 2 for an octave, 3 for a twelfth.
    alone : the same of notes known to be alone, each with its MIDI number.
    """
    own = _shared_clues(hz, magnitude, lower_midi, part)
    weights = np.array([np.exp(-(((midi - lower_midi) / NEAR_SEMITONES) ** 2)) for *_, midi in alone])
    known = min(float(weights.sum()), 1.0) if len(weights) else 0.0
    if known < 1e-3:
        return np.concatenate([own, np.zeros(6)])
    others = np.array([_shared_clues(*other, part)[1:5] for other in alone])
    against = (own[1:5] - weights @ others / weights.sum()) * known
    return np.concatenate([own, against, [against[:2].min(), known]])


def apart_row(hz: Float32, magnitude: Float32, lower_midi: float, upper_midi: float) -> Float64:
    """The clues of `APART_NAMES`: what the upper note has to itself."""
    clues = np.zeros(len(APART_NAMES))
    clues[0] = 1.0
    if not len(hz):
        return clues
    lower_hz, upper_hz = (440.0 * 2.0 ** ((midi - 69.0) / 12.0) for midi in (lower_midi, upper_midi))
    level, off = on_harmonics(hz, magnitude, upper_hz)
    ratio = _NUMBERS * upper_hz / lower_hz
    number = np.maximum(np.rint(ratio), 1.0)
    shared = 1200.0 * np.abs(np.log2(ratio / number)) < 2.0 * (MISS_CENTS + MISS_CENTS_EACH * number)
    own = np.flatnonzero(~shared & (upper_hz * _NUMBERS < TOP_HZ))[:4]
    if not len(own):
        return clues
    mean, there = level.mean(axis=0)[own], np.isfinite(off).mean(axis=0)[own]
    lower_level = on_harmonics(hz, magnitude, lower_hz)[0].mean(axis=0)
    power = (10.0 ** (mean / 20.0)).sum()
    clues[1:] = (
        there.mean(),
        there[0],
        mean.mean() / 10.0,
        power / (power + (10.0 ** (lower_level / 20.0)).sum()),
        mean.max() / 10.0,
    )
    return clues


def _weights(table: str) -> Float64:
    return read_weights("harmonic.toml", _HarmonicFile, table=table)


def pair_log_odds(
    seen: Observations,
    span: tuple[float, float],
    lower_midi: float,
    upper_midi: float,
    *,
    alone: Sequence[tuple[float, float, float]] = (),
) -> float:
    """Log odds that an upper note sounds with a lower one that is there, other things equal; positive for a pair.

    Parameters
    ----------
    seen : observed with ``chords=True``. span : seconds, start and end of the two.
    alone : start, end and MIDI number of notes of the same recording that are known to be alone: what the
        instrument's single notes look like makes an octave plainer.
    """
    hz, magnitude = partials_between(seen, *span)
    for semitones, part in PARTINGS.items():
        if abs(upper_midi - lower_midi - semitones) < MISS_SEMITONES:
            near = [one for one in alone if abs(one[2] - lower_midi) < 2.5 * NEAR_SEMITONES]
            others = [(*partials_between(seen, start, end), midi) for start, end, midi in near]
            return float(clue_row(hz, magnitude, lower_midi, part, others) @ _weights(f"above_{semitones}"))
    return float(apart_row(hz, magnitude, lower_midi, upper_midi) @ _weights("apart"))
