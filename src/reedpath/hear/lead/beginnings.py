"""Beginnings: the log odds of each frame of a followed lead that a note of it begins there, drums or no drums.

A drum raises everything; a note of the lead raises its own harmonics, shifts their phases and takes away those of
the note before. So the clues are taken at the harmonics of the pitch after the moment and of the one before it:
their levels over time and those between them, in long and short windows; how far their phases stray across the
moment from what their frequencies let expect (Bello and others, "On the use of phase and energy for musical onset
detection in the complex domain", IEEE Signal Processing Letters 11(6), 2004); how the pitch moves; and the attack
of the whole.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import numpy.typing as npt

from reedpath.hear.attacks import AttackFinder
from reedpath.hear.frames import HOP, RATE, Float32
from reedpath.hear.lead.candidates import BIN_HZ, HarmonicBins, Whereabouts, masked
from reedpath.hear.lead.following import FollowedLead
from reedpath.hear.lead.networks import network
from reedpath.hear.lead.stereo import StereoFrames, frame_count, pieces_of, short_frames

Float64 = npt.NDArray[np.float64]
Intp = npt.NDArray[np.intp]

# frames round a moment at which levels are taken, and at which the attack is (half frames)
AROUND, ATTACK_AROUND = np.arange(-6, 7), range(-6, 8)
# frames after and before a moment over which its pitches are taken
AFTER = (1, 2, 3, 4, 5)
# frames round the course in which notes may begin (100 ms)
REACH = 10
# harmonics whose phases are followed, frames before and after the moment, semitones in share that a partial may stray
PHASE_HARMONICS, PHASE_REACH, PARTIAL_SHARE = 6, 3, 0.03
# log odds where nothing is looked at
NONE = -12.0


def _attacks(array: Float32, pass_hz: float, half_frames: int) -> Float64:
    """Strength of the attack of what lies over a frequency, every half frame."""
    from scipy.signal import butter, sosfilt

    high = sosfilt(butter(2, pass_hz, "highpass", fs=RATE, output="sos"), array.mean(axis=1)).astype(np.float32)
    finder = AttackFinder()
    for start in range(0, len(high), 10 * RATE):
        finder.feed(high[start : start + 10 * RATE])
    strength = finder.finish()[0].astype(np.float64)
    return np.pad(strength, (0, max(0, half_frames - len(strength))))


def _carried(midi: Float64) -> tuple[Float64, Float64, Intp, Intp]:
    """The course with the next pitch in each rest, and with the one before; frames to the next and since the one."""
    sounds, places = ~np.isnan(midi), np.arange(len(midi))
    following = np.minimum.accumulate(np.where(sounds, places, len(midi) - 1)[::-1])[::-1]
    past = np.maximum.accumulate(np.where(sounds, places, 0))
    return midi[following], midi[past], following - places, places - past


def _levels(magnitudes: Float32, rows: Intp, bins: HarmonicBins) -> tuple[Float64, Float64]:
    """Levels, in tens of decibels, of harmonics over what lies between them, and of that; shape (moments, around)."""
    frames, at, between = rows[:, :, np.newaxis], bins.at[:, np.newaxis], bins.between[:, np.newaxis]
    peaks = np.maximum(np.maximum(magnitudes[frames, at - 1], magnitudes[frames, at]), magnitudes[frames, at + 1])
    valleys = magnitudes[frames, between]
    weights = bins.counts[:, np.newaxis] / bins.numbers**0.3
    total = weights.sum(axis=-1) + 1e-9
    own = (np.sqrt(np.maximum(peaks - valleys, 0.0)) * weights).sum(axis=-1) / total
    rest = (np.sqrt(valleys) * weights).sum(axis=-1) / total
    return 4.0 * np.log10(own + 1e-3), 4.0 * np.log10(rest + 1e-3)


class _Partials:
    """The partials of some pitches, one for each moment: their spectra and exact frequencies in any frame."""

    def __init__(self, seen: StereoFrames, midi: Float64, pass_hz: float) -> None:
        self.seen = seen
        self.bins = HarmonicBins(midi, pass_hz, count=PHASE_HARMONICS, share=0.8)
        self.expected = self.bins.hz * self.bins.numbers

    def frames(self, moments: Intp) -> Intp:
        """The moments, held inside the piece."""
        return np.clip(moments, 0, len(self.seen) - 1)

    def at(self, moments: Intp) -> tuple[npt.NDArray[np.complexfloating], Float64, Float64]:
        """Spectrum, frequency in hertz and magnitude of each partial."""
        rows = self.frames(moments)[:, np.newaxis]
        plain, sloped = self.seen.middle.plain[rows, self.bins.at], self.seen.middle.sloped[rows, self.bins.at]
        magnitude = np.abs(plain).astype(np.float64)
        turn = (sloped * np.conj(plain)).imag / (np.square(magnitude) + 1e-12)
        hz = self.bins.at * BIN_HZ - turn * RATE / (2 * np.pi)
        return plain, np.where(np.abs(hz / self.expected - 1.0) < PARTIAL_SHARE, hz, self.expected), magnitude


def _strayed(partials: _Partials, moments: Intp) -> tuple[Float64, Float64]:
    """How far phases stray across moments, 0 to 2, and how much the frequencies differ from before to after."""
    before = np.median([partials.at(moments - PHASE_REACH - more)[1] for more in (0, 1, 2)], axis=0)
    after = np.median([partials.at(moments + PHASE_REACH + more)[1] for more in (0, 1, 2)], axis=0)
    first, _, loud_first = partials.at(moments - PHASE_REACH)
    last, _, loud_last = partials.at(moments + PHASE_REACH)
    seconds = partials.frames(moments + PHASE_REACH) - partials.frames(moments - PHASE_REACH)
    turns = (before + after) / 2 * (seconds[:, np.newaxis] * HOP / RATE)
    off = np.angle(last * np.conj(first) * np.exp(-2j * np.pi * turns))
    weights = partials.bins.counts * np.sqrt(np.minimum(loud_first, loud_last) + 1e-9)
    total = weights.sum(axis=1) + 1e-9
    moved = np.abs(before - after) / partials.expected * 100.0
    return ((1.0 - np.cos(off)) * weights).sum(axis=1) / total, np.clip((moved * weights).sum(axis=1) / total, 0, 3)


def _phases(partials: _Partials, moments: Intp) -> Float64:
    strayed = [_strayed(partials, moments + shift) for shift in (-2, 0, 2)]
    columns = [strayed[0][0], strayed[1][0], strayed[1][1], strayed[2][0]]
    for shift in (-3, -1, 0, 1, 3):
        _, hz, magnitude = partials.at(moments + shift)
        weights = partials.bins.counts * np.sqrt(magnitude + 1e-9)
        total = weights.sum(axis=1) + 1e-9
        own = hz / partials.bins.numbers
        middle = (own * weights).sum(axis=1) / total
        spread = np.sqrt((weights * np.square(own - middle[:, np.newaxis])).sum(axis=1) / total)
        columns.append(np.clip(spread / partials.bins.hz[:, 0] * 500.0, 0.0, 5.0))
    return np.stack(columns, axis=1)


def _pitches(lead: FollowedLead, moments: Intp) -> tuple[Float64, Float64, Float64]:
    """The pitch after each moment, the one before it, and clues of how the course moves there."""
    last = len(lead.midi) - 1
    ahead, past, until, since = _carried(lead.midi)

    def around(values: npt.NDArray[Any], shifts: Iterable[int]) -> npt.NDArray[Any]:
        return np.stack([values[np.clip(moments + shift, 0, last)] for shift in shifts], axis=1)

    after = np.median(around(ahead, AFTER), axis=1)
    before = np.median(around(past, [-one for one in AFTER]), axis=1)
    none_after, none_before = np.isnan(after), np.isnan(before)
    after = np.where(none_after, np.where(none_before, 69.0, before), after)
    before = np.where(none_before, after, before)
    step = np.clip(np.abs(after - before), 0.0, 3.0)
    near = around(np.where(np.isnan(lead.midi), ahead, lead.midi), range(-4, 5))
    near = np.where(np.isnan(near), after[:, np.newaxis], near)
    moves = np.clip(np.abs(np.diff(near, axis=1)), 0.0, 1.5)
    told = np.stack(
        [
            step,
            np.minimum(step, 0.7),
            np.clip(around(since, [-1])[:, 0], 0, 12) / 12.0,
            np.clip(around(until, [1])[:, 0], 0, 12) / 12.0,
            none_after,
            none_before,
            np.clip(around(since, [0])[:, 0], 0, 3) / 3.0,
        ],
        axis=1,
    )
    strength = around(lead.strength, (-4, -2, 0, 2, 4, 6))
    return after, before, np.concatenate([told, moves, strength], axis=1)


def _level_clues(
    seen: StereoFrames,
    short: tuple[Float32, Float32],
    where: Whereabouts,
    rows: Intp,
    after: Float64,
    before: Float64,
) -> list[Float64]:
    both = np.sqrt((np.square(seen.left) + np.square(seen.right)) / 2).astype(np.float32)
    clues = []
    for magnitudes, place in (short, (both, seen.place)):
        heard = masked(magnitudes, place, where)
        own, rest = _levels(heard, rows, HarmonicBins(after, where.pass_hz))
        old, _ = _levels(heard, rows, HarmonicBins(before, where.pass_hz))
        reached, left = own[:, 6:].max(axis=1, keepdims=True), old[:, :7].max(axis=1, keepdims=True)
        clues += [
            np.clip(own - reached, -2.5, 0.5),
            np.clip(old - left, -2.5, 0.5),
            np.clip(rest - reached, -2.5, 1.0),
        ]
    return clues


def beginning_clues(array: Float32, lead: FollowedLead) -> tuple[Intp, Float32]:
    """The frames in which a note of the lead may begin, and the clues of each, shape (frames, clues)."""
    from scipy.ndimage import maximum_filter1d

    total = frame_count(array)
    looked_at = maximum_filter1d(lead.voiced, 2 * REACH + 1)
    attack = np.log(_attacks(array, lead.where.pass_hz, 2 * total + 2) + 0.004) - np.log(0.01)
    frames, rows = [np.zeros(0, dtype=np.intp)], []
    for whole, part, seen in pieces_of(array):
        moments = np.flatnonzero(looked_at[whole]) + whole.start
        if not len(moments):
            continue
        inside = moments - whole.start + part.start
        after, before, course = _pitches(lead, moments)
        around = np.clip(inside[:, np.newaxis] + AROUND, 0, len(seen) - 1)
        short = short_frames(array, whole.start - part.start, len(seen))
        levels = _level_clues(seen, short, lead.where, around, after, before)
        attacks = np.stack([attack[np.clip(2 * moments + by, 0, len(attack) - 1)] for by in ATTACK_AROUND], axis=1)
        phases = _phases(_Partials(seen, after, lead.where.pass_hz), inside)
        frames.append(moments)
        rows.append(np.concatenate([*levels, attacks, course, phases], axis=1).astype(np.float32))
    return np.concatenate(frames), np.concatenate(rows) if rows else np.zeros((0, 0), dtype=np.float32)


def beginnings_of(array: Float32, lead: FollowedLead) -> Float64:
    """Log odds of each frame that a note of the lead begins in it, a moment's own and its neighbours' mean."""
    from scipy.ndimage import uniform_filter1d

    odds = np.full(len(lead.midi), NONE)
    frames, clues = beginning_clues(array, lead)
    if len(frames):
        odds[frames] = network("beginnings").log_odds(clues)
    return np.asarray(uniform_filter1d(odds, 3))
