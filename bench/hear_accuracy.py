"""How well hearing does on sound that nobody here made, beside off-the-shelf trackers, in one run.

    python bench/hear_accuracy.py                            ours alone
    python bench/hear_rivals.py --install DIR                the others' environment, once
    python bench/hear_accuracy.py --rivals DIR --write       all, into docs/accuracy.md
    python bench/hear_accuracy.py --low-strings              low strings by telephone, development half

Notes by mir_eval's definitions (onset within 50 ms, pitch within 50 cents; a note counts once). Errors of
onset and pitch are those of the notes that count, in absolute value. The instruments are the half that was
kept back: no number of the tracker was set on them.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import tempfile
import time
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import mir_eval
import numpy as np

from hear_phrases import CONDITIONS, Specimen, by_phone_from, double_stops, melody, players, under
from reedpath.hear import curve_of, notes_of, observe, with_double_stops
from reedpath.signal import encode
from tables import put_between

DOCUMENT = Path(__file__).parents[1] / "docs" / "accuracy.md"
MARKS = ("<!-- hearing: made by bench/hear_accuracy.py -->", "<!-- end of hearing -->")
OURS = "reedpath"
STRUNG = ("steel strings", "nylon strings")
# MIDI numbers of low melodies, hertz from which telephones pass them, and seeds
LOW_RANGE, CUTS_HZ, LOW_SEEDS = (40, 56), (300, 400, 500, 600, 700), (11, 12, 13, 14)


def specimens(seeds: int, seconds: float) -> list[Specimen]:
    made = []
    for player in players(held_back=True):
        for seed in range(101, 101 + seeds):
            plain = melody(player, seconds=seconds, seed=seed)
            made += [under(plain, condition, seed=seed) for condition in CONDITIONS]
            if player.name in STRUNG:
                stops = double_stops(player, seconds=seconds, seed=seed)
                made += [under(stops, condition, seed=seed) for condition in CONDITIONS]
    return made


def ours(specimen: Specimen) -> dict:
    began = time.process_time()
    chords = "double stops" in specimen.name
    seen = observe(specimen.samples, chords=chords)
    curve = curve_of(seen)
    notes = notes_of(seen, curve)
    if chords:
        notes = with_double_stops(seen, notes)
    spent = time.process_time() - began
    midi = [None if np.isnan(m) else m for m in curve.midi]
    return {
        "notes": [[n.start_seconds, n.end_seconds, n.pitch_midi] for n in notes],
        "curve": [list(pair) for pair in zip(curve.seconds, midi, strict=True)],
        "seconds": spent,
    }


def others(made: list[Specimen], environment: Path) -> list[dict]:
    with tempfile.TemporaryDirectory() as folder:
        for index, specimen in enumerate(made):
            (Path(folder) / f"{index:04}.wav").write_bytes(encode(specimen.samples, bits=16))
        script = Path(__file__).with_name("hear_rivals.py")
        subprocess.run([environment / "bin" / "python", script, folder], check=True, capture_output=True)
        return [json.loads((Path(folder) / f"{i:04}.json").read_text()) for i in range(len(made))]


def hz(midi) -> np.ndarray:
    return 440 * 2 ** ((np.asarray(midi, dtype=float) - 69) / 12)


def note_scores(specimen: Specimen, notes: list) -> dict:
    spans = np.array([[n.start, n.end] for n in specimen.notes])
    pitches = hz([n.midi for n in specimen.notes])
    found = np.array([[max(0, s), max(e, s + 0.01)] for s, e, _ in notes]).reshape(-1, 2)
    heard = hz([m for *_, m in notes])
    matched = mir_eval.transcription.match_notes(spans, pitches, found, heard, offset_ratio=None)
    with_ends = mir_eval.transcription.match_notes(spans, pitches, found, heard)
    return {
        "true": len(spans),
        "found": len(found),
        "right": len(matched),
        "right with ends": len(with_ends),
        "onset": [abs(found[b, 0] - spans[a, 0]) * 1000 for a, b in matched],
        "cents": [abs(1200 * np.log2(heard[b] / pitches[a])) for a, b in matched],
    }


def frame_scores(specimen: Specimen, curve: list | None) -> dict:
    """Frames 20 ms inside notes, and frames 80 ms away from all."""
    if not curve:
        return {}
    times = np.array([t for t, _ in curve])
    midi = np.array([np.nan if m is None else m for _, m in curve], dtype=float)
    inside, away = np.zeros(len(times), bool), np.ones(len(times), bool)
    for note in specimen.notes:
        inside |= (times >= note.start + 0.02) & (times < note.end - 0.02)
        away &= ~((times > note.start - 0.04) & (times < note.end + 0.08))
    place = np.clip(np.searchsorted(specimen.curve[:, 0], times), 0, len(specimen.curve) - 1)
    inside &= np.abs(specimen.curve[place, 0] - times) < 0.006
    true = np.interp(times, specimen.curve[:, 0], specimen.curve[:, 1])
    error = np.abs(midi - true) * 100
    return {
        "inside": int(inside.sum()),
        "away": int(away.sum()),
        "gross": int((inside & (error > 50)).sum()),
        "missed": int((inside & np.isnan(midi)).sum()),
        "false": int((away & ~np.isnan(midi)).sum()),
        "frame cents": list(error[inside & (error <= 50)]),
    }


def add(total: dict, scores: dict) -> None:
    for name, value in scores.items():
        total[name] = total.get(name, type(value)()) + value


def f_measure(t: dict, right: str = "right") -> float:
    return 2 * t[right] / max(1, t["true"] + t["found"])


def pair(values: list) -> str:
    return f"{np.median(values):.1f} / {np.percentile(values, 95):.1f}" if len(values) else "-"


def note_table(totals: dict, groups: list[str], names: list[str]) -> list[str]:
    head = "| | " + " | ".join(f"F {n}" for n in names) + " | "
    head += " | ".join(f"onset ms {n}" for n in names) + " | " + " | ".join(f"cents {n}" for n in names) + " |"
    lines = [head, "|---" * (1 + 3 * len(names)) + "|"]
    for group in groups:
        cells = [f"{f_measure(totals[n, group]):.3f}" for n in names]
        cells += [pair(totals[n, group]["onset"]) for n in names]
        cells += [pair(totals[n, group]["cents"]) for n in names]
        lines.append(f"| {group} | " + " | ".join(cells) + " |")
    return lines


def frame_table(totals: dict, groups: list[str], names: list[str]) -> list[str]:
    parts = ("gross", "missed", "false")
    head = "| | " + " | ".join(f"{p} {n}" for p in parts for n in names) + " | "
    head += " | ".join(f"cents {n}" for n in names) + " |"
    lines = [head, "|---" * (1 + 4 * len(names)) + "|"]
    for group in groups:
        cells = []
        for part in parts:
            for name in names:
                t = totals[name, group]
                cells.append(f"{t[part] / max(1, t['away' if part == 'false' else 'inside']):.1%}")
        cells += [pair(totals[n, group]["frame cents"]) for n in names]
        lines.append(f"| {group} | " + " | ".join(cells) + " |")
    return lines


def report(made: list[Specimen], found: list[dict]) -> str:
    names = [OURS, *(n for n in found[0] if n != OURS)]
    totals: dict = defaultdict(dict)
    seconds = sum(s.samples.duration_seconds for s in made)
    for specimen, by_name in zip(made, found, strict=True):
        instrument, condition = specimen.name.split(" | ")
        many = "double stops" in instrument
        for name in names:
            result = by_name[name]
            scores = note_scores(specimen, result["notes"])
            groups = (instrument, f"double stops, {condition}") if many else (instrument, condition, "all melodies")
            for group in groups if not many else (*groups, "all double stops"):
                add(totals[name, group], scores)
                if not many:
                    add(totals[name, group], frame_scores(specimen, result["curve"]))
            add(totals[name, "time"], {"seconds": result["seconds"]})
    melodies = list(dict.fromkeys(s.name.split(" | ")[0] for s in made if "double" not in s.name))
    stops = list(dict.fromkeys(s.name.split(" | ")[0] for s in made if "double" in s.name))
    curved = [n for n in names if "gross" in totals[n, "all melodies"]]
    lines = [
        f"{len(made)} sounds, {seconds / 60:.0f} minutes, "
        f"{totals[OURS, 'all melodies']['true'] + totals[OURS, 'all double stops']['true']} notes.",
        "",
        "### Notes of a melody",
        "",
        *note_table(totals, [*melodies, *CONDITIONS, "all melodies"], names),
        "",
        "### Two and three notes at once",
        "",
        *note_table(totals, [*stops, *(f"double stops, {c}" for c in CONDITIONS), "all double stops"], names),
        "",
        "### Frames of the pitch curve",
        "",
        "Gross: more than 50 cents off. Missed: in a note and called silent. False: in silence and called a note.",
        "",
        *frame_table(totals, [*melodies, *CONDITIONS, "all melodies"], curved),
        "",
        "### Notes with their ends",
        "",
        "F when the end must lie within 50 ms or a fifth of the note's length: "
        + ", ".join(f"{n} {f_measure(totals[n, 'all melodies'], 'right with ends'):.3f}" for n in names)
        + ".",
        "",
        "### Speed",
        "",
        "Times faster than real time, in processor time: "
        + ", ".join(f"{n} {seconds / totals[n, 'time']['seconds']:.0f}" for n in names)
        + ".",
    ]
    return "\n".join(lines)


def low_strings() -> str:
    """Frames and notes of low melodies on the strings of the development half, by telephones."""
    totals: dict = defaultdict(dict)
    for player in players(held_back=False):
        if "string" not in player.name and "guitar" not in player.name:
            continue
        for seed in LOW_SEEDS:
            low = replace(player, low=LOW_RANGE[0], high=LOW_RANGE[1], name=f"{player.name}, low")
            plain = melody(low, seconds=12.0, seed=seed)
            for cut in CUTS_HZ:
                specimen = by_phone_from(plain, cut, seed=seed)
                result = ours(specimen)
                add(totals[cut], note_scores(specimen, result["notes"]))
                add(totals[cut], frame_scores(specimen, result["curve"]))
    lines = ["| passes from | F | gross | missed |", "|---|---|---|---|"]
    for cut, t in totals.items():
        cells = [f"{f_measure(t):.3f}", f"{t['gross'] / t['inside']:.1%}", f"{t['missed'] / t['inside']:.1%}"]
        lines.append(f"| {cut} Hz | {' | '.join(cells)} |")
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rivals", type=Path, help="environment made by hear_rivals.py --install")
    parser.add_argument("--seeds", type=int, default=2, help="melodies for each instrument")
    parser.add_argument("--seconds", type=float, default=12.0, help="length of each")
    parser.add_argument("--write", action="store_true", help="put the tables into docs/accuracy.md")
    parser.add_argument("--low-strings", action="store_true", help="low strings by telephone, development half")
    asked = parser.parse_args()
    if asked.low_strings:
        print(low_strings())
        return
    made = specimens(asked.seeds, asked.seconds)
    found = [{OURS: ours(specimen)} for specimen in made]
    if asked.rivals:
        for own, theirs in zip(found, others(made, asked.rivals), strict=True):
            own.update(theirs)
    text = report(made, found)
    print(text)
    if asked.write:
        put_between(MARKS, text, DOCUMENT)


if __name__ == "__main__":
    main()
