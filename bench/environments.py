"""Whether the program works where things are not as usual: ``python bench/environments.py [--only NAME] [--write]``.

In each environment the demo, a lesson, its sounds, a film and the answer to a take are made, each by a process of its
own. It has to make what it makes elsewhere, byte for byte where the bytes are the same each time, or to say in a
sentence why it cannot (status 2), and to leave nothing half-made. ``--write`` makes the table of docs/reliability.md
anew. Mounting disks and cutting the network off take root, or ``unshare -rmn``.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from tables import put_between

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "reliability.md"
MARKS = ("<!-- environments: made by bench/environments.py -->", "<!-- end of environments -->")
RUN = (sys.executable, "-c", "from reedpath.cli import main; main()")
# invented
TUNE = "X:1\nT:Quatre notes d'été, à l'œil (inventées)\nM:4/4\nL:1/4\nQ:1/4=200\nK:G\nG B d g |\n"
JOBS = {
    "demo": ("demo", "--out", "demo"),
    "lesson": ("lesson", "tune.abc", "--harp", "C", "--out", "new"),
    "play-along": ("play-along", "lesson", "--as-one", "--format", "mp3"),
    "film": ("film", "lesson", "--out", "film.mp4", "--tempos", "full", "--no-steps"),
    "listen": ("listen", "take.wav", "--lesson", "lesson", "--out", "answer"),
}
# files whose bytes are the same each time
SAME = (".txt", ".md", ".json", ".musicxml", ".svg", ".mid", ".vtt", ".srt", ".wav")
GIB = 2**30
# bytes of a disk that is full: less than any of the jobs writes; and of one that has room
FULL_BYTES, ROOM_BYTES = 64 * 1024, 512 * 2**20
# bytes of the longest name of a file and of the longest path that Linux has (limits.h)
LONGEST_NAME, LONGEST_PATH = 255, 4096
# bytes of a path that leave room for the names in a lesson
LONG_PATH = 3900


@dataclass(frozen=True)
class Environment:
    """Something that is not as usual.

    told : in words, for the table. place : gives the folder that commands run in, inside the one given.
    changes : variables of the environment, None for one that is not set. before : of the command line.
    limit : what is limited in the process before the program begins.
    """

    told: str
    place: Callable[[Path], Path] = field(default=lambda base: base)
    changes: Mapping[str, str | None] = field(default_factory=dict)
    before: tuple[str, ...] = ()
    limit: Callable[[], None] | None = None


def _named(name: str) -> Callable[[Path], Path]:
    def place(base: Path) -> Path:
        (base / name).mkdir(parents=True)
        return base / name

    return place


def _long(base: Path) -> Path:
    place = base
    while len(os.fsencode(place)) + 101 < LONG_PATH:
        place /= "d" * 100
        # a path as long as this is made step by step
        place.mkdir()
    return place


def _memory() -> None:
    resource.setrlimit(resource.RLIMIT_DATA, (2 * GIB, 2 * GIB))


XDG = dict.fromkeys(("XDG_CONFIG_HOME", "XDG_CACHE_HOME", "XDG_DATA_HOME", "XDG_RUNTIME_DIR", "XDG_STATE_HOME"))
ENVIRONMENTS = {
    "as usual": Environment("as usual"),
    "no network": Environment("no network: `unshare -n`", before=("unshare", "-n")),
    "no HOME": Environment("no `HOME`, no `XDG_*`: `env -u HOME`", changes={"HOME": None, **XDG}),
    "HOME read-only": Environment("`HOME` on a disk that cannot be written", changes={"HOME": "{read_only}", **XDG}),
    "HOME missing": Environment("`HOME=/nowhere`", changes={"HOME": "/nowhere", **XDG}),
    "no user": Environment("a user without a name: `setpriv --reuid 54321`", before=("setpriv", "--reuid", "54321",
                           "--regid", "54321", "--clear-groups"), changes={"HOME": None}),
    "ASCII": Environment("`LC_ALL=C PYTHONUTF8=0`, title with accents",
                         changes={"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}),
    "2 GiB": Environment("2 GiB of memory: `RLIMIT_DATA`", limit=_memory),
    "long path": Environment(f"a path of {LONG_PATH} bytes", place=_long),
    "long name": Environment(f"a folder's name of {LONGEST_NAME} bytes", place=_named("n" * LONGEST_NAME)),
    "odd path": Environment("blanks, an end of line, an emoji and bytes that are no UTF-8 in the path",
                            place=_named(" two  blanks\nand a line 🎵 " + os.fsdecode(b"\xff"))),
    "no terminal": Environment("standard input closed, `TERM=dumb`, a terminal of 20 columns",
                               changes={"TERM": "dumb", "COLUMNS": "20"}, before=("sh", "-c", 'exec "$@" <&-', "sh")),
    "full disk": Environment(f"a disk that is full after {FULL_BYTES // 1024} KiB"),
    "read-only": Environment("a folder on a disk that cannot be written"),
}  # fmt: skip


@contextmanager
def _disk(name: str) -> Iterator[Path]:
    """A disk of its own."""
    with tempfile.TemporaryDirectory(prefix=name) as folder:
        subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={ROOM_BYTES}", "none", folder], check=True)
        try:
            yield Path(folder)
        finally:
            subprocess.run(["umount", folder], check=True)


def _again(disk: Path, options: str) -> None:
    subprocess.run(["mount", "-o", f"remount,{options}", str(disk)], check=True)


def _contents(folder: Path) -> dict[str, str]:
    found = {}
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            found[os.fsdecode(os.fsencode(path.relative_to(folder)))] = hashlib.sha256(path.read_bytes()).hexdigest()
    return found


@dataclass(frozen=True)
class Ended:
    """How a job ended: its status, what it said, and its largest memory in MiB."""

    status: int
    told: str
    peak_mib: int


def _run(job: str, where: Path, environment: Environment, read_only: Path) -> Ended:
    variables = os.environ | {"PYTHONPATH": str(ROOT / "src"), "PYTHONDONTWRITEBYTECODE": "1"}
    for name, value in environment.changes.items():
        variables.pop(name, None)
        if value is not None:
            variables[name] = value.replace("{read_only}", str(read_only))
    # the shell steps down to the folder, since a path may be longer than the system takes in one
    command = [*environment.before, *RUN, *JOBS[job]]
    with tempfile.TemporaryFile() as told:
        child = subprocess.Popen(command, cwd=where, env=variables, stdout=subprocess.DEVNULL, stderr=told,
                                 preexec_fn=environment.limit)  # fmt: skip
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        told.seek(0)
        text = told.read().decode(errors="replace")
    return Ended(child.returncode, text, usage.ru_maxrss // 1024)


def prepared(base: Path) -> Path:
    """A folder with a tune, a lesson of it and a take, to be copied for each environment."""
    (base / "tune.abc").write_text(TUNE, encoding="utf-8")
    _run("lesson", base, ENVIRONMENTS["as usual"], base)
    (base / "new").rename(base / "lesson")
    shutil.copy(sorted((base / "lesson").glob("play-along-*.wav"))[-1], base / "take.wav")
    return base


def tried(name: str, base: Path, usual: Mapping[str, str]) -> tuple[dict[str, str], int, dict[str, str]]:
    """What each job came to, the largest memory in MiB, and what was made."""
    environment = ENVIRONMENTS[name]
    with _disk("trial") as disk, _disk("home") as read_only:
        where = environment.place(disk)
        shutil.copytree(base, where, dirs_exist_ok=True)
        if name == "no user":
            subprocess.run(["chown", "-R", "54321:54321", str(disk)], check=True)
        _again(read_only, "ro")
        if name == "full disk":
            used = ROOM_BYTES - os.statvfs(disk).f_bavail * os.statvfs(disk).f_frsize
            _again(disk, f"size={used + FULL_BYTES}")
        elif name == "read-only":
            _again(disk, "ro")
        outcomes, peak = {}, 0
        for job in JOBS:
            before = _contents(where)
            ended = _run(job, where, environment, read_only)
            peak = max(peak, ended.peak_mib)
            outcomes[job] = _outcome(ended, before, _contents(where), usual)
            print(f"{name}, {job}: {outcomes[job]}, {ended.peak_mib} MiB, {ended.told[-200:]!r}", flush=True)
        return outcomes, peak, _contents(where)


def _outcome(ended: Ended, before: Mapping[str, str], after: Mapping[str, str], usual: Mapping[str, str]) -> str:
    if "Traceback" in ended.told or ended.status not in (0, 2):
        return f"WRONG: status {ended.status}"
    if ended.status == 2:
        return "told" if before == after else "WRONG: something is left"
    made = {one: digest for one, digest in after.items() if before.get(one) != digest}
    if not made or any(".unfinished" in one for one in after):
        return "WRONG: half-made"
    differs = [one for one, digest in made.items() if one.endswith(SAME) and usual.get(one, digest) != digest]
    missing = [one for one in made if usual and one not in usual]
    return f"WRONG: differs: {differs + missing}" if differs or missing else "made"


def main() -> None:
    """Try each environment and print or write the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--only", choices=ENVIRONMENTS, action="append", help="these environments only")
    parser.add_argument("--write", action="store_true", help="write the table into docs/reliability.md")
    asked = parser.parse_args()
    rows = [
        f"`python bench/environments.py`, {date.today()} (made: as elsewhere; told: refused in a sentence):",
        "",
        f"| environment | {' | '.join(JOBS)} | memory at most |",
        f"|---|{'---|' * len(JOBS)}---|",
    ]
    usual: Mapping[str, str] = {}
    with tempfile.TemporaryDirectory() as folder:
        base = prepared(Path(folder))
        for name, environment in ENVIRONMENTS.items():
            if asked.only and name not in (*asked.only, "as usual"):
                continue
            outcomes, peak, made = tried(name, base, usual)
            usual = usual or made
            rows.append(f"| {environment.told} | {' | '.join(outcomes.values())} | {peak} MiB |")
    text = "\n".join(rows)
    print(text)
    if asked.write:
        put_between(MARKS, text, PAGE)


if __name__ == "__main__":
    main()
