"""Fit what `reedpath.hear.lead` knows of records: its networks, and the weights for tempo and key.

    python bench/hear_record_fit.py --keep DIR                        all of it
    python bench/hear_record_fit.py --keep DIR --only harmony         one stage

The sounds are records drawn by lot (`hear_record_sounds.drawn` and those beside it; no bank of the held-out half has
the same part in them), kept in DIR from one run to the next. The stages come one after the other, each on what the
one before makes: looks (candidates), beginnings, notes, drums, harmony.
"""

from __future__ import annotations

import argparse
import json
import pickle
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import mir_eval
import numpy as np
from scipy.optimize import minimize

from hear_phrases import Specimen
from hear_record_sounds import Record, drawn, drawn_harmony, drawn_low, drawn_others
from reedpath.hear.lead import networks
from reedpath.hear.lead.bass import bass_line
from reedpath.hear.lead.beginnings import beginning_clues, beginnings_of
from reedpath.hear.lead.candidates import CLUE_NAMES, PASS_SHARE, Whereabouts, candidates_of, clue_table
from reedpath.hear.lead.cutting import cut_into_notes
from reedpath.hear.lead.doubt import NOTE_CLUES, note_clues
from reedpath.hear.lead.drums import DrumWeights, drum_candidates, drum_clues, struck_bands
from reedpath.hear.lead.following import follow
from reedpath.hear.lead.harmony import KEYS, HarmonyWeights, harmony_clues
from reedpath.hear.lead.stereo import stereo_at_rate

LEAD = Path(networks.__file__).parent
STAGES = ("looks", "beginnings", "notes", "drums", "harmony")
# those that are fitted on more low leads too, and on other banks
LOW_STAGES, OTHERS_STAGES = ("looks", "beginnings", "notes", "harmony"), ("looks", "beginnings", "notes")
# clues that tell nothing before range, place and timbre are known; and those that only the first look has
UNKNOWN_AT_FIRST = ("astray", "below", "above", "off_middle", "brightness_off", "roundness_off")
FIRST_ALONE = ("height", "depth")
# share of the frames that are fitted on: neighbours are alike
SHARE = 0.12
# semitones by which a range is found too low or too high, as it happens
RANGE_OFF = (-5, -3, -1, 0, 0, 1, 2)
# seconds from a true onset within which a frame is one, and within which it is neither
ON, NEAR = 0.0151, 0.041


class Fitting:
    """Rows of clues with what is true of each, gathered for one network."""

    def __init__(self) -> None:
        self.rows: list[np.ndarray] = []
        self.truths: list[np.ndarray] = []

    def add(self, rows: np.ndarray, truths: np.ndarray) -> None:
        self.rows.append(rows)
        self.truths.append(truths)

    def network(self, clues: tuple[str, ...], *, units: int, penalty: float, turns: int = 300, seed: int = 0) -> dict:
        """The weights that make the truths likeliest, less a penalty for large ones; inputs are scaled alike."""
        rows, truths = np.concatenate(self.rows), np.concatenate(self.truths).astype(np.float32)
        middle, spread = rows.mean(axis=0, dtype=float), rows.std(axis=0, dtype=float) + 1e-6
        scaled = ((rows - middle) / spread).astype(np.float32)
        count = scaled.shape[1]
        rng = np.random.default_rng(seed)
        start = np.concatenate(
            [rng.normal(0, 0.3, count * units), np.zeros(units), rng.normal(0, 0.3, units), [0.0], np.zeros(count)]
        )
        cuts = np.cumsum([count * units, units, units, 1])

        def parts(values):
            inner, bias, outer, plain, direct = np.split(values.astype(np.float32), cuts)
            return inner.reshape(count, units), bias, outer, plain[0], direct

        def loss(values):
            inner, bias, outer, plain, direct = parts(values)
            hidden = np.tanh(scaled @ inner + bias)
            odds = hidden @ outer + plain + scaled @ direct
            off = (1 / (1 + np.exp(-odds)) - truths) / len(truths)
            back = np.outer(off, outer) * (1 - hidden**2)
            slope = [(scaled.T @ back).ravel(), back.sum(axis=0), hidden.T @ off, [off.sum()], scaled.T @ off]
            cost = float((np.logaddexp(0, odds) - truths * odds).mean()) + penalty * float(values @ values)
            return cost, np.concatenate(slope) + 2 * penalty * values

        found = minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": turns})
        inner, bias, outer, plain, direct = parts(found.x)
        print(f"  {len(truths)} rows, {truths.mean():.1%} true, loss {found.fun:.4f}", flush=True)
        return {
            "clues": clues,
            "inner": short(inner / spread[:, np.newaxis]),
            "inner_bias": short(bias - (middle / spread) @ inner),
            "outer": short(outer),
            "direct": short(direct / spread),
            "bias": short(plain - (middle / spread) @ direct),
        }


def short(values):
    """Five digits of each number."""
    return [short(one) for one in values] if np.ndim(values) else float(f"{values:.5g}")


