"""Courses: the likeliest one through some states, and how likely a voice is on each of its candidates.

Viterbi's search; and for the probabilities the forward and backward sums through the same states (Baum, Petrie,
Soules and Weiss, "A maximization technique occurring in the statistical analysis of probabilistic functions of
Markov chains", Annals of Mathematical Statistics 41(1), 1970).
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

Float64 = npt.NDArray[np.float64]

# share of the log odds of a frame that counts, since neighbouring frames see the same sound, and their bounds;
# costs of a leap, of each semitone of a glide, and of turning between sound and silence: set on the development half
# of bench/hear_record_sounds.py
ODDS_SHARE, ODDS_BOUND = 0.5, 8.0
LEAP_COST, GLIDE_COST, GLIDE_SEMITONES, TURN_COST = 3.0, 1.5, 0.6, 3.0
# frames whose moves are made at once, and on each side of them that are looked at and not told
AT_ONCE, MARGIN = 2000, 300


def likeliest_course(likelihoods: npt.NDArray[np.floating], change_cost: float) -> npt.NDArray[np.intp]:
    """The state of each moment, where a change from any of them to any other costs the same.

    likelihoods : log likelihoods, shape (moments, states), of one moment at least.

    >>> likeliest_course(np.array([[2.0, 0.0], [0.0, 0.5], [2.0, 0.0], [0.0, 9.0]]), 1.0).tolist()
    [0, 0, 0, 1]
    """
    score, back, stays = likelihoods[0], [], np.arange(likelihoods.shape[1], dtype=np.int16)
    for row in likelihoods[1:]:
        best = int(score.argmax())
        changed = score[best] - change_cost
        back.append(np.where(changed > score, best, stays))
        score = np.maximum(score, changed) + row
    course = [int(score.argmax())]
    for came_from in back[::-1]:
        course.append(int(came_from[course[-1]]))
    return np.array(course[::-1], dtype=np.intp)


def _states(odds: npt.NDArray[np.floating]) -> Float64:
    """Log likelihood of each candidate and, last, of silence, shape (frames, candidates + 1)."""
    states = np.zeros((len(odds), odds.shape[1] + 1))
    states[:, :-1] = ODDS_SHARE * np.clip(odds, -ODDS_BOUND, ODDS_BOUND)
    return states


def _moves(midi: npt.NDArray[np.floating]) -> Float64:
    """What each move from frame to frame gains, shape (frames - 1, from, to)."""
    apart = np.abs(midi[1:, np.newaxis, :] - midi[:-1, :, np.newaxis])
    moves = np.full((len(apart), apart.shape[1] + 1, apart.shape[2] + 1), -TURN_COST)
    moves[:, :-1, :-1] = -np.where(apart < GLIDE_SEMITONES, apart * GLIDE_COST, LEAP_COST)
    moves[:, -1, -1] = 0.0
    return moves


def _moves_on(midi: npt.NDArray[np.floating]) -> Iterator[Float64]:
    """The moves into each frame but the first."""
    for start in range(0, len(midi) - 1, AT_ONCE):
        yield from _moves(midi[start : start + AT_ONCE + 1])


def likeliest_voice(
    midi: npt.NDArray[np.floating], odds: npt.NDArray[np.floating]
) -> tuple[npt.NDArray[np.intp], float]:
    """Index of the candidate that a voice is on in each frame, -1 for silence, and the log likelihood of them all.

    midi, odds : pitches of the candidates and their log odds of being the voice's, shape (frames, candidates).

    >>> midi = np.array([[60.0, 70.0]] * 4)
    >>> likeliest_voice(midi, np.array([[6.0, -6.0], [-1.0, 1.0], [6.0, -6.0], [6.0, -6.0]]))[0].tolist()
    [0, 0, 0, 0]
    """
    states, count = _states(odds), midi.shape[1]
    back = np.zeros((len(midi), count + 1), dtype=np.int8)
    score, rows = states[0], np.arange(count + 1)
    for frame, moves in enumerate(_moves_on(midi), start=1):
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


def voice_chances(midi: npt.NDArray[np.floating], odds: npt.NDArray[np.floating]) -> Float64:
    """Probability that a voice is on each candidate and, last, that it rests, shape (frames, candidates + 1).

    Arguments as for `likeliest_voice`.

    >>> midi = np.array([[60.0, 70.0]] * 3)
    >>> chances = voice_chances(midi, np.array([[6.0, -6.0], [0.0, 0.0], [6.0, -6.0]]))
    >>> bool(chances[1, 0] > 0.9), chances.sum(axis=1).round(6).tolist()
    (True, [1.0, 1.0, 1.0])
    """
    states = _states(odds)
    own = np.exp(states - states.max(axis=1, keepdims=True))
    moves = np.exp(_moves(midi))
    ahead, back = np.empty_like(own), np.ones_like(own)
    ahead[0] = own[0] / own[0].sum()
    for frame in range(1, len(own)):
        reached = (ahead[frame - 1] @ moves[frame - 1]) * own[frame]
        ahead[frame] = reached / reached.sum()
    for frame in range(len(own) - 2, -1, -1):
        left = moves[frame] @ (own[frame + 1] * back[frame + 1])
        back[frame] = left / left.sum()
    both = ahead * back
    return np.asarray(both / both.sum(axis=1, keepdims=True))


def course_chances(
    midi: npt.NDArray[np.floating], odds: npt.NDArray[np.floating], path: npt.NDArray[np.intp]
) -> Float64:
    """Probability that a voice is where a course has it, and that it rests, in each frame; shape (frames, 2).

    path : the course's candidates, -1 for silence. The rest as for `likeliest_voice`.
    """
    told = np.empty((len(midi), 2))
    for start in range(0, len(midi), AT_ONCE):
        first, end = max(0, start - MARGIN), min(len(midi), start + AT_ONCE)
        chances = voice_chances(midi[first : end + MARGIN], odds[first : end + MARGIN])[start - first : end - first]
        told[start:end, 0] = np.take_along_axis(chances, path[start:end, np.newaxis], axis=1)[:, 0]
        told[start:end, 1] = chances[:, -1]
    return told
