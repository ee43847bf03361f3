"""How well the lead of a finished record is taken down, beside off-the-shelf trackers, in one run.

    python bench/hear_records.py                             the held-out half, ours alone
    python bench/hear_records.py --half development          the half on which numbers may be set
    python bench/hear_rivals.py --install DIR                the others' environment, once
    python bench/hear_records.py --rivals DIR --write        all, into docs/accuracy.md

Eight invented records (`hear_record_sounds`), the lead 0, 3, 6 and 12 dB over the band and alone, and a lead an
octave lower at 0 and 6 dB. Notes by mir_eval's definitions (onset within 50 ms, pitch within 50 cents; a note counts
once). A tempo is right within 4 %, no half or double; a key with its tonic and mode. "One voice" is hearing as it is
without --lead.
"""

from __future__ import annotations

import argparse
import json
import pickle
import subprocess
import tempfile
import time
from collections import defaultdict
from pathlib import Path

import mir_eval
import numpy as np

from hear_phrases import Specimen
from hear_record_sounds import DEVELOPMENT, HELD_OUT, Record, made_record
from reedpath.hear import curve_of, notes_of, observe
from reedpath.hear.lead import DOUBTFUL_UNDER, WRITTEN_FROM, hear_record
from reedpath.signal import encode
from tables import put_between

DOCUMENT = Path(__file__).parents[1] / "docs" / "accuracy.md"
MARKS = ("<!-- records: made by bench/hear_records.py -->", "<!-- end of records -->")
OURS, PLAIN = "reedpath --lead", "one voice"
# name, decibels of the lead over the band, whether an octave lower
CONDITIONS = (
    ("lead at 0 dB", 0, False), ("lead at +3 dB", 3, False), ("lead at +6 dB", 6, False),
    ("lead at +12 dB", 12, False), ("lead alone", None, False), ("low lead at 0 dB", 0, True),
    ("low lead at +6 dB", 6, True),
)  # fmt: skip
# share of the tempo within which it is right
TEMPO_SHARE = 0.04


def specimen_of(record: Record, lead_db: float | None, low: bool, kept: Path | None) -> Specimen:
    """A record's sound, made, or read where it was kept."""
    if kept is None:
        return made_record(record, lead_db, low=low)
    path = kept / f"{record.name} {lead_db} {low}.pickle"
    if not path.exists():
        kept.mkdir(parents=True, exist_ok=True)
        path.write_bytes(pickle.dumps(made_record(record, lead_db, low=low)))
    return pickle.loads(path.read_bytes())


def matched(specimen: Specimen, notes: list) -> set[int]:
    """Which of the heard notes are right."""
    if not notes:
        return set()
    spans = np.array([[note.start, note.end] for note in specimen.notes])
    found = np.array([[max(0.0, start), max(end, start + 0.01)] for start, end, _ in notes])
    true, heard = (
        440 * 2 ** ((np.array(m) - 69) / 12) for m in ([n.midi for n in specimen.notes], [n[2] for n in notes])
    )
    pairs = mir_eval.transcription.match_notes(spans, true, found, heard, offset_ratio=None)
    return {found for _, found in pairs}


def ours(record: Record, specimen: Specimen) -> dict:
    began = time.process_time()
    heard = hear_record(specimen.samples)
    seconds = time.process_time() - began
    kept = [note for note in heard.notes if note.confidence >= WRITTEN_FROM]
    bpm, key = heard.beats.bpm if heard.beats else 0.0, heard.key.key
    return {
        "notes": [[note.start_seconds, note.end_seconds, note.pitch_midi] for note in kept],
        "doubtful": [note.confidence < DOUBTFUL_UNDER for note in kept],
        "tempo": abs(bpm / record.bpm - 1) < TEMPO_SHARE,
        "key": key is not None and (key.tonic, key.mode) == (record.tonic, record.mode),
        "seconds": seconds,
    }


def plain(specimen: Specimen) -> dict:
    seen = observe(specimen.samples)
    notes = notes_of(seen, curve_of(seen))
    return {"notes": [[note.start_seconds, note.end_seconds, note.pitch_midi] for note in notes]}


