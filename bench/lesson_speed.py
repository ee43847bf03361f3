"""How long a long lesson and the demo take: ``python bench/lesson_speed.py [--before SRC] [--runs 1] [--write]``.

The long one is a fret tab of 320 bars of eighths (``--bars`` for another length), invented by chance. Each command
runs in a process of its own; its processor time is that of all the processes that it starts. Modules are compiled
before anything is measured, as an installation has them. What two processors are worth is measured too, by the same
piece of work alone and twice at once, since what looks like two may be two threads of one.

With ``--before`` the same is measured of another source folder, in turn, so that a busy moment of the machine meets
both alike; ``--write`` puts the table into docs/performance.md.
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

from tables import put_between

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "performance.md"
MARKS = ("<!-- lesson speed: made by bench/lesson_speed.py -->", "<!-- end of lesson speed -->")
STRINGS = ("e", "B", "G", "D", "A", "E")
# strings and frets that the tab wanders over: the minor pentatonic scale of E in two octaves
PLACES = (
    ("E", 0), ("E", 3), ("E", 5), ("A", 2), ("A", 5), ("D", 2), ("D", 5), ("G", 2), ("G", 4), ("B", 3), ("B", 5),
    ("e", 3),
)  # fmt: skip
BARS, BARS_A_LINE, EIGHTHS = 320, 4, 8
RUN = "from reedpath.cli import main; main({!r})"
# a piece of work that no memory and no disk holds up, some seconds long
WORK = "total = 0\nfor number in range(30_000_000): total += number * number"


def long_tab(bars: int = BARS) -> str:
    """A fret tab of so many bars of eighths, by steps and leaps of a third, the same every time."""
    chance, place = random.Random(3), 5
    lines = ["title: A long one (invented)", "key: E", "tempo: 120", "metre: 4/4", ""]
    for _ in range(bars // BARS_A_LINE):
        rows = {name: f"{name}|" for name in STRINGS}
        for _ in range(BARS_A_LINE):
            for _ in range(EIGHTHS):
                place = max(0, min(len(PLACES) - 1, place + chance.choice([-2, -1, -1, 1, 1, 2])))
                string, fret = PLACES[place]
                rows = {name: row + (f"{fret}-" if name == string else "--") for name, row in rows.items()}
            rows = {name: f"{row}|" for name, row in rows.items()}
        lines += [*rows.values(), ""]
    return "\n".join(lines)


def _taken(code: str, source: str, compiled: str) -> tuple[float, float]:
    """Wall and processor seconds of a process that runs the code, and of all that it starts."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    environment = os.environ | {"PYTHONPATH": source, "PYTHONPYCACHEPREFIX": compiled, "PYTHONDONTWRITEBYTECODE": ""}
    subprocess.run([sys.executable, "-c", code], env=environment, check=True, stdout=subprocess.DEVNULL)
    wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    return wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _worth(count: int) -> float:
    """Processor seconds that the piece of work takes, the mean of so many that run at once."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    works = [subprocess.Popen([sys.executable, "-c", WORK]) for _ in range(count)]
    for work in works:
        work.wait()
    return (resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before.ru_utime) / count


def measured(sources: dict[str, str], runs: int, bars: int) -> str:
    """The table of the commands with each source, in Markdown."""
    taken: dict[str, list[tuple[float, float]]] = {}
    with tempfile.TemporaryDirectory() as name:
        tab, compiled = Path(name) / "long.txt", f"{name}/compiled"
        tab.write_text(long_tab(bars), encoding="utf-8")
        for number, source in enumerate(sources.values()):
            _taken(RUN.format(["demo", "--out", f"{name}/first{number}"]), source, compiled)
        for run in range(runs):
            for number, (told, source) in enumerate(sources.items()):
                commands = {
                    "`python -c 'import numpy'`": "import numpy",
                    f"`reedpath demo`{told}": RUN.format(["demo", "--out", f"{name}/demo{run}-{number}"]),
                    f"a lesson of {bars} bars of eighths{told}": RUN.format(
                        ["lesson", str(tab), "--out", f"{name}/long{run}-{number}"]
                    ),
                }
                for command, code in commands.items():
                    taken.setdefault(command, []).append(_taken(code, source, compiled))
    middle = {name: [statistics.median(one) for one in zip(*times, strict=True)] for name, times in taken.items()}
    unit = middle["`python -c 'import numpy'`"]
    lines = ["| command | wall | times numpy | processor time | times numpy |", "|---|---|---|---|---|"]
    for command, (wall, cpu) in middle.items():
        lines.append(f"| {command} | {wall:.1f} s | {wall / unit[0]:.0f} | {cpu:.1f} s | {cpu / unit[1]:.0f} |")
    return "\n".join(lines)


def main() -> None:
    """Measure, and print or write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--before", metavar="SRC", help="source folder of another version")
    parser.add_argument("--runs", type=int, default=1)
    parser.add_argument("--bars", type=int, default=BARS, help="bars of the long lesson, whole lines of four")
    parser.add_argument("--write", action="store_true")
    asked = parser.parse_args()
    sources = ({", before": asked.before} if asked.before else {}) | {", now": str(ROOT / "src")}
    load = os.getloadavg()[0]
    alone, both = _worth(1), _worth(2)
    table = measured(sources, asked.runs, asked.bars)
    told = (
        f"`python bench/lesson_speed.py --runs {asked.runs}`, {date.today().isoformat()}, {os.cpu_count()} cores, "
        f"load average {load:.1f} before and {os.getloadavg()[0]:.1f} after. A piece of work that takes "
        f"{alone:.1f} s of a processor alone takes {both:.1f} s each where two of it run at once.\n\n{table}"
    )
    if asked.write:
        put_between(MARKS, told, PAGE)
    else:
        print(told)


if __name__ == "__main__":
    main()
