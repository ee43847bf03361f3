"""Following: one voice through a record, where its range and its place in the picture are found first.

The likeliest course through the candidates and silence (Viterbi's search), whose log odds come from their clues
by a classifier fitted beforehand (see `networks`). The first look knows nothing of the lead but what is usual;
from what it holds likely, ranges are proposed (normal distributions over an even background, by expectation
maximization: Dempster, Laird and Rubin, J. Royal Statistical Society B 39(1), 1977), each is followed, and the
one whose course is likeliest stays.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import HOP, Float32
from reedpath.hear.lead.bass import BassLine, bass_line
from reedpath.hear.lead.candidates import (
    CLUE_NAMES,
    PASS_SHARE,
    LeadCandidates,
    Whereabouts,
    candidates_of,
    clue_table,
)
from reedpath.hear.lead.networks import network

__all__ = ["FollowedLead", "follow"]

Float64 = npt.NDArray[np.float64]

# share of the log odds of a frame that counts, since neighbouring frames see the same sound, and their bounds;
# costs of a leap, of each semitone of a glide, and of turning between sound and silence: set on the development half
ODDS_SHARE, ODDS_BOUND = 0.5, 8.0
# log odds by which the last course leans to the lead: what it takes too much, the doubt of notes finds. Set on the
# development half, where F at 0 dB rose from .92 to .94, of a low lead from .81 to .85
LEANING = 1.0
LEAP_COST, GLIDE_COST, GLIDE_SEMITONES, TURN_COST = 3.0, 1.5, 0.6, 3.0
# probability from which a candidate takes part in the search for ranges, and from which in that for place and timbre
LIKELY, TRUSTED = 0.2, 0.4
# MIDI numbers at which ranges are begun; semitones of their spread; semitones of the even background
BEGUN_AT, SPREADS, BACKGROUND = (46.0, 52.0, 58.0, 64.0, 70.0, 76.0), (3.0, 6.5), 60.0
TURNS = 40
# least share of a range; semitones by which two differ; most that are followed; spreads from middle to a tight low
LEAST_SHARE, APART, MOST_RANGES, TIGHT = 0.15, 3.0, 4, 1.7
# shares of the course's pitches that lie under its range and over it, and semitones beyond it that are still believed
UNDER, OVER, BEYOND = 0.02, 0.01, 1.5
# frames below which nothing can be told of a range
FEWEST_FRAMES = 20
# seconds from the start that are followed to choose among ranges
CHOSEN_BY_SECONDS = 90


@dataclass(frozen=True, slots=True, eq=False)
class FollowedLead:
    """The course of a lead, each array of shape (frames,).

    midi : its pitch, NaN where it rests. log_odds : of being the lead. strength : salience. rival : log odds of the
    likeliest other pitch. level_db : of its comb. clues : of the chosen candidates, shape (frames, clues).
    path : their indexes, -1 where it rests. total : how likely the course is.
    """

    where: Whereabouts
    midi: Float64
    log_odds: Float64
    strength: Float64
    rival: Float64
    level_db: Float64
    clues: Float32
    found: LeadCandidates
    path: npt.NDArray[np.intp]
    total: float

    @property
    def voiced(self) -> npt.NDArray[np.bool_]:
        """Whether the lead sounds."""
        return ~np.isnan(self.midi)


def _odds(name: str, clues: Float32, strength: Float32) -> Float64:
    net = network(name)
    columns = [CLUE_NAMES.index(clue) for clue in net.clues]
    return np.where(strength > 0, net.log_odds(clues[..., columns]), -30.0)


def _course(midi: Float64, odds: Float64) -> tuple[npt.NDArray[np.intp], float]:
    """Index of the candidate of each frame, -1 for silence, and the log likelihood of them all."""
    frames, count = midi.shape
    states = np.zeros((frames, count + 1))
    states[:, :count] = ODDS_SHARE * np.clip(odds, -ODDS_BOUND, ODDS_BOUND)
    back = np.zeros((frames, count + 1), dtype=np.int8)
    moves = np.full((count + 1, count + 1), -TURN_COST)
    moves[-1, -1] = 0.0
    score = states[0]
    rows = np.arange(count + 1)
    for frame in range(1, frames):
        apart = np.abs(midi[frame] - midi[frame - 1][:, np.newaxis])
        moves[:count, :count] = -np.where(apart < GLIDE_SEMITONES, apart * GLIDE_COST, LEAP_COST)
        total = moves + score[:, np.newaxis]
        best = total.argmax(axis=0)
        back[frame] = best
        score = total[best, rows] + states[frame]
    state = int(score.argmax())
    path = [state]
    for froms in back[:0:-1].tolist():
        state = froms[state]
        path.append(state)
    course = np.array(path[::-1], dtype=np.intp)
    return np.where(course < count, course, -1), float(score.max())


def _chosen(values: npt.NDArray[np.floating], path: npt.NDArray[np.intp]) -> npt.NDArray[np.floating]:
    return np.take_along_axis(values, np.maximum(path, 0)[:, np.newaxis], axis=1)[:, 0]


def _followed(
    array: Float32, bass: BassLine, where: Whereabouts, name: str, leaning: float = 0.0
) -> tuple[FollowedLead, Float64]:
    """The course with a classifier, and the log odds of all candidates, which lean to the lead by so much."""
    found = candidates_of(array, where)
    clues = clue_table(found, where, bass)
    odds = _odds(name, clues, found.strength) + leaning
    path, total = _course(found.midi, odds)
    midi = _chosen(found.midi, path)
    near = np.abs(found.midi - midi[:, np.newaxis]) < GLIDE_SEMITONES
    chosen = np.take_along_axis(clues, np.maximum(path, 0)[:, np.newaxis, np.newaxis], axis=1)[:, 0]
    silent = path < 0
    lead = FollowedLead(
        where=where,
        midi=np.where(silent, np.nan, midi),
        log_odds=np.where(silent, np.nan, _chosen(odds, path)),
        strength=_chosen(found.strength, path).astype(np.float64),
        rival=np.where(near, -30.0, odds).max(axis=1),
        level_db=_chosen(found.level_db, path).astype(np.float64),
        clues=chosen,
        found=found,
        path=path,
        total=total,
    )
    return lead, odds


def _mixture(midi: Float64, weights: Float64, begun_at: float) -> tuple[float, float, float, float, Float64]:
    """Log likelihood, middle, spread and share of a normal over an even background, and each pitch's part in it."""
    middle, spread, share = begun_at, 4.0, 0.5
    part = np.zeros(len(midi))
    normal = part
    for _ in range(TURNS):
        normal = share * np.exp(-0.5 * np.square((midi - middle) / spread)) / (spread * np.sqrt(2 * np.pi))
        part = normal / (normal + (1.0 - share) / BACKGROUND)
        total = float((part * weights).sum()) + 1e-9
        middle = float((part * weights * midi).sum() / total)
        spread = float(np.clip(np.sqrt((part * weights * np.square(midi - middle)).sum() / total), *SPREADS))
        share = float(np.clip(total / weights.sum(), 0.05, 0.98))
    likelihood = float((weights * np.log(normal + (1.0 - share) / BACKGROUND)).sum())
    return likelihood, middle, spread, share, part


