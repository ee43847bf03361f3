"""Fit the weights of boundaries.toml on the development half of the glued phrases, and print the file.

    python bench/hear_fit.py > src/reedpath/hear/boundaries.toml

A moment counts as a beginning when a true onset lies within 60 ms and no other moment, nor the start of the stretch,
is nearer to it.
"""

from __future__ import annotations

import sys

import numpy as np
from scipy.optimize import minimize

from hear_phrases import CONDITIONS, melody, players, under
from reedpath.hear.boundaries import CLUE_NAMES, _moments, clue_rows
from reedpath.hear.clues import clues_of
from reedpath.hear.frames import HOP_SECONDS
from reedpath.hear.notes import stretches
from reedpath.hear.observing import observe
from reedpath.hear.pitch_curve import curve_of

# seconds within which a moment belongs to an onset
NEAR_SECONDS = 0.06
SEEDS, SECONDS = (1, 2, 3, 4), 12.0


def rows_and_labels(specimen):
    seen = observe(specimen.samples)
    curve, clues = curve_of(seen), clues_of(seen)
    onsets = np.array([note.start for note in specimen.notes])
    for start, end in stretches(curve.voiced):
        midi = curve.midi[start:end]
        moments = _moments(midi, clues, start) if end - start >= 8 else {}
        if not moments:
            continue
        times = np.array([start * HOP_SECONDS, *moments.values()])
        apart = np.abs(times[:, None] - onsets)
        nearest = apart.argmin(axis=1)
        label = (apart.min(axis=1) < NEAR_SECONDS) & (apart[:, nearest].min(axis=0) >= apart.min(axis=1) - 1e-9)
        yield clue_rows(midi, clues, start, np.array(list(moments))), label[1:]


def main() -> None:
    rows, labels = [], []
    for player in players(held_back=False):
        for seed in SEEDS:
            plain = melody(player, seconds=SECONDS, seed=seed)
            for condition in CONDITIONS:
                for some, label in rows_and_labels(under(plain, condition, seed=seed)):
                    rows.append(some)
                    labels.append(label)
    x, y = np.concatenate(rows), np.concatenate(labels).astype(float)

    def loss(weights):
        odds = x @ weights
        return np.mean(np.logaddexp(0, odds) - y * odds) + 2e-4 * np.square(weights[1:]).sum()

    weights = minimize(loss, np.zeros(x.shape[1]), method="BFGS").x
    right = np.mean((x @ weights > 0) == (y > 0))
    print("# Log odds that a new note begins at a moment, for each clue (see boundaries.py).")
    print("# Fitted by bench/hear_fit.py; do not edit by hand.")
    for name, weight in zip(CLUE_NAMES, weights, strict=True):
        print(f"{name} = {weight:.3f}")
    sys.stdout.flush()
    print(f"{len(y)} moments, {y.mean():.1%} beginnings, {right:.2%} told right", file=sys.stderr)


if __name__ == "__main__":
    main()
