"""Fit: how well each segment of a take explains each event of a route, as log likelihood against any other sound.

For a voiced frame at a distance of d semitones from an event's pitch

    fit(d) = log(STRAY + (1 - STRAY) * normal(d; SPREAD) * ELSEWHERE_SEMITONES)

so a frame near the pitch speaks for the event and one far off speaks against it, but never by more than
log(STRAY): a wrong note is still that event played wrong.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from reedpath.hear import Observations, PitchCurve
from reedpath.listen.expected import Score
from reedpath.listen.segments import Segments

Float64 = npt.NDArray[np.float64]

# semitones by which a played pitch strays from the one that was meant; a bend a quarter tone off still fits best
SPREAD = 0.4
# share of frames whose pitch says nothing of the event (noise, wrong notes), and semitones they may lie in
STRAY, ELSEWHERE_SEMITONES = 0.4, 30.0
# log likelihood where a pitch only lies on the way through the event (a glide, a run): it says nothing
ON_THE_WAY = 0.0
# an unvoiced frame inside an event
UNVOICED = -0.5
# what a frame counts, since the frames of one note tell the same; found by trial on glued takes, flat within a
# factor of two
FRAME_WEIGHT = 0.06


def _log_fit(distance: Float64) -> Float64:
    normal = np.exp(-0.5 * np.square(distance / SPREAD)) / (SPREAD * np.sqrt(2 * np.pi))
    return np.asarray(np.log(STRAY + (1.0 - STRAY) * normal * ELSEWHERE_SEMITONES))


# where a route has events of several pitches: share of the strongest candidate's salience from which another counts,
# and what it counts against the strongest, for an event of several pitches and for one that may leak
OTHER_SHARE, CHORD_COUNTS, SINGLE_COUNTS = 0.5, 0.7, 0.4
# log fit at the very pitch, and that of a whole frame
BEST_LOG = float(_log_fit(np.zeros(1))[0])
BEST_FIT = FRAME_WEIGHT * BEST_LOG


def pitch_fit(midi: Float64, pitches: tuple[float, ...], low: float, high: float) -> Float64:
    """How well pitches explain an event, each alone: log likelihood against any other sound, shape (frames,).

    midi : MIDI numbers with their fraction. pitches, low, high : of the event, as `Expected` has them.
    """
    distance = np.min([np.abs(midi - pitch) for pitch in pitches], axis=0)
    outside = np.maximum(np.maximum(low - midi, midi - high), 0.0)
    return np.asarray(np.maximum(_log_fit(distance), np.minimum(_log_fit(outside), ON_THE_WAY)))


def _others(seen: Observations, frames: npt.NDArray[np.intp]) -> Float64:
    """The other pitches that may sound in some frames, NaN for those too weak: shape (frames, candidates)."""
    strength = seen.strength[frames]
    weak = strength < OTHER_SHARE * strength.max(axis=1, keepdims=True)
    return np.where(weak, np.nan, seen.midi[frames].astype(np.float64))


def _with_others(fits: Float64, others: Float64, pitches: tuple[float, ...]) -> Float64:
    """The fit of frames to an event of which another pitch than the strongest may be heard."""
    near = np.full(len(fits), np.inf)
    for pitch in pitches:
        near = np.fmin(near, np.fmin.reduce(np.abs(others - pitch), axis=1, initial=np.inf))
    counts = CHORD_COUNTS if len(pitches) > 1 else SINGLE_COUNTS
    return np.asarray(np.maximum(fits, np.minimum(counts * _log_fit(near), BEST_LOG)))


def fit_of(
    score: Score, curve: PitchCurve, segments: Segments, seen: Observations | None = None
) -> tuple[Float64, npt.NDArray[np.intp]]:
    """The fit of every segment to every kind of event, and the kind of each event.

    seen : what was seen in the sound, by which events of several pitches are told by any of them.

    Returns
    -------
    Shapes (segments, kinds) and (events,); events of the same pitches are of one kind.
    """
    kinds: dict[tuple[tuple[float, ...], float, float], int] = {}
    kind_of = [kinds.setdefault((event.midi, event.low, event.high), len(kinds)) for event in score.events]
    voiced = np.flatnonzero(curve.voiced)
    midi, trust = curve.midi[voiced], curve.confidence[voiced]
    table = np.zeros((len(segments), len(kinds)))
    several = any(len(pitches) > 1 for pitches, _, _ in kinds)
    others = _others(seen, voiced) if seen is not None and several else None
    for (pitches, low, high), kind in kinds.items():
        frames = np.full(len(curve), UNVOICED)
        fits = pitch_fit(midi, pitches, low, high)
        if others is not None:
            fits = _with_others(fits, others, pitches)
        frames[voiced] = trust * fits + (1.0 - trust) * UNVOICED
        table[:, kind] = FRAME_WEIGHT * np.add.reduceat(frames, segments.cuts[:-1])
    return table, np.array(kind_of, dtype=np.intp)
