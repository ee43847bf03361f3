"""Onsets: when exactly a note begins, once it is known that it does.

An attack gives the moment within milliseconds where a string is struck. A reed swells: the spectrum changes most when
the note is half up, or when the one before lets go. There the note's own salience tells, which is seen in
its growth before it is the strongest: the note begins where that comes up to half of what it reaches.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from reedpath.hear.clues import Clues
from reedpath.hear.frames import HOP_SECONDS
from reedpath.hear.middles import middle_of
from reedpath.hear.observing import Observations

Float64 = npt.NDArray[np.float64]

# an attack strength that counts as one
LEAST_ATTACK = 0.004
# half frames before and after the start of a stretch in which its attack is sought (40 and 60 ms)
BEFORE_START, INTO_START = 8, 13
# share of an attack's strength from which it has begun, and half frames over which it may grow (35 ms), or
# lie off the moment found (10 ms)
BEGUN, GROWTH, NEAR_ATTACK = 0.5, 7, 2
# share of what a note's salience reaches at which it begins. With the next: set on the development half, where the
# 95th percentile of the errors fell from 19 to 12 ms
HEARD = 0.5
# frames by which that may lie before the attack (60 ms), and from it between which what it reaches is taken (30 and
# 80 ms)
EARLIER, REACHED = 6, (3, 8)
# semitones by which a candidate may differ and be the note
SAME_SEMITONES = 0.5


def attack_start(seconds: float, clues: Clues) -> float:
    """When the attack begins whose peak lies at a moment; the moment itself where there is no attack."""
    attack = clues.attack
    first = max(0, round(2 * seconds / HOP_SECONDS) - NEAR_ATTACK)
    near = attack[first : first + 2 * NEAR_ATTACK + 1]
    if not len(near) or near.max() <= 0:
        return seconds
    peak = first + int(near.argmax())
    rising = attack[max(0, peak - GROWTH) : peak][::-1] > BEGUN * attack[peak]
    return (peak - _leading(rising)) * HOP_SECONDS / 2


def _leading(true: npt.NDArray[np.bool_]) -> int:
    """How many are true before the first that is not."""
    return len(true) if true.all() else int(np.argmin(true))


def stretch_start(start: int, clues: Clues) -> tuple[float, bool]:
    """When the stretch of pitch begins that is seen from a frame on, and whether with an attack."""
    first = max(0, 2 * start - BEFORE_START)
    near = clues.attack[first : 2 * start + INTO_START]
    if len(near) and near.max() > LEAST_ATTACK:
        return (first + int(near.argmax())) * HOP_SECONDS / 2, True
    return start * HOP_SECONDS, False


def _own_loudness(seen: Observations, midi: float, part: slice) -> Float64:
    """How loud a pitch's own comb sounds in some frames: its salience times the loudness divided out of it."""
    strengths = seen.strength[part].astype(np.float64)
    near = np.abs(seen.midi[part] - midi) < SAME_SEMITONES
    loudness = 10.0 ** (seen.level_db[part].astype(np.float64) / 40.0) / np.maximum(strengths[:, 0], 1e-3)
    return np.asarray(np.where(near, strengths, 0.0).max(axis=1) * loudness)


def first_heard(seen: Observations, midi: float, at: float, end: float) -> float:
    """When a note of a pitch is first heard that is known to have begun by a moment; that moment, if not before.

    Parameters
    ----------
    at, end : seconds, the moment and the end of the note.
    """
    frame = round(at / HOP_SECONDS)
    first = max(0, frame - EARLIER - 1)
    last = min(seen.frames, frame + REACHED[1], max(round(end / HOP_SECONDS), frame + REACHED[0] + 1))
    if last - frame <= REACHED[0]:
        return at
    loudness = _own_loudness(seen, midi, slice(first, last))
    wanted = HEARD * middle_of(loudness[frame - first + REACHED[0] :])
    low = np.flatnonzero(loudness[: frame - first + REACHED[0] + 1] < wanted)
    if wanted <= 0 or not len(low):
        return at
    before = int(low[-1])
    if before + 1 >= len(loudness):
        return at
    share = (wanted - loudness[before]) / max(loudness[before + 1] - loudness[before], 1e-9)
    heard = (first + before + float(share)) * HOP_SECONDS
    return heard if at - EARLIER * HOP_SECONDS <= heard < at else at
