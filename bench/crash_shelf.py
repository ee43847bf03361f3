"""What a shelf loses when the program is killed: ``python bench/crash_shelf.py [--counts FILE] [--write]``.

A program changes a shelf step after step (phrases, students, takes with a sound, other titles, undone and done again,
a student erased, a zip brought in) and says after each how many it has done. At a random moment it is killed
(SIGKILL), asked to end (SIGTERM) or interrupted (SIGINT, which undoes what is going on and closes the shelf). Then
the shelf is opened: it must be as it was after the last step that was said to be done, or after the one that was
going on; which state that is, is told by doing the same steps again on another shelf. Nought must be

- lost: neither of the two states,
- not whole: what `reedpath shelf check` finds,
- stuck: a shelf that can't be opened, undone to nothing, or done again.

With ``--counts`` each run is written to a file as it ends, and what is there already is not run again, so that the
bench can be stopped and goes on later. With ``--write`` the table in docs/reliability.md is made anew.
"""

from __future__ import annotations

import argparse
import hashlib
import io
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from datetime import date
from fractions import Fraction
from pathlib import Path

import msgspec

from reedpath.errors import ReedpathError
from reedpath.phrase import Event, Phrase
from reedpath.shelf import (
    KeptPhrase,
    KeptTake,
    OwnedHarp,
    PhrasePlayed,
    Shelf,
    Student,
    add_phrase,
    check_shelf,
    erase_student,
    export_shelf,
    import_shelf,
)
from reedpath.shelf.records import KINDS
from tables import put_between

PAGE = Path(__file__).resolve().parent.parent / "docs" / "reliability.md"
MARKS = ("<!-- crash of shelves: made by bench/crash_shelf.py -->", "<!-- end of crash of shelves -->")
DEEDS = ("phrase", "student", "take", "words", "remove", "undo", "redo", "erase", "zip")
# how often each is done
SHARES = (6, 4, 6, 4, 1, 3, 3, 1, 1)
# seconds after its first step within which a program is killed, bytes of a sound
LONGEST, SOUND = 1.2, 200_000
WRONGS = ("lost", "not whole", "stuck")
SIGNALS = ("SIGKILL", "SIGTERM", "SIGINT")


def do(shelf: Shelf, draw: random.Random) -> None:
    """One random change."""
    deed, pick = draw.choices(DEEDS, SHARES)[0], draw.random()
    students, phrases = shelf.all(Student), shelf.all(KeptPhrase)
    if deed in ("undo", "redo"):
        shelf.undo() if deed == "undo" else shelf.redo()
    elif deed == "erase" and students:
        erase_student(shelf, students[int(pick * len(students))])
    elif deed == "zip":
        file = io.BytesIO()
        export_shelf(shelf, file)
        import_shelf(shelf, file)
    else:
        sound = shelf.files.keep(io.BytesIO(draw.randbytes(SOUND)), name="take.wav") if deed == "take" else ""
        with shelf.step(deed):
            if deed == "phrase" or not phrases:
                events = (Event(Fraction(0), Fraction(1), (40 + int(50 * pick),)),)
                add_phrase(shelf, PhrasePlayed(Phrase(events), f"Phrase {pick}"))
            elif deed == "words":
                one = phrases[int(pick * len(phrases))]
                shelf.change(msgspec.structs.replace(one, title=f"Title {pick}", tags=(f"tag {pick}",)))
            elif deed == "student" or not students:
                who = shelf.add(Student(name=f"Student {pick}"))
                shelf.add(OwnedHarp(student=who.number, key="A"))
            elif deed == "take":
                shelf.add(KeptTake(student=students[int(pick * len(students))].number, name="take", sound=sound))
            else:
                shelf.remove(students[int(pick * len(students))])


def state(shelf: Shelf) -> str:
    """All that is on a shelf and can be undone, but for names and times that differ from run to run."""
    records = [
        msgspec.structs.replace(one, uid="", **({"added": ""} if hasattr(one, "added") else {}))
        for kind in KINDS.values()
        for one in shelf.all(kind)
    ]
    steps = [(one.what, one.records) for undone in (False, True) for one in shelf.steps(undone=undone)]
    return hashlib.sha256(repr((records, steps)).encode()).hexdigest()


def go_on(path: Path, seed: str) -> None:
    """Change a shelf until one is killed, and say after each step how many are done."""
    draw, done = random.Random(seed), 0
    signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background has it ignored
    with Shelf(path, make=True) as shelf:
        while True:
            print(done, flush=True)
            do(shelf, draw)
            done += 1


