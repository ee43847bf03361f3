"""How often the tempo and the rhythm of real tunes are told from their onsets alone.

    python bench/hear_beats.py                                       how often
    python bench/hear_beats.py --fit > src/reedpath/hear/beats.toml  fit the weights on the even half

Fiddle tunes (Ryan's, O'Neill's and Aird's collections) and the top lines of chorales by J. S. Bach, read from
music21's corpus in the installed package: their first twenty beats played at a random tempo that drifts by up
to 3 %, every onset 12 ms off (standard deviation), a third of the simple metres shuffled. No accents: less
than a recording tells. The weights of `hear.beats` are fitted on the tunes of even number; the others are
kept back.
"""

from __future__ import annotations

import argparse
import random
import warnings

import numpy as np
from scipy.optimize import minimize

from reedpath.hear import HeardNote, find_beats
from reedpath.hear.beats import CLUE_NAMES, beat_candidates, beat_clues
from reedpath.phrase import beats_of, onto_grid

COLLECTIONS = ("ryans", "oneill", "airds")
TUNES, CHORALES, BEATS, JITTER_SECONDS, TURNS = 110, 60, 20, 0.012, 3
NOTHING = np.zeros(0)


def _line(score) -> tuple[str, list[tuple[float, float]]] | None:
    """Metre and notes (onset and length in quarter notes) of the top line of a score."""
    score = score.scores[0] if getattr(score, "scores", None) else score
    flat = (score.parts[0] if len(score.parts) else score).flatten()
    metres = flat.getElementsByClass("TimeSignature")
    notes = [(float(n.offset), float(n.quarterLength)) for n in flat.notes if not n.duration.isGrace]
    return (metres[0].ratioString, notes) if metres and len(notes) > 12 else None


def tunes() -> list[tuple[str, list[tuple[float, float]]]]:
    warnings.simplefilter("ignore")
    from music21 import converter, corpus

    fiddle = sorted(p for p in map(str, corpus.getPaths()) if any(name in p.lower() for name in COLLECTIONS))
    random.Random(5).shuffle(fiddle)
    chorales = sorted(p for p in map(str, corpus.getComposer("bach")) if p.endswith(".mxl"))
    random.Random(5).shuffle(chorales)
    found = []
    for path in fiddle[:TUNES] + chorales[:CHORALES]:
        try:
            line = _line(converter.parse(path))
        except Exception:  # noqa: BLE001  a tune that the library cannot read is not ours to mend
            continue
        if line:
            found.append(line)
    return found


def played(metre: str, notes: list, rng: np.random.Generator):
    """Heard notes, their true onsets in beats, and the true mean tempo."""
    beat = 1.5 if metre in ("6/8", "9/8", "12/8") else 1.0
    bpm, drift = rng.uniform(60, 150), rng.uniform(-0.03, 0.03)
    shuffled = beat == 1.0 and rng.random() < 1 / 3
    first = notes[0][0] / beat
    kept = [(o / beat - first + first % 1, d / beat) for o, d in notes]
    kept = sorted((o, d) for o, d in kept if o < BEATS)

    def second(onset: float) -> float:
        whole, part = divmod(onset + 1e-9, 1)
        if shuffled:
            part = part * 4 / 3 if part < 0.5 else 2 / 3 + (part - 0.5) * 2 / 3
        at = whole + part
        return 0.3 + at * 60 / bpm * (1 + drift * at / BEATS)

    heard = []
    for onset, length in kept:
        start = max(0.0, second(onset) + rng.normal(0, JITTER_SECONDS))
        end = start + 0.9 * length * 60 / bpm
        heard.append((HeardNote(start, end, 69, 0.0, 1.0, -10.0, True, NOTHING, NOTHING), onset))
    heard.sort(key=lambda pair: pair[0].start_seconds)
    return [note for note, _ in heard], [onset for _, onset in heard], bpm / (1 + drift / 2)


def share_on_grid(notes, onsets, beats) -> float:
    starts = beats_of([note.start_seconds for note in notes], beats)
    grid = onto_grid(starts, beats_of([note.end_seconds for note in notes], beats))
    off = np.array([float(found) - true for found, true in zip(grid.onsets, onsets, strict=True)])
    return float(np.mean(np.abs(off - np.median(off)) < 0.01))


def right_of(bpm: float, true: float) -> float:
    """1 for the tempo, 0.3 for its half or double, 0 for any other."""
    octaves = np.log2(bpm / true)
    if abs(octaves) < 0.06:
        return 1.0
    return 0.3 if abs((octaves + 0.5) % 1 - 0.5) < 0.06 else 0.0


def fit() -> None:
    choices = []
    for index, (metre, notes) in enumerate(tunes()):
        for turn in range(TURNS if index % 2 == 0 else 0):
            heard, _, bpm = played(metre, notes, np.random.default_rng([index, turn]))
            onsets = np.array(sorted({round(note.start_seconds, 3) for note in heard}))
            laid = beat_candidates(onsets, heard[-1].end_seconds)
            right = np.array([right_of(60 / np.median(np.diff(beats)), bpm) for beats in laid])
            if right.any():
                choices.append((np.array([beat_clues(beats, onsets) for beats in laid]), right))
    scale = np.concatenate([clues for clues, _ in choices]).std(axis=0)

    def loss(weights):
        total = 0.0
        for clues, right in choices:
            odds = clues / scale @ weights
            share = np.exp(odds - odds.max())
            total -= np.log((share * right).sum() / share.sum() + 1e-9)
        return total / len(choices) + 0.005 * np.square(weights).sum()

    weights = minimize(loss, np.zeros(len(CLUE_NAMES)), method="BFGS").x / scale
    print("# Log odds of a tempo, for each clue (see beats.py).")
    print("# Fitted by bench/hear_beats.py --fit; do not edit by hand.")
    for name, weight in zip(CLUE_NAMES, weights, strict=True):
        print(f"{name} = {weight:.3f}")


def measure() -> None:
    results = {0: [], 1: []}
    for index, (metre, notes) in enumerate(tunes()):
        for turn in range(TURNS):
            heard, onsets, bpm = played(metre, notes, np.random.default_rng([index, turn]))
            beats = find_beats(heard)
            octaves = np.log2(beats.bpm / bpm) if beats else np.nan
            same = abs(octaves) < 0.06
            octave = abs((octaves + 0.5) % 1 - 0.5) < 0.06
            grid = share_on_grid(heard, onsets, beats.seconds) if same else np.nan
            results[index % 2].append((same, octave, grid))
    for half, name in ((0, "of the fitted half"), (1, "kept back")):
        table = np.array(results[half], dtype=float)
        print(
            f"{len(table)} performances {name}: tempo right {table[:, 0].mean():.0%}, right or its half or "
            f"double {table[:, 1].mean():.0%}; where it is right, onsets written right {np.nanmean(table[:, 2]):.0%}"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--fit", action="store_true", help="fit and print the weights")
    if parser.parse_args().fit:
        fit()
    else:
        measure()


if __name__ == "__main__":
    main()
