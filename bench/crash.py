"""What is lost when a command is stopped: ``python bench/crash.py [--kills 1000] [--seed 1] [--write]``.

Commands that write (lesson, lesson --replace, play-along, film, listen) are stopped by SIGKILL, SIGTERM or SIGINT at
a random moment of their run, each in a lesson folder that also holds a person's own files and a sheet of steps that
she has edited. After each it is asked:

- lost: is every file of hers there, byte for byte, and what she edited?
- half-made: has each file that the folder's list names the hash that it says, once the next command has written
  there? For SIGTERM and SIGINT nothing may be left aside even before that.
- false success: did the command end with status 0 though not all it makes was there?
- trace-back: did it end with a trace-back rather than a sentence?

All four must be nought. With ``--write`` the table in docs/reliability.md is made anew.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from reedpath.jobs.folders import UNFINISHED, made_files, writing_into
from tables import put_between

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "reliability.md"
MARKS = ("<!-- crash: made by bench/crash.py -->", "<!-- end of crash -->")
TUNE = "X:1\nT:Four notes (invented)\nM:4/4\nL:1/4\nQ:1/4=200\nK:G\nG B d g |\n"
EDITED = "In my own words."
HERS = {"takes/week-1.wav": b"a take of a student", "Documents/letter.txt": b"a letter", "notes.md": b"my notes"}
RUN = (sys.executable, "-c", "from reedpath.cli import main; main()")
SIGNALS = (signal.SIGKILL, signal.SIGTERM, signal.SIGINT)


@dataclass(frozen=True)
class Case:
    """A command, the folder that it writes into, and files that are there when it is through."""

    name: str
    arguments: tuple[str, ...]
    folder: str
    makes: tuple[str, ...]


# run in a folder that holds tune.abc, take.wav and a lesson in "lesson"
CASES = (
    Case("lesson", ("lesson", "tune.abc", "--harp", "C", "--out", "new"), "new",
         ("tab.txt", "lesson.json", "sheet.pdf")),
    Case("lesson --replace", ("lesson", "tune.abc", "--harp", "G", "--out", "lesson", "--replace"), "lesson",
         ("tab.txt", "lesson.json", "sheet.pdf", "steps.kept.md")),
    Case("play-along", ("play-along", "lesson", "--as-one", "--format", "mp3"), "lesson", ("ladder.mp3",)),
    Case("film", ("film", "lesson", "--out", "lesson/film.mp4", "--tempos", "full", "--no-steps"), "lesson",
         ("film.mp4", "film.en.vtt")),
    Case("listen", ("listen", "take.wav", "--lesson", "lesson", "--out", "lesson"), "lesson",
         ("answer.txt", "answer.json", "take.svg")),
)  # fmt: skip


def _start(where: Path, case: Case) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [*RUN, *case.arguments],
        cwd=where,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )


def prepared(folder: Path) -> Path:
    """A folder as the commands want it, to be copied for each run."""
    (folder / "tune.abc").write_text(TUNE, encoding="utf-8")
    subprocess.run([*RUN, *CASES[0].arguments[:-1], "lesson"], cwd=folder, check=True, stdout=subprocess.DEVNULL)
    shutil.copy(sorted((folder / "lesson").glob("play-along-*.wav"))[-1], folder / "take.wav")
    for name, data in HERS.items():
        (folder / "lesson" / name).parent.mkdir(exist_ok=True)
        (folder / "lesson" / name).write_bytes(data)
    (folder / "lesson" / "steps.md").write_text(EDITED, encoding="utf-8")
    return folder


def _lost(lesson: Path) -> bool:
    edited = [path for path in lesson.glob("steps*.md") if path.read_text(encoding="utf-8") == EDITED]
    kept = all((lesson / name).is_file() and (lesson / name).read_bytes() == data for name, data in HERS.items())
    return not (kept and edited)


def _is_whole(folder: Path) -> bool:
    """Whether each file on the list has its hash, but for the one that was edited."""
    return all(
        (folder / name).is_file() and hashlib.sha256((folder / name).read_bytes()).hexdigest() == made.sha256
        for name, made in made_files(folder).items()
        if name != "steps.md" or (folder / name).read_text(encoding="utf-8") != EDITED
    )


def stopped(base: Path, case: Case, number: signal.Signals, after: float) -> list[str]:
    """Stop a command after so many seconds, and say what was wrong with what it left."""
    wrong = []
    with tempfile.TemporaryDirectory() as name:
        where = Path(name) / "work"
        shutil.copytree(base, where)
        with _start(where, case) as running:
            time.sleep(after)
            running.send_signal(number)
            _, told = running.communicate()
        folder = where / case.folder
        aside = [path for path in where.rglob(f"*{UNFINISHED}")]
        if number is not signal.SIGKILL and aside:
            wrong.append("half-made")
        if running.returncode == 0 and not all((folder / one).is_file() for one in case.makes):
            wrong.append("false success")
        if "Traceback" in told:
            wrong.append("trace-back")
        if _lost(where / "lesson"):
            wrong.append("lost")
        if folder.is_dir() or aside:
            with writing_into(folder, command="bench"):
                pass
        if list(where.rglob(f"*{UNFINISHED}")) or (folder.is_dir() and not _is_whole(folder)):
            wrong.append("half-made")
        if _lost(where / "lesson"):
            wrong.append("lost")
    return wrong


def main() -> None:
    """Stop commands at random moments and print or write the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--write", action="store_true", help="write the table into docs/reliability.md")
    asked = parser.parse_args()
    draw = random.Random(asked.seed)
    counts: Counter[tuple[str, str, str]] = Counter()
    with tempfile.TemporaryDirectory() as name, ThreadPoolExecutor(os.cpu_count() or 1) as workers:
        base = prepared(Path(name))
        lengths = {}
        for case in CASES:
            with tempfile.TemporaryDirectory() as there:
                shutil.copytree(base, Path(there) / "work")
                began = time.perf_counter()
                with _start(Path(there) / "work", case) as running:
                    _, told = running.communicate()
                if running.returncode:
                    raise SystemExit(f"{case.name}: {told}")
                lengths[case.name] = time.perf_counter() - began
        # two run at a time, so that each takes longer than alone
        drawn = [(draw.choice(CASES), draw.choice(SIGNALS)) for _ in range(asked.kills)]
        waiting = [
            (case, number, workers.submit(stopped, base, case, number, draw.uniform(0, 1.6 * lengths[case.name])))
            for case, number in drawn
        ]
        for case, number, outcome in waiting:
            counts[case.name, number.name, "runs"] += 1
            for wrong in set(outcome.result()):
                counts[case.name, number.name, wrong] += 1
    kinds = ("lost", "half-made", "false success", "trace-back")
    rows = [
        f"`python bench/crash.py --kills {asked.kills} --seed {asked.seed}`, {date.today()}:",
        "",
        f"| command | signal | runs | {' | '.join(kinds)} |",
        f"|---|---|---|{'---|' * len(kinds)}",
    ]
    for case in CASES:
        for number in SIGNALS:
            numbers = [counts[case.name, number.name, kind] for kind in ("runs", *kinds)]
            rows.append(f"| `{case.name}` | {number.name} | {' | '.join(map(str, numbers))} |")
    text = "\n".join(rows)
    print(text)
    if asked.write:
        put_between(MARKS, text, PAGE)


if __name__ == "__main__":
    main()
