"""What is lost when a command is stopped: ``python bench/crash.py [--kills 1000] [--counts FILE] [--write]``.

Commands that write are stopped by SIGKILL, SIGTERM or SIGINT at a random moment of their run, or run on a disk that
is full after a random number of bytes, or that cannot be written. Each has a disk of its own (a tmpfs, so it runs
as root or under ``unshare -rm``), which holds a lesson folder with a person's own files and a sheet of steps that she
has edited. After each it is asked:

- lost: is every file of hers there, byte for byte, and what she edited?
- half-made: has each file that the folder's list names the hash that it says, once the next command has written
  there? But for SIGKILL nothing may be left aside even before that, there or among temporary files, and on a full
  disk or one that cannot be written all must be as it was.
- false success: did the command end with status 0 though not all it makes was there?
- trace-back: did it end with a trace-back or as a fault of the program rather than with a sentence? (Not counted: a
  signal that reaches Python itself before it has begun.)
- orphans: does a process go on that it started?

All five must be nought. With ``--counts`` each run is written to a file as it ends, and what is there already is not
run again, so that the bench can be stopped and goes on later. With ``--write`` the table in docs/reliability.md is
made anew from all that was counted.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from reedpath.jobs.folder_plans import made_files
from reedpath.jobs.folders import UNFINISHED, writing_into
from tables import put_between

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "reliability.md"
MARKS = ("<!-- crash: made by bench/crash.py -->", "<!-- end of crash -->")
# invented; its bar is repeated as often as is asked for
TUNE = "X:1\nT:Four notes (invented)\nM:4/4\nL:1/4\nQ:1/4=200\nK:G\n"
TUNE_BAR = "G B d g |\n"
EDITED = "In my own words."
HERS = {"takes/week-1.wav": b"a take of a student", "Documents/letter.txt": b"a letter", "notes.md": b"my notes"}
RUN = (sys.executable, "-c", "from reedpath.cli import main; main()")
SIGNALS = ("SIGKILL", "SIGTERM", "SIGINT")
FULL, READ_ONLY = "full disk", "read-only"
HINDRANCES = (*SIGNALS, FULL, READ_ONLY)
WRONGS = ("lost", "half-made", "false success", "trace-back", "orphans")
# of 20 runs so many on a disk that is full, and that cannot be written: the latter is the same each time
SHARES = (5, 5, 5, 4, 1)
# what Python says of a signal that reaches it before it has begun, and the program with it
STARTING = "Failed to import the site module"
# seconds that processes which it started have to end after a command
GRACE = 60.0


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
    Case("slow", ("slow", "take.wav", "--out", "slow.mp3"), ".", ("slow.mp3",)),
    Case("transcribe", ("transcribe", "take.wav", "--out", "heard.json"), ".", ("heard.json",)),
)  # fmt: skip


@dataclass(frozen=True)
class Length:
    """How long a command runs when nothing stops it, and how many bytes it writes."""

    seconds: float
    size: int


@dataclass(frozen=True)
class Ended:
    """How a command ended: its status, what it told, whether processes went on, and what it left aside."""

    status: int
    told: str
    orphans: bool
    temporary: bool


def _start(where: Path, case: Case, aside: Path) -> subprocess.Popen[str]:
    (aside / "temporary").mkdir()
    with (aside / "told").open("w") as told:
        return subprocess.Popen(
            [*RUN, *case.arguments],
            cwd=where,
            stdout=subprocess.DEVNULL,
            stderr=told,
            text=True,
            env=os.environ | {"TMPDIR": str(aside / "temporary")},
            start_new_session=True,
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
        )


def _in_session(session: int) -> list[int]:
    """Processes that belong to a session and have not ended."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _, _, of_session = stat.read_text().rpartition(")")[2].split()[:4]
        except OSError:
            continue
        if int(of_session) == session and state != "Z":
            found.append(int(stat.parent.name))
    return found


