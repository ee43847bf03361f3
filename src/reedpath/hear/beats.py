"""Beats: when the beats of a phrase fall, found from the onsets of its notes, or given a tempo.

Candidates for the tempo are the peaks of the onsets' autocorrelation, weighed by how usual a tempo is (Ellis,
"Beat tracking by dynamic programming", J. New Music Research 36(1), 2007), and their halves and doubles. For
each, beats are laid by Ellis's dynamic programming, which follows a drifting player, and what counts is how
simple the rhythm becomes on them: how far the onsets stray from quarters and thirds of the beat (straight or
shuffled), how fine the divisions are, whether beats are empty, and whether the longer notes begin on them.
Half and double tempo are musically much alike; the usual one wins. The prices are ours, set on half of the
fiddle tunes of bench/hear_beats.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d
from scipy.signal import find_peaks

from reedpath.hear.notes import HeardNote

__all__ = ["Beats", "find_beats", "given_beats"]

Float64 = npt.NDArray[np.float64]

# seconds: step of the onset curve, and width of an onset in it (a player's usual scatter; from memory)
STEP_SECONDS, ONSET_SECONDS = 0.01, 0.02
# quarter notes a minute: what is looked for; the usual tempo of practice and its spread in octaves (from
# memory: the preferred tempo of walking and tapping)
SLOWEST_BPM, FASTEST_BPM, USUAL_BPM, SPREAD_OCTAVES = 45.0, 210.0, 95.0, 0.8
# how strongly beats are held to one distance; Ellis 2007 uses 100 on a curve of other scale
TIGHTNESS = 60.0
# peaks of the autocorrelation that are tried
PEAKS = 4
# part of a beat: how far onsets stray in playing, the laid beats' own error included; ours
STRAY = 0.08
# price of an onset at each part of a beat, played straight and shuffled; ours
STRAIGHT_PRICES = ((0.0, 0.0), (0.5, 0.5), (0.25, 1.2), (0.75, 1.0), (1 / 3, 1.4), (2 / 3, 1.2), (1.0, 0.0))
SHUFFLE_PRICES = ((0.0, 0.0), (2 / 3, 0.5), (1 / 3, 1.0), (0.5, 2.0), (1.0, 0.0))
# price, for each onset, of taking the whole for shuffled
SHUFFLE_PRICE = 0.1
# most that one onset may cost
MOST_PRICE = 4.0
# price of a beat on which nothing begins, and parts of a beat within which something is on it
EMPTY_PRICE, ON_BEAT = 0.8, 0.1
# gain, for each doubling (natural log) of the usual note's length, of the notes that begin on beats
LENGTH_GAIN = 0.45
# weight of the tempo's usualness, in the same unit, for each onset
USUALNESS_WEIGHT = 0.6


@dataclass(frozen=True, slots=True)
class Beats:
    """Beats found or given.

    seconds : when each beat falls, ascending, at least two, from before the first note to after the last.
    bpm : tempo, quarter notes a minute: 60 over the median distance of the beats.
    confidence : 0 to 1, how much better this tempo is than one that is not its half or double; 1 when given.
    """

    seconds: tuple[float, ...]
    bpm: float
    confidence: float


def given_beats(bpm: float, *, first_seconds: float, end_seconds: float) -> Beats:
    """Beats of a given tempo, one of them at ``first_seconds``, from 0 to past ``end_seconds``.

    >>> given_beats(60, first_seconds=0.5, end_seconds=1.2).seconds
    (-0.5, 0.5, 1.5)
    """
    if not bpm > 0:
        raise ValueError(f"a tempo is over 0, not {bpm}")
    period = 60.0 / bpm
    before = math.ceil(first_seconds / period)
    count = math.ceil((end_seconds - first_seconds) / period)
    return Beats(
        tuple(first_seconds + index * period for index in range(-before, max(count, 1) + 1)), float(bpm), 1.0
    )


def _gaps(onsets: Float64) -> Float64:
    """Seconds from each onset to the next; half a second after the last."""
    return np.diff(onsets, append=onsets[-1] + 0.5)


def _onset_curve(onsets: Float64, weights: Float64) -> Float64:
    curve = np.zeros(round(float(onsets[-1]) / STEP_SECONDS) + 200)
    np.add.at(curve, np.rint(onsets / STEP_SECONDS).astype(int), weights)
    return np.asarray(gaussian_filter1d(curve, ONSET_SECONDS / STEP_SECONDS))


def _usualness(period: Float64 | float) -> Float64:
    octaves = np.log2(60.0 / np.asarray(period) / USUAL_BPM) / SPREAD_OCTAVES
    return np.asarray(-0.5 * np.square(octaves))


def _periods(curve: Float64) -> list[float]:
    """Beat periods to be tried, in seconds."""
    most = round(60.0 / SLOWEST_BPM / STEP_SECONDS)
    spectrum = np.fft.rfft(curve, 2 * len(curve))
    correlation = np.fft.irfft(np.square(np.abs(spectrum)))[: most + 2]
    lags = np.arange(1, len(correlation), dtype=np.float64) * STEP_SECONDS
    weighed = np.concatenate([[0.0], correlation[1:] * np.exp(_usualness(lags))])
    peaks = find_peaks(weighed)[0]
    best = peaks[np.argsort(-weighed[peaks])[:PEAKS]]
    found: list[float] = []
    for peak in best:
        left, middle, right = weighed[peak - 1 : peak + 2]
        bend = left - 2 * middle + right
        period = (peak + (0.5 * (left - right) / bend if bend < 0 else 0.0)) * STEP_SECONDS
        for ratio in (0.5, 2 / 3, 1.0, 1.5, 2.0, 3.0):
            tried = period * ratio
            inside = 60.0 / FASTEST_BPM <= tried <= 60.0 / SLOWEST_BPM
            if inside and all(abs(math.log2(tried / other)) > 0.03 for other in found):
                found.append(tried)
    return found


def _laid(curve: Float64, period: float) -> Float64:
    """Beats about a period apart that fall on onsets, by dynamic programming (Ellis 2007)."""
    step = period / STEP_SECONDS
    near, far = max(1, round(step / 2)), round(step * 2)
    gaps = np.arange(near, far + 1)
    price = -TIGHTNESS * np.square(np.log2(gaps / step))
    scale = curve / max(float(curve.max()), 1e-9) * 10.0
    score, back = scale.copy(), np.full(len(curve), -1)
    for index in range(near, len(curve)):
        reach = gaps[: max(0, min(len(gaps), index - near + 1))]
        totals = score[index - reach] + price[: len(reach)]
        best = int(totals.argmax())
        if totals[best] > 0:
            score[index] += totals[best]
            back[index] = index - reach[best]
    last = len(curve) - round(step) + int(score[len(curve) - round(step) :].argmax())
    beats = [last]
    while back[beats[-1]] >= 0:
        beats.append(int(back[beats[-1]]))
    return np.array(beats[::-1]) * STEP_SECONDS


def _extended(beats: Float64, start: float, end: float) -> Float64:
    """The beats, with more before and after at their usual distance so that a stretch lies inside."""
    period = float(np.median(np.diff(beats)))
    before = max(0, math.ceil((beats[0] - start) / period))
    after = max(0, math.ceil((end - beats[-1]) / period))
    first = beats[0] - period * np.arange(before, 0, -1)
    last = beats[-1] + period * np.arange(1, after + 1)
    return np.concatenate([first, beats, last])


def _snapped(beats: Float64, onsets: Float64) -> Float64:
    """The beats moved half-way to the onset that falls on each, so that they follow the player."""
    nearest = onsets[np.abs(onsets - beats[:, np.newaxis]).argmin(axis=1)]
    off = nearest - beats
    return beats + np.where(np.abs(off) < 2 * ONSET_SECONDS, 0.5 * off, 0.0)


def _rhythm_price(beats: Float64, onsets: Float64) -> float:
    """How involved the rhythm of the onsets is on these beats, for each onset."""
    place = np.interp(onsets, beats, np.arange(len(beats)))
    part = place - np.floor(place)
    ways = []
    for prices, more in ((STRAIGHT_PRICES, 0.0), (SHUFFLE_PRICES, SHUFFLE_PRICE)):
        costs = [np.square((part - at) / STRAY) / 2 + price for at, price in prices]
        ways.append(float(np.minimum(np.min(costs, axis=0), MOST_PRICE).mean()) + more)
    on_beat = np.abs(place - np.rint(place)) < ON_BEAT
    met = set(np.rint(place[on_beat]).astype(int))
    empty = max(0.0, float(place[-1] - place[0]) + 1.0 - len(met))
    gaps = _gaps(onsets)
    longer = float(np.log(gaps[on_beat] / np.median(gaps)).mean()) if on_beat.any() else 0.0
    return min(ways) + EMPTY_PRICE * empty / len(onsets) - LENGTH_GAIN * longer


def find_beats(notes: Sequence[HeardNote]) -> Beats | None:
    """The beats of some notes; None for fewer than four onsets, from which no beat can be told."""
    onsets = np.array(sorted({round(note.start_seconds, 3) for note in notes}))
    if len(onsets) < 4:
        return None
    curve = _onset_curve(onsets, np.sqrt(np.clip(_gaps(onsets), 0.05, 1.0)))
    end = max(note.end_seconds for note in notes)
    tried: list[tuple[float, Float64]] = []
    for period in _periods(curve):
        laid = _laid(curve, period)
        if len(laid) < 2:
            continue
        beats = _extended(_snapped(laid, onsets), float(onsets[0]), end)
        median = float(np.median(np.diff(beats)))
        price = _rhythm_price(beats, onsets) - USUALNESS_WEIGHT * float(_usualness(median))
        tried.append((price, beats))
    if not tried:
        return None
    price, beats = min(tried, key=lambda pair: pair[0])
    period = float(np.median(np.diff(beats)))
    return Beats(tuple(float(beat) for beat in beats), 60.0 / period, _confidence(price, period, tried))


def _confidence(price: float, period: float, tried: list[tuple[float, Float64]]) -> float:
    others = [
        other
        for other, beats in tried
        if abs((math.log2(float(np.median(np.diff(beats))) / period) + 0.5) % 1.0 - 0.5) > 0.05
    ]
    return float(1.0 - math.exp(-2.0 * max(0.0, min(others) - price))) if others else 0.5
