"""Chords: which sound under a record, and how they move.

Pitch class profiles are held against those of major and minor triads and of seventh chords (Fujishima, "Realtime
chord recognition of musical sound", Proc. ICMC 1999) with the overtones of their notes (Papadopoulos and Peeters,
"Large-scale study of chord estimation algorithms based on chroma representation and HMM", Proc. CBMI 2007), beside
the bass, which plays roots and fifths; the likeliest course stays on a chord for a while (Viterbi's search: Sheh and
Ellis, "Chord segmentation and recognition using EM-trained hidden Markov models", Proc. ISMIR 2003).

The same chords serve several keys, and only the way they move tells which of them is at home, so moves are told
apart (chord pairs tell keys: Noland and Sandler, "Key estimation using a hidden Markov model", Proc.
ISMIR 2006): a fifth down from a major chord, as a dominant goes, or from a minor one, which has no leading tone; a
fourth down, as a subdominant goes (in rock the commonest chord before the tonic: de Clercq and Temperley, "A corpus
analysis of rock harmony", Popular Music 30(1), 2011); a tone up.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from reedpath.hear.lead.courses import likeliest_course

Float64 = npt.NDArray[np.float64]

# semitones over the root: major, minor, dominant seventh
KINDS = ((0, 4, 7), (0, 3, 7), (0, 4, 7, 10))
MINOR, SEVENTH = 1, 2
# overtones of a note that count, and how much less each than the one before
OVERTONES, OVERTONE_SHARE = 5, 0.8
# log odds for likeness, for the bass on the root and for it on the fifth; price of a seventh, and of changing the
# chord. Set on the records of bench/hear_record_fit.py, where the root is right in 87 % of the windows
LIKENESS, BASS_ON_ROOT, BASS_ON_FIFTH, SEVENTH_COST, CHANGE_COST = 10.0, 4.0, 2.0, 0.3, 8.0
# windows under which a stretch is no chord (3/8 s)
FEWEST_WINDOWS = 3
# how plainly a third tells the mode: log odds for the whole difference of likeness, half of it from the stretch and
# half from all stretches on its root
PLAINNESS = 40.0
# chords of a key, by semitones over its tonic, and whether each is minor; None for either: a minor key's dominant.
# Common practice: those on the degrees of the scale, and the lowered seventh of rock and blues
MAJOR_KEY = {0: False, 2: True, 4: True, 5: False, 7: False, 9: True, 10: False}
MINOR_KEY = {0: True, 3: False, 5: True, 7: None, 8: False, 10: False}
# semitones from chord to chord: a fifth down, a fourth down, a tone up
FIFTH_DOWN, FOURTH_DOWN, TONE_UP = 5, 7, 2


@dataclass(frozen=True, slots=True)
class ChordStretch:
    """A chord for a while: pitch class of its root, probability that it is minor, windows."""

    root: int
    minor: float
    windows: int


@cache
def _templates() -> Float64:
    """The profile of each chord, of unit length, shape (kinds x 12, 12): all roots of a kind, then of the next."""
    rows = []
    for kind in KINDS:
        profile = np.zeros(12)
        for step in kind:
            for number in range(1, OVERTONES + 1):
                profile[(step + round(12 * np.log2(number))) % 12] += OVERTONE_SHARE ** (number - 1)
        rows += [np.roll(profile / np.linalg.norm(profile), root) for root in range(12)]
    return np.array(rows)


def chord_stretches(bass: Float64, whole: Float64) -> list[ChordStretch]:
    """The chords of a record, given the profiles of the bass and of the whole in each window, shape (windows, 12)."""
    templates = _templates()
    own = whole / (np.linalg.norm(whole, axis=1, keepdims=True) + 1e-9)
    like = own @ templates.T
    roots = np.tile(np.arange(12), len(KINDS))
    likelihoods = LIKENESS * like + BASS_ON_ROOT * bass[:, roots] + BASS_ON_FIFTH * bass[:, (roots + 7) % 12]
    likelihoods[:, 12 * SEVENTH :] -= SEVENTH_COST
    root = likeliest_course(likelihoods, CHANGE_COST) % 12
    windows = np.arange(len(root))
    leans = like[windows, 12 * MINOR + root] - like[windows, root]
    ends = [0, *(np.flatnonzero(np.diff(root)) + 1), len(root)]
    found = []
    for first, last in pairwise(ends):
        if last - first >= FEWEST_WINDOWS:
            lean = (leans[first:last].mean() + leans[root == root[first]].mean()) / 2
            found.append(
                ChordStretch(int(root[first]), float(1 / (1 + np.exp(-PLAINNESS * lean))), int(last - first))
            )
    return found


def _moves(chords: list[ChordStretch]) -> dict[tuple[int, bool], Float64]:
    """Share of the moves that go by so many semitones, from minor chords or others: to each root and mode."""
    moves = {(up, minor): np.zeros((12, 2)) for up in (FIFTH_DOWN, FOURTH_DOWN, TONE_UP) for minor in (False, True)}
    for before, after in pairwise(chords):
        up = (after.root - before.root) % 12
        if (up, False) in moves:
            modes = np.array([1 - after.minor, after.minor]) / (len(chords) - 1)
            moves[up, False][after.root] += (1 - before.minor) * modes
            moves[up, True][after.root] += before.minor * modes
    return moves


def key_chord_clues(chords: list[ChordStretch], tonic: int, mode: str) -> list[float]:
    """What the chords tell of a key.

    Share of the time on chords that the key has; on its tonic, and on the tonic of the other mode. Share of the
    moves that go to its tonic: from its dominant, from a minor one, from its subdominant, from a tone below; and to
    its fifth.
    """
    minor = mode == "minor"
    time, in_minor = np.zeros(12), np.zeros(12)
    for chord in chords:
        time[(chord.root - tonic) % 12] += chord.windows
        in_minor[(chord.root - tonic) % 12] += chord.minor * chord.windows
    total = float(time.sum()) + 1e-9
    shares = {None: time / total, True: in_minor / total, False: (time - in_minor) / total}
    moves, fifth = _moves(chords), (tonic + 7) % 12
    return [
        float(sum(shares[kind][step] for step, kind in (MINOR_KEY if minor else MAJOR_KEY).items())),
        float(shares[minor][0]),
        float(shares[not minor][0]),
        float(moves[FIFTH_DOWN, False][tonic, int(minor)]),
        float(moves[FIFTH_DOWN, True][tonic, int(minor)]),
        float(sum(moves[FOURTH_DOWN, kind][tonic, int(minor)] for kind in (False, True))),
        float(sum(moves[TONE_UP, kind][tonic, int(minor)] for kind in (False, True))),
        float(
            moves[FIFTH_DOWN, False][fifth].sum()
            + sum(moves[up, kind][fifth].sum() for up in (FOURTH_DOWN, TONE_UP) for kind in (False, True))
        ),
    ]