def _end(running: subprocess.Popen[str], aside: Path) -> Ended:
    status = running.wait()
    until = time.monotonic() + GRACE
    while (left := _in_session(running.pid)) and time.monotonic() < until:
        time.sleep(0.05)
    for one in left:
        os.kill(one, signal.SIGKILL)
    told = (aside / "told").read_text(errors="replace")
    return Ended(status, told, bool(left), any((aside / "temporary").iterdir()))


@contextmanager
def _disk(base: Path) -> Iterator[tuple[Path, Path]]:
    """A disk of its own that holds what ``base`` does, in a folder; and a folder for what is not to be there."""
    with tempfile.TemporaryDirectory() as name:
        disk, aside = Path(name) / "disk", Path(name) / "aside"
        disk.mkdir()
        aside.mkdir()
        subprocess.run(["mount", "-t", "tmpfs", "-o", "size=256m", "none", str(disk)], check=True)
        try:
            shutil.copytree(base, disk / "work")
            yield disk / "work", aside
        finally:
            subprocess.run(["umount", str(disk)], check=True)


def _again(where: Path, options: str) -> None:
    subprocess.run(["mount", "-o", f"remount,{options}", str(where.parent)], check=True)


def _contents(where: Path) -> dict[str, str]:
    """The hash of each file that is there, and the folders."""
    return {
        str(path.relative_to(where)): hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "folder"
        for path in where.rglob("*")
    }


def prepared(folder: Path, bars: int) -> Path:
    """A folder as the commands want it, to be copied for each run."""
    (folder / "tune.abc").write_text(TUNE + bars * TUNE_BAR, encoding="utf-8")
    subprocess.run([*RUN, *CASES[0].arguments[:-1], "lesson"], cwd=folder, check=True, stdout=subprocess.DEVNULL)
    shutil.copy(sorted((folder / "lesson").glob("play-along-*.wav"))[-1], folder / "take.wav")
    for name, data in HERS.items():
        (folder / "lesson" / name).parent.mkdir(exist_ok=True)
        (folder / "lesson" / name).write_bytes(data)
    (folder / "lesson" / "steps.md").write_text(EDITED, encoding="utf-8")
    return folder


def measured(base: Path, case: Case) -> Length:
    """Run a command to its end."""
    with _disk(base) as (where, aside):
        before = _contents(where)
        began = time.perf_counter()
        with _start(where, case, aside) as running:
            ended = _end(running, aside)
        seconds = time.perf_counter() - began
        if ended.status or ended.orphans or ended.temporary:
            raise SystemExit(f"{case.name}: {ended}")
        changed = [name for name, digest in _contents(where).items() if before.get(name) != digest]
        return Length(seconds, sum((where / name).stat().st_size for name in changed))


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


def _run(where: Path, aside: Path, case: Case, hindrance: str, share: float, length: Length) -> Ended:
    """Run a command and hinder it: after this share of its time, or of the bytes that it writes."""
    if hindrance == FULL:
        disk = os.statvfs(where)
        used = (disk.f_blocks - disk.f_bfree) * disk.f_frsize
        _again(where, f"size={used + int(share * length.size) // disk.f_frsize * disk.f_frsize}")
    elif hindrance == READ_ONLY:
        _again(where, "ro")
    with _start(where, case, aside) as running:
        if hindrance in SIGNALS:
            time.sleep(share * length.seconds)
            running.send_signal(signal.Signals[hindrance])
        ended = _end(running, aside)
    return ended