def choice(groups: list[np.ndarray], rights: list[np.ndarray], penalty: float = 0.003) -> np.ndarray:
    """Weights of a choice model (McFadden 1974): of each group the right ones are to be likeliest."""
    spread = np.concatenate(groups).std(axis=0) + 1e-9

    def loss(weights):
        cost, slope = 0.0, np.zeros(len(weights))
        for rows, right in zip(groups, rights, strict=True):
            odds = rows / spread @ weights
            chances = np.exp(odds - odds.max())
            chances /= chances.sum()
            inside = chances * right
            cost -= np.log(inside.sum() + 1e-12)
            slope -= (inside / (inside.sum() + 1e-12) - chances) @ (rows / spread)
        return cost / len(groups) + penalty * weights @ weights, slope / len(groups) + 2 * penalty * weights

    return minimize(loss, np.zeros(groups[0].shape[1]), jac=True, method="L-BFGS-B").x / spread


def put_network(name: str, found: dict) -> None:
    """Put a network into the file, and have it read again."""
    path = LEAD / "networks.json"
    all_of_them = json.loads(path.read_text()) if path.exists() else {}
    path.write_text(json.dumps(all_of_them | {name: found}, separators=(",", ":")) + "\n")
    networks._networks.cache_clear()


def put_weights(name: str, what: str, names: tuple[str, ...], weights: np.ndarray) -> None:
    lines = [f"# Log odds of a {what}, for each clue (see {name}.py)."]
    lines += ["# Fitted by bench/hear_record_fit.py; do not edit by hand."]
    lines += [f"{one} = {weight:.3f}" for one, weight in zip(names, weights, strict=True)]
    (LEAD / f"{name}.toml").write_text("\n".join(lines) + "\n")


def sounds(
    count: int, low_count: int, kept: Path, *, others_count: int = 0, chords_count: int = 0
) -> Iterator[tuple[int, Record, Specimen, np.ndarray]]:
    """Records as they come, two in five with a low lead, then some with low leads alone: these are heard worst.

    others_count : how many with other banks come after them. chords_count : how many with other ways of chords.
    """
    kept.mkdir(parents=True, exist_ok=True)
    counts = ((drawn, count), (drawn_low, low_count), (drawn_others, others_count), (drawn_harmony, chords_count))
    wanted = [(draw, number) for draw, many in counts for number in range(many)]
    for number, (draw, which) in enumerate(wanted):
        path = kept / f"{draw.__name__} {which}.pickle"
        if not path.exists():
            path.write_bytes(pickle.dumps(draw(which)))
        record, specimen = pickle.loads(path.read_bytes())
        yield number, record, specimen, stereo_at_rate(specimen.samples)


def truth_of(specimen: Specimen, frames: int) -> tuple[np.ndarray, np.ndarray]:
    """Pitch of the lead in each frame, NaN where it rests; and the frames of which this is sure."""
    seconds = np.arange(frames) * 0.01
    inside, near = np.zeros(frames, bool), np.zeros(frames, bool)
    for note in specimen.notes:
        inside |= (seconds > note.start + 0.01) & (seconds < note.end - 0.01)
        near |= (seconds > note.start - 0.03) & (seconds < note.end + 0.08)
    place = np.clip(np.searchsorted(specimen.curve[:, 0], seconds), 0, len(specimen.curve) - 1)
    inside &= np.abs(specimen.curve[place, 0] - seconds) < 0.006
    midi = np.interp(seconds, specimen.curve[:, 0], specimen.curve[:, 1])
    return np.where(inside, midi, np.nan), inside | ~near


def whereabouts_of(record: Record, specimen: Specimen, rng: np.random.Generator) -> Whereabouts:
    """Where the lead is, as it might have been found."""
    pitches = [note.midi for note in specimen.notes]
    low = min(pitches) + float(rng.choice(RANGE_OFF))
    return Whereabouts(
        low=low,
        high=max(pitches) + float(rng.choice([-2, -1, 0, 0, 1, 2])),
        place=float(np.sin(record.pan[0] * np.pi / 2) + rng.normal(0, 0.05)),
        masked=True,
        pass_hz=PASS_SHARE * 440 * 2 ** ((low - 69) / 12),
    )


def fit_looks(made: Callable[[], Iterator]) -> None:
    first, second = Fitting(), Fitting()
    late = tuple(name for name in CLUE_NAMES if name not in FIRST_ALONE)
    early = tuple(name for name in CLUE_NAMES if name not in UNKNOWN_AT_FIRST)
    for number, record, specimen, array in made():
        rng, bass = np.random.default_rng([number, 3]), bass_line(array)
        for fitting, names, where in (
            (first, early, Whereabouts()),
            (second, late, whereabouts_of(record, specimen, rng)),
        ):
            found = candidates_of(array, where)
            midi, sure = truth_of(specimen, len(found.midi))
            right = (np.abs(found.midi - midi[:, np.newaxis]) < 0.5) & (found.strength > 0)
            if fitting is second and right.any():
                known = {"brightness": float(np.median(found.brightness[right]))}
                known["roundness"] = float(np.median(found.roundness[right]))
                where = Whereabouts(where.low, where.high, where.place, **known, masked=True, pass_hz=where.pass_hz)
            rows = clue_table(found, where, bass)[..., [CLUE_NAMES.index(name) for name in names]]
            taken = (sure & (rng.random(len(sure)) < SHARE))[:, np.newaxis] & (found.strength > 0)
            fitting.add(rows[taken], right[taken])
    put_network("first_look", first.network(early, units=10, penalty=1e-4))
    put_network("second_look", second.network(late, units=12, penalty=1e-4))


