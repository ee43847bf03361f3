"""Fit what `reedpath.hear.lead` knows of records: its networks, and the weights for tempo and key.

    python bench/hear_record_fit.py --keep DIR                        all of it
    python bench/hear_record_fit.py --keep DIR --only harmony         one stage

The sounds are records drawn by lot (`hear_record_sounds.drawn` and those beside it; no bank of the held-out half has
the same part in them), kept in DIR from one run to the next. The stages come one after the other, each on what the
one before makes: looks (candidates), context, beginnings, notes, drums, harmony.

What a stage learns from is heard as it will be heard: by networks that were fitted without the banks of the record in
question. So each stage up to the beginnings is fitted on all banks, and once without each pair of banks; these are
kept in DIR too.
"""

from __future__ import annotations

import argparse
import json
import pickle
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import mir_eval
import msgspec
import numpy as np
from scipy.optimize import minimize

from hear_phrases import Specimen
from hear_record_sounds import Record, drawn, drawn_harmony, drawn_low, drawn_others
from reedpath.hear.lead import networks
from reedpath.hear.lead.bass import bass_line
from reedpath.hear.lead.beginnings import beginning_clues, beginnings_of
from reedpath.hear.lead.candidates import CLUE_NAMES, PASS_SHARE, Whereabouts, candidates_of, clue_table
from reedpath.hear.lead.contexts import CONTEXT_NAMES, context_clues
from reedpath.hear.lead.cutting import cut_into_notes
from reedpath.hear.lead.doubt import NOTE_CLUES, note_clues
from reedpath.hear.lead.drums import DrumWeights, drum_candidates, drum_clues, struck_bands
from reedpath.hear.lead.following import follow, found_by_frames
from reedpath.hear.lead.harmony import KEYS, HarmonyWeights, harmony_clues
from reedpath.hear.lead.stereo import pieces_of, stereo_at_rate

LEAD = Path(networks.__file__).parent
STAGES = ("looks", "context", "beginnings", "notes", "drums", "harmony")
# those that are fitted on other banks, and those on more low leads too
OTHERS_STAGES = ("looks", "context", "beginnings", "notes")
LOW_STAGES = (*OTHERS_STAGES, "harmony")
# clues that tell nothing before range, place and timbre are known; and those that only the first look has
UNKNOWN_AT_FIRST = ("astray", "below", "above", "off_middle", "brightness_off", "roundness_off")
FIRST_ALONE = ("height", "depth")
# share of the frames that are fitted on: neighbours are alike
SHARE = 0.12
# semitones by which a range is found too low or too high, as it happens
RANGE_OFF = (-5, -3, -1, 0, 0, 1, 2)
# fits of the notes' doubt, whose mean is taken: there are few notes, and each fit ends elsewhere
NOTE_FITS = 6
# seconds from a true onset within which a frame is one, and within which it is neither
ON, NEAR = 0.0151, 0.041


def banks_of(record: Record) -> str:
    """The banks of a record's lead and bass: what is kept out together."""
    return f"{record.lead[0]} over {record.bass[0]}"


class Fitting:
    """Rows of clues with what is true of each, gathered by banks for one network."""

    def __init__(self) -> None:
        self.rows: dict[str, list[np.ndarray]] = defaultdict(list)
        self.truths: dict[str, list[np.ndarray]] = defaultdict(list)

    def add(self, record: Record, rows: np.ndarray, truths: np.ndarray) -> None:
        self.rows[banks_of(record)].append(rows)
        self.truths[banks_of(record)].append(truths)

    def put(self, name: str, clues: tuple[str, ...], kept: Path, *, units: int, turns: int = 300) -> None:
        """Fit on all banks, into the file of networks, and without each pair of banks, into the folder."""
        put_network(name, self.network(clues, units=units, penalty=1e-4, turns=turns))
        for banks in self.rows:
            if len(self.rows) > 1:
                found = self.network(clues, units=units, penalty=1e-4, turns=turns, without=banks)
                path = left_out_path(kept, banks)
                read = json.loads(path.read_text()) if path.exists() else {}
                path.write_text(json.dumps(read | {name: found}))

    def network(
        self,
        clues: tuple[str, ...],
        *,
        units: int,
        penalty: float,
        turns: int = 300,
        seed: int = 0,
        without: str = "",
    ) -> dict:
        """The weights that make the truths likeliest, less a penalty for large ones; inputs are scaled alike."""
        rows, truths = (
            np.concatenate([one for banks, some in parts.items() if banks != without for one in some])
            for parts in (self.rows, self.truths)
        )
        truths = truths.astype(np.float32)
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


def left_out_path(kept: Path, banks: str) -> Path:
    return kept / f"networks without {banks}.json"


@contextmanager
def strangers(record: Record, kept: Path) -> Iterator[None]:
    """Meanwhile the networks that were fitted without the banks of a record are those that hear."""
    usual, path = networks._networks, left_out_path(kept, banks_of(record))
    if path.exists():
        known = usual() | msgspec.json.decode(path.read_bytes(), type=dict[str, networks.Network])
        networks._networks = lambda: known
    try:
        yield
    finally:
        networks._networks = usual