def states_after(path: Path, seed: str, done: int) -> list[str]:
    """What a shelf is like after so many steps, and after one more."""
    draw, found = random.Random(seed), []
    with Shelf(path, make=True) as shelf:
        shelf.database.execute("PRAGMA synchronous = OFF")
        for step in range(done + 1):
            if step == done:
                found.append(state(shelf))
            do(shelf, draw)
        found.append(state(shelf))
    return found


def killed(folder: Path, seed: str, by: str) -> tuple[int, list[str]]:
    """End a program at a random moment by a signal; how many steps were said to be done, and what was wrong."""
    path = folder / "killed.sqlite"
    told = folder / "told"
    with told.open("w") as out:
        command = [sys.executable, __file__, "--go-on", str(path), "--seed", seed]
        running = subprocess.Popen(command, stdout=out, stderr=subprocess.DEVNULL)
    while not told.stat().st_size and running.poll() is None:
        time.sleep(0.005)
    time.sleep(random.Random(f"when {seed}").uniform(0, LONGEST))
    running.send_signal(getattr(signal, by))
    running.wait()
    done = int(told.read_text().split("\n")[-2])
    expected = states_after(folder / "again.sqlite", seed, done)
    wrong = []
    try:
        with Shelf(path) as shelf:
            if state(shelf) not in expected:
                wrong.append("lost")
            if not check_shelf(shelf).is_whole:
                wrong.append("not whole")
            before = state(shelf)
            undone = 0
            while shelf.undo():
                undone += 1
            for _ in range(undone):
                shelf.redo()
            if state(shelf) != before:
                wrong.append("stuck")
    except (ReedpathError, AssertionError) as error:
        print(seed, repr(error), flush=True)
        wrong.append("stuck")
    return done, wrong


class Run(msgspec.Struct, frozen=True):
    """A program that was ended: by what, how many steps were said to be done before, and what was wrong."""

    seed: int
    number: int
    by: str
    steps: int
    wrong: list[str]


def counted(kills: int, seed: int, path: Path | None) -> list[Run]:
    """Run what is not in the file yet, and give the runs of this seed."""
    lines = path.read_text().splitlines() if path and path.exists() else []
    there = {run.number: run for run in (msgspec.json.decode(line, type=Run) for line in lines) if run.seed == seed}
    for number in range(kills):
        if number in there:
            continue
        by = SIGNALS[number % len(SIGNALS)]
        with tempfile.TemporaryDirectory() as name:
            done, wrong = killed(Path(name), f"{seed} {number}", by)
        run = there[number] = Run(seed, number, by, done, wrong)
        if wrong:
            print(f"{seed} {number}: {by}, {wrong}", flush=True)
        if path:
            with path.open("ab") as file:
                file.write(msgspec.json.encode(run) + b"\n")
    return [there[number] for number in range(kills)]


def table(runs: list[Run], command: str) -> str:
    """What was counted, as Markdown."""
    counts: dict[str, Counter[str]] = {name: Counter() for name in SIGNALS}
    for run in runs:
        counts[run.by].update(run.wrong)
        counts[run.by].update(kills=1, steps=run.steps)
    rows = [
        f"`{command}`, {date.today()}:",
        "",
        f"| ended by | times | steps done before | {' | '.join(WRONGS)} |",
        f"|---|---|---|{'---|' * len(WRONGS)}",
    ]
    for by, found in [*counts.items(), ("all", sum(counts.values(), Counter()))]:
        wrongs = " | ".join(str(found[one]) for one in WRONGS)
        rows.append(f"| {by} | {found['kills']:,} | {found['steps']:,} | {wrongs} |")
    return "\n".join(rows)


def main() -> None:
    """End and count, print, and write the table where asked to."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--seed", default="1")
    parser.add_argument("--go-on", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--counts", type=Path, help="a file that each run is added to")
    parser.add_argument("--write", action="store_true", help="write the table into docs/reliability.md")
    wanted = parser.parse_args()
    if wanted.go_on:
        go_on(wanted.go_on, wanted.seed)
        return
    runs = counted(wanted.kills, int(wanted.seed), wanted.counts)
    lines = table(runs, f"python bench/crash_shelf.py --kills {wanted.kills} --seed {wanted.seed}")
    print(lines)
    if wanted.write:
        put_between(MARKS, lines, PAGE)


if __name__ == "__main__":
    main()
