"""Boundaries: moments in a stretch of pitch at which a new note may begin, each with its log odds.

Where an attack peaks, the pitch steps or the level dips, the log odds are a weighted sum of clues, a logistic
regression fitted by bench/hear_fit.py on glued phrases (the development half; the numbers are in
boundaries.toml).
"""

from __future__ import annotations

from dataclasses import dataclass

import msgspec
import numpy as np
import numpy.typing as npt

from reedpath.hear.clues import Clues
from reedpath.hear.frames import HOP_SECONDS, widened, windows_of
from reedpath.hear.peaks import peak_places
from reedpath.hear.weights import Weight, read_weights

Float64 = npt.NDArray[np.float64]

# frames from the start and to the end of a stretch within which nothing new begins (50 ms, 30 ms)
AFTER_START, BEFORE_END = 5, 3
# an attack, a step in semitones and a dip in decibels that are looked at
LEAST_ATTACK, LEAST_STEP, LEAST_DIP_DB = 0.004, 0.3, 0.3
# frames within which two moments are one
APART = 3
# log odds under which a moment is not looked at again
HOPELESS = -3.0
# decibels from which a dip is deep, whatever is usual, and by which it is as deep as can be: beating reeds and
# vibrato stay under the first, a tongued reed in a small room dips by 10 (measured on the development half)
DEEP_DB, DEEPEST_DB = 5.0, 11.0
# half frames within which only the strongest attack has a deep dip to itself (70 ms)
DIP_OWNED = 14
# half frames between neighbouring dips
DIP_APART = 8


