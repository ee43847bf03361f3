"""Octaves on two strings: whether a plucked note sounds with its octave, or alone.

All partials of the octave fall on the even ones of the lower note, so nothing new is there to be seen. But no two
strings agree in stiffness, tuning and decay:

    the even partials stand out against the odd ones beside them
    they lie off the line that the odd ones keep: the nth of a stiff string is sharp, f = n f0 sqrt(1 + B n²)
      (Fletcher and Rossing, The Physics of Musical Instruments, chapter 2)
    two tones that lie close beat: what the even partials sound like changes in level and pitch, beyond a steady decay
    and they fade at paces of their own

The log odds are a weighted sum of these clues, a logistic regression fitted by bench/hear_string_octaves.py on notes
of guitars of six banks; the numbers are in string_octaves.toml. `harmonic` asks the same of any instrument, and of
twelfths and fifteenths too.
"""

from __future__ import annotations

from dataclasses import dataclass

import msgspec
import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import Float32
from reedpath.hear.harmonic import HARMONICS, TOP_HZ, on_harmonics
from reedpath.hear.partials import PARTIALS_HOP_SECONDS
from reedpath.hear.weights import Weight, read_weights

Float64 = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

_NUMBERS = np.arange(1, HARMONICS + 1)
_EVEN = _NUMBERS % 2 == 0
# partials by which a pitch is measured, and cents by which it may be off
MEASURED_BY, PITCH_OFF_CENTS = np.array([1, 3, 5]), 45.0
# share of the windows that a partial must be in, and decibels under the loudest, to count
LEAST_SHARE, LEAST_DB = 0.6, -45.0
# windows in which a partial's course can be told
COURSE_WINDOWS = 4
# cents that the nth partial of a string is sharp, over n squared, at most: those of a guitar's stiffest notes
STIFFEST = 0.6
# what counts of each clue at most, and what is one of it: decibels by which even partials stand out, cents off the
# line, decibels and cents of movement, decibels a second by which paces of decay differ; with the weights
STANDS_OUT_DB, LEAST_STANDS_OUT_DB = (-20.0, 30.0), (-25.0, 20.0)
OFF_LINE_CENTS, FARTHER_CENTS, TYPICALLY_FARTHER_CENTS = 4.0, 10.0, 8.0
RESTLESS_DB, WAVER_LOG, PACES_DB = 4.0, 2.0, 30.0
# cents under which wavering is none
LEAST_WAVER_CENTS = 0.1