def hindered(base: Path, case: Case, hindrance: str, share: float, length: Length) -> list[str]:
    """Hinder a command, and say what was wrong with what it left."""
    wrong = set()
    with _disk(base) as (where, aside):
        before = _contents(where)
        ended = _run(where, aside, case, hindrance, share, length)
        folder = where / case.folder
        unfinished = list(where.rglob(f"*{UNFINISHED}"))
        if hindrance != "SIGKILL" and (unfinished or ended.temporary):
            wrong.add("half-made")
        if hindrance in (FULL, READ_ONLY) and ended.status and _contents(where) != before:
            wrong.add("half-made")
        if ended.status == 0 and not all((folder / one).is_file() for one in case.makes):
            wrong.add("false success")
        has_begun = STARTING not in ended.told
        if (
            ("Traceback" in ended.told and has_begun)
            or ended.status == 70
            or (hindrance == READ_ONLY and ended.status != 2)
        ):
            wrong.add("trace-back")
        if ended.orphans:
            wrong.add("orphans")
        if _lost(where / "lesson"):
            wrong.add("lost")
        _again(where, "rw,size=256m")
        if folder.is_dir() or unfinished:
            with writing_into(folder, command="bench"):
                pass
        if list(where.rglob(f"*{UNFINISHED}")) or (folder.is_dir() and not _is_whole(folder)):
            wrong.add("half-made")
        if _lost(where / "lesson"):
            wrong.add("lost")
        if wrong:
            print(f"{case.name}, {hindrance} at {share:.4f}: {sorted(wrong)}, {ended}", flush=True)
    return sorted(wrong)


def counted(asked: argparse.Namespace) -> list[dict[str, object]]:
    """Run what is not in the file yet, and give all that was counted."""
    path = Path(asked.counts) if asked.counts else None
    runs = [json.loads(line) for line in path.read_text().splitlines()] if path and path.exists() else []
    there = {run["number"] for run in runs if run["seed"] == asked.seed}
    cases = [case for case in CASES if asked.only in (None, case.name)]
    with tempfile.TemporaryDirectory() as name:
        base = prepared(Path(name), asked.bars)
        lengths = {case.name: measured(base, case) for case in cases}
        for number in range(asked.kills):
            draw = random.Random(f"{asked.seed} {number}")
            case, hindrance = draw.choice(cases), draw.choices(HINDRANCES, SHARES)[0]
            # beyond 1, for what takes longer than when it was measured
            share = draw.uniform(0, 1.3)
            if number in there:
                continue
            wrong = hindered(base, case, hindrance, share, lengths[case.name])
            run = {"seed": asked.seed, "number": number, "case": case.name, "hindrance": hindrance, "wrong": wrong}
            runs.append(run)
            if path:
                with path.open("a") as file:
                    file.write(json.dumps(run) + "\n")
    return runs


def table(runs: list[dict[str, object]], command: str) -> str:
    """What was counted, as Markdown: how often each command was hindered, and how often something was wrong."""
    counts: Counter[tuple[object, object]] = Counter()
    for run in runs:
        counts.update((run["case"], what) for what in (run["hindrance"], *run["wrong"]))  # type: ignore[misc]
    columns = (*HINDRANCES, *WRONGS)
    rows = [
        f"`{command}`, {date.today()}, {len(runs)} runs:",
        "",
        f"| command | {' | '.join(columns)} |",
        f"|---|{'---|' * len(columns)}",
        *(f"| `{one.name}` | {' | '.join(str(counts[one.name, each]) for each in columns)} |" for one in CASES),
        f"| all | {' | '.join(str(sum(counts[one.name, each] for one in CASES)) for each in columns)} |",
    ]
    return "\n".join(rows)


def main() -> None:
    """Stop commands at random moments and print or write the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=[case.name for case in CASES], help="this command only")
    parser.add_argument("--bars", type=int, default=1, help="of the tune: many make a lesson use several processes")
    parser.add_argument("--counts", help="a file that each run is added to")
    parser.add_argument("--write", action="store_true", help="write the table into docs/reliability.md")
    asked = parser.parse_args()
    only = f' --only "{asked.only}"' if asked.only else ""
    only += f" --bars {asked.bars}" if asked.bars > 1 else ""
    text = table(counted(asked), f"python bench/crash.py --kills {asked.kills} --seed {asked.seed}{only}")
    print(text)
    if asked.write:
        put_between(MARKS, text, PAGE)


if __name__ == "__main__":
    main()