class BoundaryWeights(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Log odds of a new note for each clue, in the order of the columns of `clue_rows`."""

    always: Weight
    attack: Weight
    step: Weight
    abruptness: Weight
    rise: Weight
    dip: Weight
    attack_over_usual: Weight
    dip_over_usual: Weight
    small_step: Weight
    attack_against_before: Weight
    weaker_than_before: Weight
    attack_with_rise: Weight
    attack_without_step: Weight
    closeness_to_start: Weight
    deep_dip: Weight
    deep_dip_without_step: Weight


CLUE_NAMES = BoundaryWeights.__struct_fields__


@dataclass(frozen=True, slots=True)
class Boundary:
    """A moment at which a note may begin: its frame, its time in seconds, its log odds."""

    frame: int
    seconds: float
    log_odds: float


def _medians(padded: Float64, count: int) -> Float64:
    """The median of each window of so many values."""
    windows = np.sort(windows_of(padded, count), axis=1)
    return np.asarray((windows[:, (count - 1) // 2] + windows[:, count // 2]) / 2)


def _steps(midi: Float64) -> Float64:
    """How far the pitch steps at each frame: median of three frames against that of the three before."""
    medians = _medians(widened(midi, 3), 3)
    steps = np.abs(medians[3 : 3 + len(midi)] - medians[: len(midi)])
    steps[:2] = steps[-2:] = 0.0
    return np.asarray(steps)


def _moments(midi: Float64, clues: Clues, start: int) -> dict[int, float]:
    """Frames at which a note may begin, with their times, the strongest attacks first."""
    end = start + len(midi)
    strengths: dict[int, tuple[float, float]] = {}

    def look(frame: int, seconds: float, strength: float | None, distance: int) -> None:
        if not start + AFTER_START <= frame <= end - BEFORE_END:
            return
        if strength is None:
            if any(other in strengths for other in range(frame - distance, frame + distance + 1)):
                return
            strength = float(clues.attack[max(0, 2 * frame - 6) : 2 * frame + 7].max())
        if frame not in strengths or strengths[frame][0] < strength:
            strengths[frame] = (strength, seconds)

    half = slice(2 * start, 2 * end)
    for peak in peak_places(clues.attack[half], height=LEAST_ATTACK):
        place = 2 * start + int(peak)
        look(round(place / 2), place * HOP_SECONDS / 2, float(clues.attack[place]), 0)
    for peak in peak_places(_steps(midi), height=LEAST_STEP, distance=APART):
        look(start + int(peak), (start + int(peak)) * HOP_SECONDS, None, APART)
    for peak in peak_places(clues.dip_db[half], height=LEAST_DIP_DB, distance=DIP_APART):
        place = 2 * start + int(peak)
        look(round(place / 2), (place + 2) * HOP_SECONDS / 2, None, APART + 1)
    kept: set[int] = set()
    for frame in sorted(strengths, key=lambda frame: -strengths[frame][0]):
        if kept.isdisjoint(range(frame - APART, frame + APART + 1)):
            kept.add(frame)
    return {frame: strengths[frame][1] for frame in sorted(kept)}


def clue_rows(midi: Float64, clues: Clues, start: int, frames: npt.NDArray[np.intp]) -> Float64:
    """The clues for new notes at some frames of a stretch, shape (frames, `CLUE_NAMES`).

    Parameters
    ----------
    midi : the pitch of the stretch, which starts at frame ``start``.
    frames : counted from the start of the sound.
    """
    inside = frames - start
    half = 2 * frames
    six = _medians(widened(midi, 7), 6)
    step = np.minimum(np.abs(six[inside + 8] - six[inside]), 2.0)
    moves = np.abs(np.diff(widened(midi, 4)))
    abrupt = windows_of(moves, 6)[inside + 1].max(axis=1)
    level = widened(clues.level_db[start : start + len(midi)], 7)
    windows = windows_of(level, 7)
    rise = np.clip(windows[inside + 7].max(axis=1) - windows[inside + 1][:, 1:].min(axis=1), 0.0, 4.0)
    attack = _strongest(clues.attack, half - 2, half + 3)
    before = _strongest(clues.attack, half - 18, half - 4)
    over = np.log(np.maximum(attack, 1e-4) / (2.0 * clues.usual_attack[half] + 0.004))
    over = np.clip(over, -1.5, 3.0)
    dip_db = _strongest(clues.dip_db, half - 12, half + 5)
    deep = np.where(_is_strongest(attack, half), np.clip((dip_db - DEEP_DB) / (DEEPEST_DB - DEEP_DB), 0.0, 1.0), 0.0)
    dip = np.clip(np.log((dip_db + 0.05) / (1.5 * clues.usual_dip_db[half] + 0.15)), -1.5, 3.0)
    against = np.clip(np.log(np.maximum(attack, 1e-4) / (before + 0.002)), -2.0, 2.0)
    strong, small = np.maximum(over, 0.0), np.minimum(step, 0.6)
    return np.column_stack(
        [
            np.ones(len(frames)),
            over,
            step,
            np.minimum(abrupt, 1.5),
            rise,
            dip,
            strong,
            np.maximum(dip, 0.0),
            small,
            against,
            np.minimum(against, 0.0),
            strong * rise / 4.0,
            strong * (1.0 - small / 0.6),
            np.minimum(inside, 12) / 12.0,
            deep,
            deep * (1.0 - small / 0.6),
        ]
    )


def _is_strongest(attack: Float64, half: npt.NDArray[np.intp]) -> npt.NDArray[np.bool_]:
    """Whether each moment has the strongest attack of those round about it, which the same dip may belong to."""
    near = np.abs(half[:, np.newaxis] - half) <= DIP_OWNED
    return np.asarray(attack >= np.where(near, attack, 0.0).max(axis=1))


def _strongest(values: Float64, first: npt.NDArray[np.intp], last: npt.NDArray[np.intp]) -> Float64:
    """The largest value from each first to before each last index, all of one length."""
    reach = int(last[0] - first[0]) if len(first) else 1
    places = np.clip(first[:, np.newaxis] + np.arange(reach), 0, len(values) - 1)
    return np.asarray(values[places].max(axis=1))


def boundaries_in(midi: Float64, clues: Clues, start: int) -> list[Boundary]:
    """The moments at which a note may begin inside a stretch of pitch that starts at a frame."""
    moments = _moments(midi, clues, start)
    if not moments:
        return []
    frames = np.array(list(moments), dtype=np.intp)
    odds = clue_rows(midi, clues, start, frames) @ read_weights("boundaries.toml", BoundaryWeights)
    return [
        Boundary(int(frame), moments[int(frame)], float(log_odds))
        for frame, log_odds in zip(frames, odds, strict=True)
        if log_odds > HOPELESS
    ]
