"""Beats: when the beats of a phrase fall, found from the onsets of its notes, or given a tempo.

Candidates for the tempo are the peaks of the onsets' autocorrelation, weighed by how usual a tempo is (Ellis,
"Beat tracking by dynamic programming", J. New Music Research 36(1), 2007), and simple multiples of them. For
each, beats are laid by Ellis's dynamic programming, which follows a drifting player, and clues are taken: how
many notes begin on beats, halves, quarters and shuffled halves, whether beats are empty, whether the longer
notes begin on beats, how even the beats are, how usual the tempo is, how many notes a beat has. The odds of
the candidates are a weighted sum of the clues (a choice model, McFadden 1974), fitted by bench/hear_beats.py
on half of a collection of fiddle tunes and chorales; the numbers are in beats.toml.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import msgspec
import numpy as np
import numpy.typing as npt

from reedpath.hear.notes import HeardNote
from reedpath.hear.peaks import peak_places
from reedpath.hear.weights import Weight, read_weights

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
# octaves within which two tempos are the same
SAME_OCTAVES = 0.06
# parts of a beat: how far onsets stray from their place, and within which a beat is met
STRAY, ON_BEAT = 0.05, 0.1
# notes in a beat, about which tunes lie; the mean of the tunes of bench/hear_beats.py
USUAL_DENSITY = 1.7


class BeatWeights(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Log odds of a tempo for each clue, in the order of `beat_clues`."""

    on_beat: Weight
    on_half: Weight
    on_shuffled_half: Weight
    on_quarters: Weight
    empty: Weight
    longer_on_beat: Weight
    octaves: Weight
    octaves_squared: Weight
    unevenness: Weight
    density: Weight
    unusual_density: Weight


CLUE_NAMES = BeatWeights.__struct_fields__


@dataclass(frozen=True, slots=True)
class Beats:
    """Beats found or given.

    seconds : when each beat falls, ascending, at least two, from before the first note to after the last.
    bpm : tempo, quarter notes a minute: 60 over the median distance of the beats.
    confidence : probability that this tempo, its half or its double is right; 1 when given.
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
    from scipy.ndimage import gaussian_filter1d

    curve = np.zeros(round(float(onsets[-1]) / STEP_SECONDS) + 200)
    np.add.at(curve, np.rint(onsets / STEP_SECONDS).astype(int), weights)
    return np.asarray(gaussian_filter1d(curve, ONSET_SECONDS / STEP_SECONDS))


def _usualness(period: Float64 | float) -> Float64:
    octaves = np.log2(60.0 / np.asarray(period) / USUAL_BPM) / SPREAD_OCTAVES
    return np.asarray(-0.5 * np.square(octaves))


def beat_periods(curve: Float64) -> list[float]:
    """Beat periods to be tried, in seconds, of a curve with a value every `STEP_SECONDS`."""
    most = round(60.0 / SLOWEST_BPM / STEP_SECONDS)
    spectrum = np.fft.rfft(curve, 2 * len(curve))
    correlation = np.fft.irfft(np.square(np.abs(spectrum)))[: most + 2]
    lags = np.arange(1, len(correlation), dtype=np.float64) * STEP_SECONDS
    weighed = np.concatenate([[0.0], correlation[1:] * np.exp(_usualness(lags))])
    peaks = peak_places(weighed)
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


def laid_beats(curve: Float64, period: float) -> Float64:
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


def extended_beats(beats: Float64, start: float, end: float) -> Float64:
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


def beat_clues(beats: Float64, onsets: Float64) -> Float64:
    """The clues for some beats, shape (`CLUE_NAMES`,)."""
    place = np.interp(onsets, beats, np.arange(len(beats)))
    part = place - np.floor(place)

    def nearness(*places: float) -> Float64:
        return sum((np.exp(-0.5 * np.square((part - at) / STRAY)) for at in places), start=np.zeros(len(part)))

    gaps = _gaps(onsets)
    on_beat = nearness(0.0, 1.0)
    off = np.abs(place - np.rint(place))
    met = len(set(np.rint(place[off < ON_BEAT]).astype(int)))
    span = float(place[-1] - place[0]) + 1.0
    lengths = np.log(gaps / np.median(gaps))
    distances = np.diff(beats)
    octaves = math.log2(60.0 / float(np.median(distances)) / USUAL_BPM)
    density = len(onsets) / span
    return np.array(
        [
            on_beat.mean(),
            nearness(0.5).mean(),
            nearness(2 / 3).mean(),
            nearness(0.25, 0.75).mean(),
            max(0.0, span - met) / span,
            float((on_beat * lengths).sum() / max(on_beat.sum(), 1e-9)),
            octaves,
            octaves**2,
            min(0.2, float(np.std(distances) / np.median(distances))),
            density,
            abs(math.log2(density / USUAL_DENSITY)),
        ]
    )


def beat_candidates(onsets: Float64, end_seconds: float) -> list[Float64]:
    """Beats, in seconds, at each tempo that is tried, from before the first onset to the end."""
    curve = _onset_curve(onsets, np.sqrt(np.clip(_gaps(onsets), 0.05, 1.0)))
    laid = (laid_beats(curve, period) for period in beat_periods(curve))
    return [
        extended_beats(_snapped(beats, onsets), float(onsets[0]), end_seconds) for beats in laid if len(beats) > 1
    ]


def find_beats(notes: Sequence[HeardNote]) -> Beats | None:
    """The beats of some notes; None for fewer than four onsets, from which no beat can be told."""
    onsets = np.array(sorted({round(note.start_seconds, 3) for note in notes}))
    if len(onsets) < 4:
        return None
    candidates = beat_candidates(onsets, max(note.end_seconds for note in notes))
    if not candidates:
        return None
    weights = read_weights("beats.toml", BeatWeights)
    odds = np.array([float(beat_clues(beats, onsets) @ weights) for beats in candidates])
    periods = np.array([float(np.median(np.diff(beats))) for beats in candidates])
    best = int(odds.argmax())
    share = np.exp(odds - odds.max())
    octaves = np.log2(periods / periods[best])
    alike = np.abs((octaves + 0.5) % 1.0 - 0.5) < SAME_OCTAVES
    return Beats(
        seconds=tuple(float(beat) for beat in candidates[best]),
        bpm=60.0 / float(periods[best]),
        confidence=float(share[alike].sum() / share.sum()),
    )
