"""Octaves, twelfths and fifteenths struck together: how often they are told from a single note, and the weights.

    python bench/hear_octaves.py                                            hits and false alarms, the half kept back
    python bench/hear_octaves.py --fit > src/reedpath/hear/harmonic.toml    weights, from the development half

Strikes of half a second, glued as in hear_phrases.py: single notes and pairs, the upper note 6 dB softer to 4 dB
louder than the lower. The question put to each strike, whether a second note sounds over its lowest, is the one that
`pair_log_odds` answers; once knowing no other note, once with the single notes of the same sound.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterator

import numpy as np
from scipy.optimize import minimize

from hear_phrases import CONDITIONS, Plan, Player, glue, players, under
from reedpath.hear import observe
from reedpath.hear.harmonic import (
    APART_NAMES,
    CLUE_NAMES,
    PARTINGS,
    apart_row,
    clue_row,
    pair_log_odds,
    partials_between,
)

# seconds from strike to strike, that each is held, and of each sound
APART, HELD, SECONDS = 0.62, 0.5, 12.0
# what is struck: semitones over the lower note, None for one note alone
OTHERS = (3, 4, 5, 7, 8, 9)
STRUCK = (*[None] * 6, *PARTINGS, *PARTINGS, *OTHERS)
SEEDS, KEPT_SEEDS = (1, 2, 3, 4), (101, 102, 103)


def strikes(player: Player, seed: int) -> tuple[list[Plan], list[tuple[float, int, int | None]]]:
    rng = np.random.default_rng([seed, 13, *player.name.encode()])
    plans, truth = [], []
    for number in range(int((SECONDS - 1) / APART)):
        at, above = 0.25 + number * APART, STRUCK[int(rng.integers(len(STRUCK)))]
        low = int(rng.integers(player.low, player.high + 1 - (above or 0)))
        plans.append(Plan(at, HELD, low, decibels=rng.uniform(-6, 0)))
        if above is not None:
            decibels = plans[-1].decibels + rng.uniform(-6, 4)
            plans.append(Plan(at + rng.uniform(0, 0.012), HELD, low + above, decibels=decibels))
        truth.append((at, low, above))
    return plans, truth


def examples(*, held_back: bool) -> Iterator[tuple[str, str, object, list[tuple[float, int, int | None]]]]:
    """Instrument, condition, what was seen, and the truth of each strike."""
    for player in players(held_back=held_back):
        if "bent" in player.name and "guitar" not in player.name:
            continue
        for seed in KEPT_SEEDS if held_back else SEEDS:
            plans, truth = strikes(player, seed)
            plain = glue(player, plans, SECONDS, player.name)
            for condition in CONDITIONS:
                seen = observe(under(plain, condition, seed=seed).samples, chords=True)
                yield player.name, condition, seen, truth


def _weights(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Weights of a logistic regression in which pairs and single notes count alike."""
    share = np.where(y > 0, 0.5 / y.mean(), 0.5 / (1 - y.mean()))

    def loss(weights):
        odds = x @ weights
        return np.mean(share * (np.logaddexp(0, odds) - y * odds)) + 1e-3 * np.square(weights[1:]).sum()

    return minimize(loss, np.zeros(x.shape[1]), method="BFGS").x


def fit() -> None:
    rows, labels = defaultdict(list), defaultdict(list)
    for _, _, seen, truth in examples(held_back=False):
        seen_at = [partials_between(seen, at, at + HELD) for at, *_ in truth]
        for (_, low, above), partials in zip(truth, seen_at, strict=True):
            single = [
                (*other, midi)
                for (_, midi, pair), other in zip(truth, seen_at, strict=True)
                if pair is None and other is not partials and abs(midi - low) < 8
            ]
            for semitones, part in PARTINGS.items():
                if above in (None, semitones):
                    rows[f"above_{semitones}"] += [clue_row(*partials, low, part, known) for known in ((), single)]
                    labels[f"above_{semitones}"] += [above is not None] * 2
            if above is None or above in OTHERS:
                asked = OTHERS if above is None else (above,)
                rows["apart"] += [apart_row(*partials, low, low + semitones) for semitones in asked]
                labels["apart"] += [above is not None] * len(asked)
    print("# Log odds that a second note sounds over another, for each clue (see harmonic.py).")
    print("# Fitted by bench/hear_octaves.py; do not edit by hand.")
    for name, some in rows.items():
        x, y = np.array(some), np.array(labels[name], dtype=float)
        weights = _weights(x, y)
        odds = x @ weights
        print(f"\n[{name}]")
        for clue, weight in zip(APART_NAMES if name == "apart" else CLUE_NAMES, weights, strict=True):
            print(f"{clue} = {weight:.4f}")
        sys.stdout.flush()
        for least in (0, 2, 3):
            hits, false = np.mean(odds[y > 0] > least), np.mean(odds[y == 0] > least)
            print(f"{name}: over {least}: {hits:.1%} hits, {false:.1%} false", file=sys.stderr)


def table(least: float) -> None:
    odds = defaultdict(list)
    kinds = (*PARTINGS, "others")
    for name, condition, seen, truth in examples(held_back=True):
        singles = [(at, at + HELD, low) for at, low, above in truth if above is None]
        for at, low, above in truth:
            for semitones in (*PARTINGS, *OTHERS):
                if above not in (None, semitones):
                    continue
                span = (at, at + HELD)
                known = [one for one in singles if one[0] != at]
                values = [pair_log_odds(seen, span, low, low + semitones, alone=alone) for alone in ((), known)]
                for group in (name, condition, "all"):
                    odds[group, semitones if semitones in PARTINGS else "others", above is not None].append(values)
    groups = list(dict.fromkeys(group for group, *_ in odds))
    print("| |" + "".join(f" {kind} | {kind}, singles known |" for kind in kinds))
    print("|---" * (2 * len(kinds) + 1) + "|")
    for group in [*(g for g in groups if g != "all"), "all"]:
        cells = []
        for kind in kinds:
            hits, false = (np.mean(np.array(odds[group, kind, pair]) > least, axis=0) for pair in (True, False))
            cells += [f"{hits[known]:.0%}, {false[known]:.1%} false" for known in (0, 1)]
        print(f"| {group} | {' | '.join(cells)} |")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--fit", action="store_true", help="print weights fitted on the development half")
    parser.add_argument("--least", type=float, default=0.0, help="log odds from which a pair is told")
    asked = parser.parse_args()
    if asked.fit:
        fit()
    else:
        table(asked.least)


if __name__ == "__main__":
    main()
