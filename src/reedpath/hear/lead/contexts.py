"""Contexts: what the frames before and after a candidate tell of it.

A candidate is part of a contour: that of the next frame which goes on from it, and so forth. How likely its contour
is the lead's on the whole, how its clues are on average along it, how old it is and how long it will last, tell a
lead from a bass or a chord better than one frame does (contours and their features: Salamon and Gómez, IEEE TASLP
20(6), 2012; Bittner and others, ISMIR 2015). Beside it stand the probabilities of a voice's course through all
candidates (see `courses`).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import Float32
from reedpath.hear.lead.candidates import CLUE_NAMES, LeadCandidates
from reedpath.hear.lead.courses import GLIDE_SEMITONES, voice_chances
from reedpath.hear.lead.networks import network

Float64 = npt.NDArray[np.float64]

# clues whose mean along the contour is told
ALONG = (
    "level", "relative", "salience", "on_bass", "over_bass", "steadiness", "contrast", "octave_under", "octave_over",
    "astray", "roundness", "brightness_off",
)  # fmt: skip
# what is told before and after beside the mean of both
SIDES = ("odds", "chance", "level")
# share of a frame's weight that the next one along a contour has: reaches of about 7 and of 25 frames
REACHES = (0.85, 0.96)
# frames over which rests are told
RESTS = (21, 61, 201)
# frames of age, and of age and rest together, over which no more is told; frames in which a contour is new
OLDEST, LONGEST, NEW = 100.0, 200.0, 3.0
# log odds that are told at most
BOUND = 8.0
CONTEXT_NAMES = (
    "odds", "chance", "pitch_chance", "rest_chance", *(f"rests_{frames}" for frames in RESTS),
    *(
        f"{where}_{name}_{reach}"
        for reach in REACHES
        for where, names in (("before", SIDES), ("after", SIDES), ("mean", ("odds", "chance", *ALONG)))
        for name in names
    ),
    "age", "left", "length", "new", "ending",
)  # fmt: skip
# frames in a piece, whose clues are made at once, and on each side of it
PIECE, MARGIN = 6000, 300


def _log_odds(chances: Float64) -> Float64:
    return np.log((chances + 1e-4) / (1.0 - chances + 1e-4))


def _links(found: LeadCandidates) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Index of the candidate in the frame before, and in the frame after, with which each goes on; -1 for none."""
    midi, sounds = found.midi, found.strength > 0
    apart = np.abs(midi[1:, np.newaxis, :] - midi[:-1, :, np.newaxis])
    apart = np.where(sounds[1:, np.newaxis, :], apart, 99.0)
    before, after = np.full(midi.shape, -1), np.full(midi.shape, -1)
    after[:-1] = np.where(apart.min(axis=2) < GLIDE_SEMITONES, apart.argmin(axis=2), -1)
    before[1:] = np.where(apart.min(axis=1) < GLIDE_SEMITONES, apart.argmin(axis=1), -1)
    return before, after


def _summed(values: Float64, links: npt.NDArray[np.intp], shares: Float64) -> Float64:
    """Sums along contours, in which each frame back counts by a share less; shape (frames, candidates, values)."""
    total = values.copy()
    goes_on = (links >= 0)[..., np.newaxis]
    for frame in range(1, len(total)):
        total[frame] += goes_on[frame] * shares * total[frame - 1][links[frame]]
    return total


def context_clues(found: LeadCandidates, clues: Float32, odds: Float64) -> Float32:
    """What is round each candidate, shape (frames, candidates, `CONTEXT_NAMES`).

    clues : of each (see `clue_table`). odds : log odds of each by itself.
    """
    from scipy.ndimage import uniform_filter1d

    chances = voice_chances(found.midi, odds)
    rest = chances[:, -1]
    alike = np.abs(found.midi[:, :, np.newaxis] - found.midi[:, np.newaxis, :]) < GLIDE_SEMITONES
    bound, chance = np.clip(odds, -BOUND, BOUND), _log_odds(chances[:, :-1])
    every = np.ones(found.midi.shape)
    told = [bound, chance, _log_odds((alike * chances[:, np.newaxis, :-1]).sum(axis=2))]
    told += [
        column[:, np.newaxis] * every for column in (_log_odds(rest), *(uniform_filter1d(rest, n) for n in RESTS))
    ]
    along = np.stack([bound, chance, *(clues[..., CLUE_NAMES.index(name)] for name in ALONG)], axis=-1)
    count, sides = along.shape[-1], len(SIDES)
    # of each reach the values and a one, by which their sum becomes a mean; last a one that is never less: the age
    values = np.concatenate([*([along, every[..., np.newaxis]] * len(REACHES)), every[..., np.newaxis]], axis=-1)
    shares = np.append(np.repeat(REACHES, count + 1), 1.0)
    before, after = _links(found)
    past = _summed(values, before, shares)
    future = _summed(values[::-1], after[::-1], shares)[::-1]
    for start in range(0, len(REACHES) * (count + 1), count + 1):
        behind, ahead = past[..., start : start + count + 1], future[..., start : start + count + 1]
        both = behind + ahead - values[..., start : start + count + 1]
        for side in (behind, ahead):
            told += list(np.moveaxis((side[..., :-1] / side[..., -1:] - along)[..., :sides], -1, 0))
        told += list(np.moveaxis(both[..., :-1] / both[..., -1:], -1, 0))
    age, left = past[..., -1] - 1.0, future[..., -1] - 1.0
    told += [np.log1p(np.minimum(age, OLDEST)), np.log1p(np.minimum(left, OLDEST))]
    told += [np.log1p(np.minimum(age + left, LONGEST)), np.exp(-age / NEW), np.exp(-left / NEW)]
    return np.stack(told, axis=-1).astype(np.float32)


def odds_in_context(found: LeadCandidates, clues: Float32, odds: Float64) -> Float64:
    """Log odds of each candidate of being the lead's, with what is round it; arguments as for `context_clues`."""
    net = network("in_context")
    columns = [CLUE_NAMES.index(name) for name in net.clues[len(CONTEXT_NAMES) :]]
    told = np.empty(odds.shape)
    for start in range(0, len(odds), PIECE):
        first, last = max(0, start - MARGIN), min(len(odds), start + PIECE + MARGIN)
        part = slice(first, last)
        near = context_clues(found.part(part), clues[part], odds[part])
        rows = np.concatenate([near, clues[part][..., columns]], axis=-1)
        whole = slice(start, min(start + PIECE, len(odds)))
        told[whole] = net.log_odds(rows)[whole.start - first : whole.stop - first]
    return np.where(found.strength > 0, told, -30.0)
