"""Feed hostile inputs to everything that is read from outside, and count what comes of them.

python bench/fuzz.py --inputs 1000                        each kind of input so many times
python bench/fuzz.py --inputs 50000 --only abc midi       some kinds
python bench/fuzz.py --write                              what is known of all so far, into docs/reliability.md
python bench/fuzz.py --forget abc                         count this kind anew, once its reader was mended
python bench/fuzz.py --try FILE --only abc                one input, with its trace-back

Each input is drawn by the seed and its own number; a run that is stopped goes on after the last chunk that was
through. Counts (counts.jsonl), defects and the inputs that led further are kept in a folder of their own
(``--folder``, `.fuzz` by default), where they grow from run to run. The input that shows a defect belongs into
``bench/corpus`` once it is mended, where tests/hostile feeds it again.
"""

from __future__ import annotations

import argparse
import json
import sys
import traceback
from collections import Counter
from datetime import date
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "bench")]

from fuzzing.feeding import Came, digest, fed_in_child  # noqa: E402
from fuzzing.kinds import Target  # noqa: E402
from fuzzing.targets import TARGETS, target_of  # noqa: E402

PAGE = ROOT / "docs" / "reliability.md"
MARKS = ("<!-- fuzz: made by bench/fuzz.py -->", "<!-- end of fuzz -->")
# what is counted
COLUMNS = ("fed", "read", "refused", "followed", "defects")
# inputs of a chunk
CHUNK, SLOW_CHUNK = 20_000, 500


def _lines(folder: Path) -> list[dict[str, object]]:
    path = folder / "counts.jsonl"
    return [json.loads(line) for line in path.read_text().splitlines()] if path.is_file() else []


def _keep_defects(folder: Path, target: Target, came: Came) -> None:
    for place, (data, trace) in came.defects.items():
        name = "".join(sign if sign.isalnum() else "-" for sign in f"{target.name} {place}")[:120]
        (folder / "defects").mkdir(exist_ok=True)
        path = folder / "defects" / name
        if not path.exists():
            path.write_bytes(data)
            path.with_name(f"{name}.txt").write_text(trace, encoding="utf-8", errors="backslashreplace")
            print(f"  {target.name}: {place} ({digest(data)}, {len(data)} bytes)", flush=True)


def feed(folder: Path, target: Target, inputs: int, seed: int) -> None:
    """Feed a kind of input until so many have been fed in all."""
    size = SLOW_CHUNK if target.slow else CHUNK
    fed = [int(str(line["to"])) for line in _lines(folder) if line["kind"] == target.name and line["seed"] == seed]
    for first in range(max(fed, default=0), inputs, size):
        last = min(first + size, inputs)
        came = fed_in_child(target, str(seed), first, last, folder / "corpus" / target.name)
        _keep_defects(folder, target, came)
        line = {"kind": target.name, "seed": seed, "to": last, **came.counts}
        with (folder / "counts.jsonl").open("a") as file:
            file.write(json.dumps(line) + "\n")
        print(json.dumps(line), flush=True)


def table(folder: Path) -> list[str]:
    """The counts of each kind."""
    counts: dict[str, Counter[str]] = {target.name: Counter() for target in TARGETS}
    for line in _lines(folder):
        name = str(line["kind"])
        if name in counts:
            counts[name].update(
                {key: int(str(value)) for key, value in line.items() if key not in ("kind", "seed", "to")}
            )
    rows = ["| input | fed | read | refused | followed on | defects |", "|---|---|---|---|---|---|"]
    rows += [
        f"| {name} | " + " | ".join(f"{one[key]:,}" for key in COLUMNS) + " |"
        for name, one in counts.items()
        if one["fed"]
    ]
    total: Counter[str] = sum(counts.values(), Counter())
    return [*rows, "| all | " + " | ".join(f"{total[key]:,}" for key in COLUMNS) + " |"]


def write(folder: Path) -> None:
    """Put the table into the page."""
    seeds = ", ".join(sorted({str(line["seed"]) for line in _lines(folder)}))
    head = f"`python bench/fuzz.py`, kind by kind as far as the table says, seed {seeds}, {date.today().isoformat()}:"
    text = PAGE.read_text(encoding="utf-8")
    before, _, rest = text.partition(MARKS[0])
    _, _, after = rest.partition(MARKS[1])
    made = "\n".join([MARKS[0], "", head, "", *table(folder), "", MARKS[1]])
    PAGE.write_text(before + made + after, encoding="utf-8")


def forget(folder: Path, names: list[str]) -> None:
    """Drop the counts of some kinds, and what was wrong with them."""
    left = [line for line in _lines(folder) if line["kind"] not in names]
    (folder / "counts.jsonl").write_text("".join(json.dumps(line) + "\n" for line in left))


def try_one(target: Target, path: Path) -> None:
    import random

    data = path.read_bytes()
    for number in range(20):
        try:
            value = target.read(data)
            target.follow(value, data, random.Random(number))
            print(f"{number}: read")
        except Exception:  # noqa: BLE001  # whatever it is, it is what was asked for
            traceback.print_exc()
            return


def main() -> None:
    """Feed, and print or write the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--inputs", type=int, default=0, help="of each kind, in all")
    parser.add_argument("--only", nargs="+", choices=[one.name for one in TARGETS], metavar="KIND")
    parser.add_argument("--but", nargs="+", default=[], metavar="KIND", help="all kinds but these")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--folder", type=Path, default=ROOT / ".fuzz")
    parser.add_argument("--forget", nargs="+", metavar="KIND")
    parser.add_argument("--try", dest="tried", type=Path, metavar="FILE")
    parser.add_argument("--write", action="store_true", help="write the table into docs/reliability.md")
    asked = parser.parse_args()
    names = asked.only or [one.name for one in TARGETS if one.name not in asked.but]
    if asked.tried:
        try_one(target_of(names[0]), asked.tried)
        return
    asked.folder.mkdir(parents=True, exist_ok=True)
    if asked.forget:
        forget(asked.folder, asked.forget)
        return
    for name in names if asked.inputs else ():
        feed(asked.folder, target_of(name), asked.inputs, asked.seed)
    print("\n".join(table(asked.folder)))
    if asked.write:
        write(asked.folder)


if __name__ == "__main__":
    main()