def others(
    names: list[str], made: list[Specimen], environment: Path, kept: Path | None, only: list[str]
) -> list[dict]:
    """What the other trackers hear, or heard where it was kept; each is given both channels mixed to one."""
    with tempfile.TemporaryDirectory() as own:
        folder = own if kept is None else kept / "others"
        Path(folder).mkdir(exist_ok=True)
        paths = [Path(folder) / f"{name}.json" for name in names]
        with tempfile.TemporaryDirectory() as sounds:
            for specimen, path in zip(made, paths, strict=True):
                if not path.exists():
                    (Path(sounds) / f"{path.stem}.wav").write_bytes(encode(specimen.samples.mono(), bits=16))
            if any(Path(sounds).iterdir()):
                script = Path(__file__).with_name("hear_rivals.py")
                chosen = [word for name in only for word in ("--only", name)]
                command = [environment / "bin" / "python", script, sounds, *chosen]
                subprocess.run(command, check=True, capture_output=True)
            for found in Path(sounds).glob("*.json"):
                (Path(folder) / found.name).write_bytes(found.read_bytes())
        return [json.loads(path.read_text()) for path in paths]


def counted(specimen: Specimen, found: dict) -> dict:
    right = matched(specimen, found["notes"])
    counts = {"true": len(specimen.notes), "found": len(found["notes"]), "right": len(right)}
    for index, doubtful in enumerate(found.get("doubtful", ())):
        kind = "right" if index in right else "wrong"
        counts[f"{kind} doubted"] = counts.get(f"{kind} doubted", 0) + doubtful
    counts |= {name: int(found[name]) for name in ("tempo", "key") if name in found}
    return counts


def f_measure(total: dict) -> float:
    return 2 * total["right"] / max(1, total["true"] + total["found"])


def report(totals: dict, names: list[str], records: int, speed: float) -> str:
    told = ("right of found", "found of true", "doubt on wrong", "doubt on right", "tempo", "key")
    head = ["", *(f"F {name}" for name in names), *told]
    lines = ["| " + " | ".join(head) + " |", "|---" * len(head) + "|"]
    for condition, *_ in CONDITIONS:
        own = totals[condition, OURS]
        wrong = own["found"] - own["right"]
        cells = [f"{f_measure(totals[condition, name]):.3f}" if totals[condition, name] else "-" for name in names]
        cells += [f"{own['right'] / max(1, own['found']):.3f}", f"{own['right'] / own['true']:.3f}"]
        cells += [f"{own['wrong doubted']} of {wrong}", f"{own['right doubted'] / max(1, own['right']):.1%}"]
        cells += [f"{own[name]} of {records}" for name in ("tempo", "key")]
        lines.append(f"| {condition} | " + " | ".join(cells) + " |")
    notes = sum(totals[condition, OURS]["true"] for condition, *_ in CONDITIONS)
    return f"{notes} notes; {speed:.0f} times faster than real time, on one core.\n\n" + "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--half", choices=("held-out", "development"), default="held-out")
    parser.add_argument("--records", type=int, default=8, help="how many of the half's records")
    parser.add_argument("--keep", type=Path, help="a folder in which the sounds are kept for another run")
    parser.add_argument("--rivals", type=Path, help="environment made by hear_rivals.py --install")
    parser.add_argument("--only", action="append", help="of the others only this one; pYIN takes most of the time")
    parser.add_argument("--write", action="store_true", help="put the table into docs/accuracy.md")
    asked = parser.parse_args()
    chosen = (HELD_OUT if asked.half == "held-out" else DEVELOPMENT)[: asked.records]
    totals: dict = defaultdict(lambda: defaultdict(int))
    names, spent, sounded = [OURS, PLAIN], 0.0, 0.0
    for condition, lead_db, low in CONDITIONS:
        made = [specimen_of(record, lead_db, low, asked.keep) for record in chosen]
        labels = [f"{record.name} {lead_db} {low}" for record in chosen]
        theirs = (
            others(labels, made, asked.rivals, asked.keep, asked.only or []) if asked.rivals else [{} for _ in made]
        )
        names += [name for name in theirs[0] if name not in names]
        for record, specimen, found in zip(chosen, made, theirs, strict=True):
            own = ours(record, specimen)
            spent, sounded = spent + own["seconds"], sounded + specimen.samples.duration_seconds
            for name, heard in {OURS: own, PLAIN: plain(specimen), **found}.items():
                for what, count in counted(specimen, heard).items():
                    totals[condition, name][what] += count
        print(
            condition,
            {name: round(f_measure(totals[condition, name]), 3) for name in (OURS, PLAIN, *theirs[0])},
            flush=True,
        )
    text = report(totals, names, len(chosen), sounded / spent)
    print(text)
    if asked.write:
        put_between(MARKS, text, DOCUMENT)


if __name__ == "__main__":
    main()
