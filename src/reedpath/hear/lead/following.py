"""Following: one voice through a record, where its range and its place in the picture are found first.

The likeliest course through the candidates and silence (see `courses`), whose log odds come from their clues by
classifiers fitted beforehand (see `networks`). The first look knows nothing of the lead but what is usual; from what
it holds likely, ranges are proposed (normal distributions over an even background, by expectation maximization:
Dempster, Laird and Rubin, J. Royal Statistical Society B 39(1), 1977), each is followed, and the one whose course is
likeliest stays. Then what is round each candidate in time is looked at too (see `contexts`), with the lowest note
where it was found, lower and higher, and again the likeliest stays.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import RATE, Float32
from reedpath.hear.lead.bass import BassLine, bass_line
from reedpath.hear.lead.candidates import (
    CLUE_NAMES,
    PASS_SHARE,
    LeadCandidates,
    Whereabouts,
    candidates_of,
    clue_table,
)
from reedpath.hear.lead.contexts import odds_in_context
from reedpath.hear.lead.courses import GLIDE_SEMITONES, course_chances, likeliest_voice
from reedpath.hear.lead.networks import network
from reedpath.hear.lead.stereo import Piece, pieces_of

Float64 = npt.NDArray[np.float64]

# log odds by which the last course leans to the lead: what it takes too much, the doubt of notes finds. Set on the
# development half, where F at 0 dB rose from .92 to .94, of a low lead from .81 to .85
LEANING = 1.0
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
# seconds from the start that are followed to choose among ranges; semitones by which the lowest note may lie
# otherwise than where a look by frames alone found it
CHOSEN_BY_SECONDS, LOW_OFF = 90, (0.0, -5.0, 4.0)


@dataclass(frozen=True, slots=True, eq=False)
class FollowedLead:
    """The course of a lead, each array of shape (frames,).

    midi : its pitch, NaN where it rests. log_odds : of being the lead. strength : salience. rival : log odds of the
    likeliest other pitch. level_db : of its comb. clues : of the chosen candidates, shape (frames, clues).
    path : their indexes, -1 where it rests. chances : probability of being there, by all courses, and of a rest;
    shape (frames, 2). total : how likely the course is. bass : what was followed as the bass.
    """

    where: Whereabouts
    midi: Float64
    log_odds: Float64
    strength: Float64
    rival: Float64
    level_db: Float64
    clues: Float32
    chances: Float64
    found: LeadCandidates
    path: npt.NDArray[np.intp]
    total: float
    bass: BassLine

    def range_told(self) -> Whereabouts:
        """Where it is, its range that of its own course."""
        midi = self.midi[self.voiced]
        if not len(midi):
            return self.where
        low, high = np.percentile(midi, (100 * UNDER, 100 * (1 - OVER)))
        return replace(self.where, low=float(low) - BEYOND, high=float(high) + BEYOND)

    @property
    def voiced(self) -> npt.NDArray[np.bool_]:
        """Whether the lead sounds."""
        return ~np.isnan(self.midi)


def _odds(name: str, clues: Float32, strength: Float32) -> Float64:
    net = network(name)
    columns = [CLUE_NAMES.index(clue) for clue in net.clues]
    return np.where(strength > 0, net.log_odds(clues[..., columns]), -30.0)


def _chosen(values: npt.NDArray[np.floating], path: npt.NDArray[np.intp]) -> npt.NDArray[np.floating]:
    return np.take_along_axis(values, np.maximum(path, 0)[:, np.newaxis], axis=1)[:, 0]


@dataclass(frozen=True, slots=True, eq=False)
class LeadLook:
    """What is seen where the lead is thought to be: candidates, their clues and their log odds."""

    where: Whereabouts
    found: LeadCandidates
    clues: Float32
    odds: Float64


def _look(seen: Iterable[Piece], bass: BassLine, where: Whereabouts, name: str) -> LeadLook:
    """A look with one of the networks that know a frame alone."""
    found = candidates_of(seen, where)
    clues = clue_table(found, where, bass)
    return LeadLook(where, found, clues, _odds(name, clues, found.strength))


def _in_context(look: LeadLook) -> LeadLook:
    """The same look, its odds by what is round each candidate too."""
    return replace(look, odds=odds_in_context(look.found, look.clues, look.odds))


def _followed(look: LeadLook, bass: BassLine, leaning: float = 0.0) -> FollowedLead:
    """The likeliest course, which leans to the lead by so much."""
    found, odds = look.found, look.odds + leaning
    path, total = likeliest_voice(found.midi, odds)
    midi = _chosen(found.midi, path)
    near = np.abs(found.midi - midi[:, np.newaxis]) < GLIDE_SEMITONES
    chosen = np.take_along_axis(look.clues, np.maximum(path, 0)[:, np.newaxis, np.newaxis], axis=1)[:, 0]
    silent = path < 0
    return FollowedLead(
        where=look.where,
        midi=np.where(silent, np.nan, midi),
        log_odds=np.where(silent, np.nan, _chosen(odds, path)),
        strength=_chosen(found.strength, path).astype(np.float64),
        rival=np.where(near, -30.0, odds).max(axis=1),
        level_db=_chosen(found.level_db, path).astype(np.float64),
        clues=chosen,
        chances=course_chances(found.midi, odds, path),
        found=found,
        path=path,
        total=total,
        bass=bass,
    )


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


def _pass_hz(low: float) -> float:
    return float(PASS_SHARE * 440.0 * 2.0 ** ((low - 69.0) / 12.0))


def _with_low(where: Whereabouts, low: float) -> Whereabouts:
    return replace(where, low=low, pass_hz=_pass_hz(low))


def _known(low: float, high: float, found: LeadCandidates, trusted: npt.NDArray[np.bool_]) -> Whereabouts:
    return Whereabouts(
        low=low,
        high=high,
        place=float(np.median(found.place[trusted])),
        brightness=float(np.median(found.brightness[trusted])),
        roundness=float(np.median(found.roundness[trusted])),
        masked=True,
        pass_hz=_pass_hz(low),
    )


class _Sound:
    """A sound piece by piece; the spectra of its beginning, at which several looks are taken, are kept."""

    def __init__(self, array: Float32) -> None:
        self.array, self.bass = array, bass_line(array)
        self.beginning = list(pieces_of(array[: CHOSEN_BY_SECONDS * RATE]))
        self.whole = len(array) <= CHOSEN_BY_SECONDS * RATE

    def pieces(self) -> Iterable[Piece]:
        """All of it."""
        return self.beginning if self.whole else pieces_of(self.array)


def _by_frames(sound: _Sound, told: Callable[[int], None]) -> FollowedLead | Whereabouts:
    """Where the lead is by the course of single frames; the lead itself where there is no telling.

    told : is told how many looks have been taken.
    """
    first = _look(sound.pieces(), sound.bass, Whereabouts(), "first_look")
    likely = 1.0 / (1.0 + np.exp(-first.odds))
    taking_part = likely > LIKELY
    best: FollowedLead | None = None
    if taking_part.sum() >= FEWEST_FRAMES:
        for number, (low, high) in enumerate(_ranges(first.found.midi[taking_part], likely[taking_part]), start=1):
            told(number)
            trusted = (first.found.midi > low) & (first.found.midi < high) & (likely > TRUSTED)
            if trusted.sum() >= FEWEST_FRAMES:
                known = _known(low, high, first.found, trusted)
                tried = _followed(_look(sound.beginning, sound.bass, known, "second_look"), sound.bass)
                best = tried if best is None or tried.total > best.total else best
    return _followed(first, sound.bass) if best is None else _settled(best)


def found_by_frames(array: Float32) -> LeadLook | None:
    """What is seen where the lead is by the course of single frames; None where there is no telling.

    array : see `stereo_at_rate`.
    """
    sound = _Sound(array)
    where = _by_frames(sound, lambda looks: None)
    return None if isinstance(where, FollowedLead) else _look(sound.pieces(), sound.bass, where, "second_look")


def follow(array: Float32, *, told: Callable[[float], None] = lambda share: None) -> FollowedLead:
    """The lead of a sound (see `stereo_at_rate`).

    told : is told, look by look, about how much of the time has gone by, 0 to 1.
    """
    sound, looks = _Sound(array), 1 + MOST_RANGES + len(LOW_OFF)
    where = _by_frames(sound, lambda looked: told(looked / looks))
    if isinstance(where, FollowedLead):
        return where
    tried: list[tuple[float, LeadLook]] = []
    for number, off in enumerate(LOW_OFF, start=1 + MOST_RANGES):
        told(number / looks)
        look = _in_context(_look(sound.beginning, sound.bass, _with_low(where, where.low + off), "second_look"))
        tried.append((likeliest_voice(look.found.midi, look.odds)[1], look))
    look = max(tried, key=lambda one: one[0])[1]
    if not sound.whole:
        look = _in_context(_look(sound.pieces(), sound.bass, look.where, "second_look"))
    return _followed(look, sound.bass, LEANING)


def _settled(lead: FollowedLead) -> Whereabouts:
    """Where a lead is by its own course."""
    sure = lead.voiced & (np.nan_to_num(lead.log_odds, nan=-1.0) > 0)
    if sure.sum() < FEWEST_FRAMES:
        return lead.where
    low, high = np.percentile(lead.midi[sure], (100 * UNDER, 100 * (1 - OVER)))
    trusted = np.zeros(lead.found.midi.shape, dtype=bool)
    trusted[np.flatnonzero(sure), lead.path[sure]] = True
    return _known(max(float(low) - BEYOND, lead.where.low - 1.0), float(high) + BEYOND, lead.found, trusted)
