"""How soon commands answer, as multiples of ``python -c "import numpy"`` in the same run.

python bench/startup.py [ROUNDS]

Modules are compiled before anything is measured, as an installation has them. Runs of all commands follow one
another in turn, so that a busy moment of the machine meets them alike; each is told by its median. Commands that make
no sound and no picture should answer within three times the import of numpy.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from importlib.resources import files

PHRASE = str(files("reedpath.jobs") / "demo" / "two-questions.txt")
MEASURE = "import numpy"
FOLDER, SHELF = "two-questions", ["--shelf", "bench.shelf"]
# what the commands are asked of: a lesson, a shelf with it, and a student with a take of it
PREPARED = (
    ["lesson", PHRASE, "--harp", "A", "--out", FOLDER],
    ["shelf", "add", FOLDER, *SHELF],
    ["shelf", "student", "Wren (invented)", *SHELF],
    ["shelf", "takes", f"{FOLDER}/play-along-88.wav", "--student", "Wren (invented)", *SHELF],
)
COMMANDS = {
    "`reedpath --help`": ["--help"],
    "`reedpath arrange --help`": ["arrange", "--help"],
    "wrong use": ["arrange", "--nonsense"],
    "`reedpath --show-completion bash`": ["--show-completion", "bash"],
    "`reedpath harp A`": ["harp", "A"],
    "`reedpath survey`": ["survey", PHRASE],
    "`reedpath arrange`": ["arrange", PHRASE, "--harp", "A"],
    "`reedpath arrange --why`": ["arrange", PHRASE, "--harp", "A", "--why"],
    "`reedpath chords`": ["chords", PHRASE],
    "`reedpath needs`": ["needs", FOLDER],
    "`reedpath shelf list`": ["shelf", "list", *SHELF],
    "`reedpath shelf find`": ["shelf", "find", "questions", *SHELF],
    "`reedpath shelf find --tune`": ["shelf", "find", "--tune", "E G A Bb", *SHELF],
    "`reedpath shelf progress`": ["shelf", "progress", "Wren (invented)", *SHELF],
    "`reedpath shelf next`": ["shelf", "next", "Wren (invented)", *SHELF],
}
# what a command leaves loaded: modules of ours, and all
COUNT = (
    "import sys\nfrom reedpath.cli import main\ntry:\n main({!r})\nexcept SystemExit: pass\n"
    "print(len([m for m in sys.modules if m.partition('.')[0] == 'reedpath']), len(sys.modules), file=sys.stderr)"
)


def _run(code: str, compiled: str) -> subprocess.CompletedProcess[str]:
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPYCACHEPREFIX"] = compiled
    return subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, env=environment, cwd=compiled
    )


def _seconds(code: str, compiled: str) -> tuple[float, float]:
    """Wall and processor seconds of a process that runs the code."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    _run(code, compiled)
    wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    return wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main(rounds: int = 11) -> str:
    """The table of commands, in Markdown."""
    codes = {"`python -c 'import numpy'`": MEASURE} | {
        name: f"from reedpath.cli import main; main({arguments!r})" for name, arguments in COMMANDS.items()
    }
    taken: dict[str, list[tuple[float, float]]] = {name: [] for name in codes}
    with tempfile.TemporaryDirectory() as compiled:
        for arguments in PREPARED:
            _run(f"from reedpath.cli import main; main({arguments!r})", compiled)
        modules = {
            name: ", ".join(_run(COUNT.format(arguments), compiled).stderr.splitlines()[-1].split())
            for name, arguments in COMMANDS.items()
        }
        for _ in range(rounds):
            for name, code in codes.items():
                taken[name].append(_seconds(code, compiled))
    middle = {name: [statistics.median(one) for one in zip(*runs, strict=True)] for name, runs in taken.items()}
    unit = next(iter(middle.values()))
    lines = [
        "| command | median | times numpy | processor time, times numpy | modules: ours, all |",
        "|---|---|---|---|---|",
    ]
    for name, (wall, cpu) in middle.items():
        loaded = modules.get(name, "-")
        lines.append(f"| {name} | {1000 * wall:.0f} ms | {wall / unit[0]:.1f} | {cpu / unit[1]:.1f} | {loaded} |")
    return "\n".join(lines)


if __name__ == "__main__":
    print(main(*map(int, sys.argv[1:2])))
