"""Notes together: which one, two or three pitches explain the partials that sound after a strike.

Candidates are the strong partials and their halves, thirds and quarters, ranked by how much of the spectrum
(square roots of the magnitudes) falls on their harmonics. Of all sets of up to three, the best has the
largest sum of

    the share of the spectrum that falls on some harmonic of the set
    minus a price for each pitch
    minus a price for the low harmonics that a pitch should have and that are not there

so a pitch is only added for what the others leave unexplained. Of two notes an octave apart the upper is found if
the two are out of tune with each other by more than a partial may miss its place; see `harmonic` for the rest.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import numpy.typing as npt

__all__ = ["pitches_together"]

Float64 = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# Found by random search on the development half of the glued double stops (bench/hear_accuracy.py):
# harmonics looked at, the power of their number by which they count less in ranking
HARMONICS, RANKING_DECAY = 18, 0.33
# cents by which a partial may miss its harmonic, and how many more for each harmonic (strings are stiff)
MISS_CENTS, MISS_CENTS_EACH = 14.0, 0.35
# share of the spectrum that a further pitch must explain
PITCH_PRICE = 0.09
# price of a pitch none of whose low harmonics are there, and how many count as low
ABSENCE_PRICE, LOW_HARMONICS = 0.12, 7
# candidates compared, and partials from which they are made
CANDIDATES, STRONG = 9, 14
# MIDI numbers between which pitches are sought: a guitar's range
LOWEST_MIDI, HIGHEST_MIDI = 38.5, 88.5
# semitones within which two candidates are one
SAME_SEMITONES = 0.6
# hertz over which an absent harmonic says nothing
TOP_HZ = 4800.0
# harmonics by which a pitch is measured
MEASURING_HARMONICS = 5


def _matches(hz: Float64, pitches: Float64) -> tuple[Bools, Float64]:
    """Whether each partial lies on a harmonic of each pitch, and on which: shape (pitches, partials)."""
    ratio = hz / pitches[:, np.newaxis]
    number = np.maximum(np.rint(ratio), 1.0)
    cents = 1200.0 * np.abs(np.log2(ratio / number))
    return (cents < MISS_CENTS + MISS_CENTS_EACH * number) & (number <= HARMONICS), number


def _candidates(hz: Float64, weights: Float64) -> Float64:
    strong = hz[np.argsort(-weights)[:STRONG]]
    tried = np.concatenate([strong / part for part in (1, 2, 3, 4)])
    midi = 69.0 + 12.0 * np.log2(tried / 440.0)
    tried = tried[(midi > LOWEST_MIDI) & (midi < HIGHEST_MIDI)]
    on, number = _matches(hz, tried)
    rank = (weights * on / number**RANKING_DECAY).sum(axis=1)
    kept: list[float] = []
    for pitch in tried[np.argsort(-rank)]:
        if all(abs(12.0 * np.log2(pitch / other)) > SAME_SEMITONES for other in kept):
            kept.append(float(pitch))
        if len(kept) == CANDIDATES:
            break
    return np.array(kept)


def _measured(hz: Float64, weights: Float64, pitches: Float64) -> Float64:
    """The pitches measured from the partials on their low harmonics."""
    on, number = _matches(hz, pitches)
    share = weights * on * (number <= MEASURING_HARMONICS)
    total = share.sum(axis=1)
    mean = (share * hz / number).sum(axis=1) / np.maximum(total, 1e-12)
    return np.asarray(np.where(total > 0, mean, pitches))


def _absence(on: Bools, number: Float64, pitches: Float64) -> Float64:
    absent = np.zeros(len(pitches))
    for harmonic in range(1, LOW_HARMONICS + 1):
        there = (on & (number == harmonic)).any(axis=1)
        absent += np.where(~there & (pitches * harmonic < TOP_HZ), harmonic**-0.5, 0.0)
    return np.asarray(absent / sum(harmonic**-0.5 for harmonic in range(1, LOW_HARMONICS + 1)))


def pitches_together(
    hz: npt.ArrayLike, magnitude: npt.ArrayLike, *, most: int = 3
) -> tuple[tuple[float, float], ...]:
    """The pitches that explain some partials best, ascending: MIDI number (with its fraction) and share.

    Parameters
    ----------
    hz, magnitude : the partials, shape (n,); those of magnitude 0 are left out.
    most : how many pitches at most, 1 to 3.

    The share is that of the spectrum on the pitch's harmonics, 0 to 1. Nothing for no partials.
    """
    heights = np.asarray(magnitude, dtype=np.float64)
    there = heights > 0
    partials, weights = np.asarray(hz, dtype=np.float64)[there], np.sqrt(heights[there])
    if not len(partials):
        return ()
    weights /= weights.sum()
    pitches = _candidates(partials, weights)
    if not len(pitches):
        return ()
    pitches = _measured(partials, weights, pitches)
    on, number = _matches(partials, pitches)
    price = PITCH_PRICE + ABSENCE_PRICE * _absence(on, number, pitches)
    best = -np.inf
    chosen: tuple[int, ...] = ()
    for size in range(1, most + 1):
        for some in combinations(range(len(pitches)), size):
            indices = list(some)
            score = float(weights[on[indices].any(axis=0)].sum() - price[indices].sum())
            if score > best:
                best, chosen = score, some
    shares = (weights * on).sum(axis=1)
    midi = 69.0 + 12.0 * np.log2(pitches / 440.0)
    return tuple(sorted((float(midi[index]), float(shares[index])) for index in chosen))