class StringOctaveWeights(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Log odds for each clue, in the order of `string_clues`.

    found : the two pitches explain the spectrum better than the lower one.
    fourth, sixth, eighth : how far that partial stands out against its neighbours, tens of decibels.
    least : how far the one of second, fourth and sixth that stands out least does, against the louder neighbour.
    off_line : how far the even partials lie off the line through the odd ones, of four cents.
    farther, typically_farther : how much farther than the odd ones do, by weighted means and by medians.
    restless : how much more their levels stray from a steady decay, of two decibels.
    wavering : the same of their frequencies, log ratio.
    paces : how much more their paces of decay differ among themselves, of twenty decibels a second.
    """

    always: Weight
    found: Weight
    fourth: Weight
    sixth: Weight
    eighth: Weight
    least: Weight
    off_line: Weight
    farther: Weight
    typically_farther: Weight
    restless: Weight
    wavering: Weight
    paces: Weight


STRING_CLUES = StringOctaveWeights.__struct_fields__


@dataclass(frozen=True, slots=True, eq=False)
class _PartialCourses:
    """The partials of a note over its windows, one value each, NaN where they cannot be told.

    level : decibels under the loudest. inside : whether it lies where a missing one tells something. there : whether
    it is there most of the time. cents : off its multiple of the pitch. restless : decibels off a steady decay.
    pace : decibels a second. waver : cents off a steady drift, times its number.
    """

    level: Float64
    inside: Bools
    there: Bools
    cents: Float64
    restless: Float64
    pace: Float64
    waver: Float64


def _measured_hz(hz: Float32, magnitude: Float32, pitch_hz: float) -> float:
    """Hertz of a pitch by its low odd partials: their median, the loud counting more."""
    cents = 1200.0 * np.log2(np.maximum(hz[:, :, np.newaxis] / (pitch_hz * MEASURED_BY), 1e-6))
    heights = np.where(np.abs(cents) < PITCH_OFF_CENTS, magnitude[:, :, np.newaxis], 0.0)
    best = np.take_along_axis(cents, heights.argmax(axis=1)[:, np.newaxis, :], axis=1)[:, 0, :].ravel()
    weights = np.sqrt(heights.max(axis=1)).ravel()
    if not weights.any():
        return pitch_hz
    order = np.argsort(best)
    summed = np.cumsum(weights[order])
    return float(pitch_hz * 2.0 ** (best[order][np.searchsorted(summed, summed[-1] / 2.0)] / 1200.0))


def _line_and_rest(values: Float64, seconds: Float64) -> tuple[float, float]:
    """Slope of the line through values over time, and the standard deviation from it."""
    from_middle = seconds - seconds.mean()
    slope = float(from_middle @ values / (from_middle @ from_middle))
    return slope, float((values - values.mean() - slope * from_middle).std())


def _courses(hz: Float32, magnitude: Float32, midi: float) -> _PartialCourses:
    pitch_hz = _measured_hz(hz, magnitude, 440.0 * 2.0 ** ((midi - 69.0) / 12.0))
    level, off = on_harmonics(hz, magnitude, pitch_hz)
    seconds = np.arange(len(level), dtype=np.float64) * PARTIALS_HOP_SECONDS
    found = np.isfinite(off)
    inside = pitch_hz * _NUMBERS < TOP_HZ
    there = inside & (found.mean(axis=0) > LEAST_SHARE) & (level.mean(axis=0) > LEAST_DB)
    cents, restless, pace, waver = (np.full(HARMONICS, np.nan) for _ in range(4))
    for place in np.flatnonzero(there):
        windows = found[:, place]
        cents[place] = np.median(off[windows, place])
        if windows.sum() >= COURSE_WINDOWS:
            pace[place], restless[place] = _line_and_rest(level[windows, place], seconds[windows])
            waver[place] = _line_and_rest(off[windows, place], seconds[windows])[1] * _NUMBERS[place]
    return _PartialCourses(level.mean(axis=0), inside, there, cents, restless, pace, waver)


def _standing_out(courses: _PartialCourses) -> list[float]:
    """The clues of level: of the fourth, sixth and eighth partial, and of the least."""
    level, inside = courses.level, courses.inside
    mean, most = [], []
    for number in (2, 4, 6, 8):
        beside = [level[other - 1] for other in (number - 1, number + 1) if inside[other - 1]]
        if not inside[number - 1]:
            mean.append(0.0)
            continue
        mean.append(float(np.clip(level[number - 1] - np.mean(beside), *STANDS_OUT_DB)) / 10.0)
        most.append(float(level[number - 1] - max(beside)))
    least = float(np.clip(min(most[:3]), *LEAST_STANDS_OUT_DB)) / 10.0 if most else 0.0
    return [*mean[1:], least]


def _off_the_line(courses: _PartialCourses) -> list[float]:
    """The clues of frequency: how far the even partials lie off a stiff string's line through the odd ones."""
    even, odd = courses.there & _EVEN, courses.there & ~_EVEN
    if not even.any() or not odd.any():
        return [0.0, 0.0, 0.0]
    # over n times f0 by a constant and, for small B, by n squared, in cents
    square, weights = _NUMBERS**2.0, 10.0 ** (courses.level / 40.0)
    stiff = 0.0
    if odd.sum() > 2:
        columns = np.stack([np.ones(int(odd.sum())), square[odd]], axis=1) * weights[odd, np.newaxis]
        fitted = np.linalg.lstsq(columns, courses.cents[odd] * weights[odd], rcond=None)[0]
        stiff = float(np.clip(fitted[1], 0.0, STIFFEST))
    straight = courses.cents - stiff * square
    straight -= np.average(straight[odd], weights=weights[odd] ** 2)
    away = abs(float(np.average(straight[even], weights=weights[even])))
    usual = float(np.sqrt(np.average(straight[odd] ** 2, weights=weights[odd])))
    typical = float(np.median(np.abs(straight[even])) - np.median(np.abs(straight[odd])))
    return [
        min(away, OFF_LINE_CENTS) / OFF_LINE_CENTS,
        float(np.clip((away - usual) / FARTHER_CENTS, -1.0, 1.0)),
        float(np.clip(typical / TYPICALLY_FARTHER_CENTS, -1.0, 1.0)),
    ]


def _told(values: Float64) -> Float64:
    return values[np.isfinite(values)]


def _moving(courses: _PartialCourses) -> list[float]:
    """The clues of movement: how much more the even partials change than the odd ones."""
    clues = [0.0, 0.0, 0.0]
    even, odd = _told(courses.restless[_EVEN]), _told(courses.restless[~_EVEN])
    if not len(even) or not len(odd):
        return clues
    clues[0] = 2.0 * float(np.clip((np.median(even) - np.median(odd)) / RESTLESS_DB, -1.0, 1.0))
    above, below = (np.median(_told(courses.waver[which])) for which in (_EVEN, ~_EVEN))
    ratio = np.log((above + LEAST_WAVER_CENTS) / (below + LEAST_WAVER_CENTS))
    clues[1] = float(np.clip(ratio, -WAVER_LOG, WAVER_LOG))
    if len(even) > 1 and len(odd) > 1:
        apart = _told(courses.pace[_EVEN]).std() - _told(courses.pace[~_EVEN]).std()
        clues[2] = 1.5 * float(np.clip(apart / PACES_DB, -1.0, 1.0))
    return clues


def string_clues(hz: Float32, magnitude: Float32, midi: float, *, found: bool) -> Float64:
    """The clues of `STRING_CLUES` for the octave of a plucked note.

    Parameters
    ----------
    hz, magnitude : its partials, as `reedpath.hear.harmonic.partials_between` gives them.
    midi : MIDI number of the lower note.
    found : whether the two pitches explain the spectrum better than the lower one alone.
    """
    always = [1.0, float(found)]
    if not len(hz) or not magnitude.any():
        return np.array([*always, *[0.0] * (len(STRING_CLUES) - 2)])
    courses = _courses(hz, magnitude, midi)
    return np.array([*always, *_standing_out(courses), *_off_the_line(courses), *_moving(courses)])


def string_octave_log_odds(hz: Float32, magnitude: Float32, midi: float, *, found: bool) -> float:
    """Log odds, other things equal, that the octave of a plucked note sounds with it; as `string_clues`."""
    weights = read_weights("string_octaves.toml", StringOctaveWeights)
    return float(string_clues(hz, magnitude, midi, found=found) @ weights)