def fit_beginnings(made: Callable[[], Iterator]) -> None:
    fitting = Fitting()
    for number, _, specimen, array in made():
        rng = np.random.default_rng([number, 4])
        frames, rows = beginning_clues(array, follow(array))
        onsets = np.array([note.start for note in specimen.notes])
        off = np.abs(frames[:, np.newaxis] * 0.01 - onsets).min(axis=1) if len(frames) else np.zeros(0)
        taken = (off < ON) | ((off > NEAR) & (rng.random(len(off)) < 0.7))
        if taken.any():
            fitting.add(rows[taken], off[taken] < ON)
    names = tuple(f"c{index}" for index in range(fitting.rows[0].shape[1]))
    put_network("beginnings", fitting.network(names, units=16, penalty=1e-4))


def fit_notes(made: Callable[[], Iterator]) -> None:
    fitting = Fitting()
    for _, _, specimen, array in made():
        lead = follow(array)
        odds = beginnings_of(array, lead)
        notes = cut_into_notes(lead, odds)
        if not notes:
            continue
        spans = np.array([[note.start, note.end] for note in specimen.notes])
        found = np.array(
            [[max(0.0, n.start_seconds), max(n.end_seconds, n.start_seconds + 0.01, 0.01)] for n in notes]
        )
        true, heard = (440 * 2 ** ((np.array([n.midi for n in one]) - 69) / 12) for one in (specimen.notes, notes))
        pairs = mir_eval.transcription.match_notes(spans, true, found, heard, offset_ratio=None)
        right = np.zeros(len(notes), bool)
        right[[index for _, index in pairs]] = True
        fitting.add(note_clues(lead, notes, odds), right)
    put_network("right_notes", fitting.network(NOTE_CLUES, units=6, penalty=1e-3, turns=200))


def fit_drums(made: Callable[[], Iterator]) -> None:
    groups, rights = [], []
    for _, record, _, array in made():
        struck = struck_bands(array)
        tried = drum_candidates(struck)
        bpm = np.array([60 / np.polyfit(np.arange(len(beats)), beats, 1)[0] for beats in tried])
        right = (np.abs(bpm / record.bpm - 1) < 0.04).astype(float)
        if right.any():
            groups.append(np.array([drum_clues(beats, struck) for beats in tried]))
            rights.append(right)
    weights = choice(groups, rights)
    told = sum(right[np.argmax(rows @ weights)] for rows, right in zip(groups, rights, strict=True))
    print(f"  tempo: {told:.0f} of {len(groups)}")
    put_weights("drums", "tempo", DrumWeights.__struct_fields__, weights)


def fit_harmony(made: Callable[[], Iterator]) -> None:
    groups, rights = [], []
    for _, record, _, array in made():
        rows = harmony_clues(array)
        groups.append(rows)
        rights.append(np.array([float((key.tonic, key.mode) == (record.tonic, record.mode)) for key in KEYS]))
    for part in (0, 1):
        weights = choice(groups[part::2], rights[part::2])
        other = list(zip(groups[1 - part :: 2], rights[1 - part :: 2], strict=True))
        told = sum(right[np.argmax(rows @ weights)] for rows, right in other)
        print(f"  key, fitted on one half and told in the other: {told:.0f} of {len(other)}")
    put_weights("harmony", "key", HarmonyWeights.__struct_fields__, choice(groups, rights))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--keep", type=Path, required=True, help="folder of the sounds")
    parser.add_argument("--count", type=int, default=72, help="how many records")
    parser.add_argument(
        "--low", type=int, default=0, help="how many more with a low lead, for looks, beginnings, notes and harmony"
    )
    parser.add_argument(
        "--others", type=int, default=0, help="how many more of other banks, for looks, beginnings, notes"
    )
    parser.add_argument("--chords", type=int, default=100, help="how many with other ways of chords, for harmony")
    parser.add_argument("--only", choices=STAGES, action="append", help="this stage")
    asked = parser.parse_args()
    for name, fit in zip(STAGES, (fit_looks, fit_beginnings, fit_notes, fit_drums, fit_harmony), strict=True):
        if not asked.only or name in asked.only:
            print(name, flush=True)
            counts = {
                "low_count": asked.low if name in LOW_STAGES else 0,
                "others_count": asked.others if name in OTHERS_STAGES else 0,
                "chords_count": asked.chords if name == "harmony" else 0,
            }
            fit(partial(sounds, asked.count, kept=asked.keep, **counts))


if __name__ == "__main__":
    main()