def _ranges(midi: Float64, weights: Float64) -> list[tuple[float, float]]:
    """Ranges that the lead may have, the likeliest first."""
    made = [_mixture(midi, weights, begun_at) for begun_at in BEGUN_AT]
    kept: list[tuple[float, float, float, float, Float64]] = []
    for one in sorted(made, key=lambda one: -one[0]):
        if one[3] >= LEAST_SHARE and all(abs(one[1] - other[1]) > APART for other in kept):
            kept.append(one)
    ranges = []
    for _, middle, spread, _, part in kept[:3]:
        inside = part > 0.3
        order = np.argsort(midi[inside])
        shares = np.cumsum(weights[inside][order])
        ends = np.interp((0.03, 0.98), shares / shares[-1], midi[inside][order])
        low, high = float(ends[0]) - 0.5 - BEYOND, float(ends[1]) + BEYOND
        ranges.append((low, high))
        if middle - TIGHT * spread > low + 2.0:
            ranges.append((middle - TIGHT * spread, high))
    return ranges[:MOST_RANGES]


def _known(low: float, high: float, found: LeadCandidates, trusted: npt.NDArray[np.bool_]) -> Whereabouts:
    hz = 440.0 * 2.0 ** ((low - 69.0) / 12.0)
    return Whereabouts(
        low=low,
        high=high,
        place=float(np.median(found.place[trusted])),
        brightness=float(np.median(found.brightness[trusted])),
        roundness=float(np.median(found.roundness[trusted])),
        masked=True,
        pass_hz=PASS_SHARE * hz,
    )


def follow(array: Float32, *, told: Callable[[float], None] = lambda share: None) -> FollowedLead:
    """The lead of a sound (see `stereo_at_rate`).

    told : is told, look by look, about how much of the time has gone by, 0 to 1.
    """
    bass = bass_line(array)
    first, odds = _followed(array, bass, Whereabouts(), "first_look")
    likely = 1.0 / (1.0 + np.exp(-odds))
    taking_part = likely > LIKELY
    if taking_part.sum() < FEWEST_FRAMES:
        return first
    chosen_by = array[: CHOSEN_BY_SECONDS * 100 * HOP]
    best: FollowedLead | None = None
    ranges = _ranges(first.found.midi[taking_part], likely[taking_part])
    looks = len(ranges) + 2  # one before them, and one after
    for number, (low, high) in enumerate(ranges, start=1):
        told(number / looks)
        trusted = (first.found.midi > low) & (first.found.midi < high) & (likely > TRUSTED)
        if trusted.sum() < FEWEST_FRAMES:
            continue
        tried, _ = _followed(chosen_by, bass, _known(low, high, first.found, trusted), "second_look")
        if best is None or tried.total > best.total:
            best = tried
    if best is None:
        return first
    told((looks - 1) / looks)
    return _settled(array, bass, best)


def _settled(array: Float32, bass: BassLine, lead: FollowedLead) -> FollowedLead:
    """The lead followed once more, its whereabouts taken from its own course."""
    sure = lead.voiced & (np.nan_to_num(lead.log_odds, nan=-1.0) > 0)
    if sure.sum() < FEWEST_FRAMES:
        return _followed(array, bass, lead.where, "second_look", LEANING)[0]
    low, high = np.percentile(lead.midi[sure], (100 * UNDER, 100 * (1 - OVER)))
    trusted = np.zeros(lead.found.midi.shape, dtype=bool)
    trusted[np.flatnonzero(sure), lead.path[sure]] = True
    where = _known(max(float(low) - BEYOND, lead.where.low - 1.0), float(high) + BEYOND, lead.found, trusted)
    return _followed(array, bass, where, "second_look", LEANING)[0]