def mean_of(found: list[dict]) -> dict:
    """One network whose log odds are the mean of those of several."""
    rows = [[number for one in found for number in one["inner"][row]] for row in range(len(found[0]["inner"]))]
    return {
        "clues": found[0]["clues"],
        "inner": rows,
        "inner_bias": [number for one in found for number in one["inner_bias"]],
        "outer": short(np.concatenate([one["outer"] for one in found]) / len(found)),
        "direct": short(np.mean([one["direct"] for one in found], axis=0)),
        "bias": short(np.mean([one["bias"] for one in found])),
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


def fit_looks(made: Callable[[], Iterator], kept: Path) -> None:
    first, second = Fitting(), Fitting()
    late = tuple(name for name in CLUE_NAMES if name not in FIRST_ALONE)
    early = tuple(name for name in CLUE_NAMES if name not in UNKNOWN_AT_FIRST)
    for number, record, specimen, array in made():
        rng, bass = np.random.default_rng([number, 3]), bass_line(array)
        for fitting, names, where in (
            (first, early, Whereabouts()),
            (second, late, whereabouts_of(record, specimen, rng)),
        ):
            found = candidates_of(pieces_of(array), where)
            midi, sure = truth_of(specimen, len(found.midi))
            right = (np.abs(found.midi - midi[:, np.newaxis]) < 0.5) & (found.strength > 0)
            if fitting is second and right.any():
                known = {"brightness": float(np.median(found.brightness[right]))}
                known["roundness"] = float(np.median(found.roundness[right]))
                where = Whereabouts(where.low, where.high, where.place, **known, masked=True, pass_hz=where.pass_hz)
            rows = clue_table(found, where, bass)[..., [CLUE_NAMES.index(name) for name in names]]
            taken = (sure & (rng.random(len(sure)) < SHARE))[:, np.newaxis] & (found.strength > 0)
            fitting.add(record, rows[taken], right[taken])
    first.put("first_look", early, kept, units=10)
    second.put("second_look", late, kept, units=12)


def fit_context(made: Callable[[], Iterator], kept: Path) -> None:
    fitting = Fitting()
    late = tuple(name for name in CLUE_NAMES if name not in FIRST_ALONE)
    columns = [CLUE_NAMES.index(name) for name in late]
    for number, record, specimen, array in made():
        rng = np.random.default_rng([number, 5])
        with strangers(record, kept):
            look = found_by_frames(array)
            if look is None:
                continue
            rows = np.concatenate(
                [context_clues(look.found, look.clues, look.odds), look.clues[..., columns]], axis=-1
            )
        midi, sure = truth_of(specimen, len(look.found.midi))
        right = (np.abs(look.found.midi - midi[:, np.newaxis]) < 0.5) & (look.found.strength > 0)
        taken = (sure & (rng.random(len(sure)) < SHARE))[:, np.newaxis] & (look.found.strength > 0)
        fitting.add(record, rows[taken], right[taken])
    fitting.put("in_context", CONTEXT_NAMES + late, kept, units=12, turns=150)


def fit_beginnings(made: Callable[[], Iterator], kept: Path) -> None:
    fitting = Fitting()
    for number, record, specimen, array in made():
        rng = np.random.default_rng([number, 4])
        with strangers(record, kept):
            frames, rows = beginning_clues(array, follow(array))
        onsets = np.array([note.start for note in specimen.notes])
        off = np.abs(frames[:, np.newaxis] * 0.01 - onsets).min(axis=1) if len(frames) else np.zeros(0)
        taken = (off < ON) | ((off > NEAR) & (rng.random(len(off)) < 0.7))
        if taken.any():
            fitting.add(record, rows[taken], off[taken] < ON)
            width = rows.shape[1]
    fitting.put("beginnings", tuple(f"c{index}" for index in range(width)), kept, units=16, turns=150)


def fit_notes(made: Callable[[], Iterator], kept: Path) -> None:
    fitting = Fitting()
    for _, record, specimen, array in made():
        with strangers(record, kept):
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
        fitting.add(record, note_clues(lead, notes, odds), right)
    found = [fitting.network(NOTE_CLUES, units=6, penalty=1e-3, turns=100, seed=seed) for seed in range(NOTE_FITS)]
    put_network("right_notes", mean_of(found))


def fit_drums(made: Callable[[], Iterator], kept: Path) -> None:
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


def fit_harmony(made: Callable[[], Iterator], kept: Path) -> None:
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


FITS = (fit_looks, fit_context, fit_beginnings, fit_notes, fit_drums, fit_harmony)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--keep", type=Path, required=True, help="folder of the sounds")
    parser.add_argument("--count", type=int, default=72, help="how many records")
    parser.add_argument(
        "--low", type=int, default=0, help="how many more with a low lead, for looks to notes and harmony"
    )
    parser.add_argument("--others", type=int, default=0, help="how many more of other banks, for looks to notes")
    parser.add_argument("--chords", type=int, default=100, help="how many with other ways of chords, for harmony")
    parser.add_argument("--only", choices=STAGES, action="append", help="this stage")
    asked = parser.parse_args()
    for name, fit in zip(STAGES, FITS, strict=True):
        if not asked.only or name in asked.only:
            print(name, flush=True)
            counts = {
                "low_count": asked.low if name in LOW_STAGES else 0,
                "others_count": asked.others if name in OTHERS_STAGES else 0,
                "chords_count": asked.chords if name == "harmony" else 0,
            }
            fit(partial(sounds, asked.count, kept=asked.keep, **counts), asked.keep)


if __name__ == "__main__":
    main()
