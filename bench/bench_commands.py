"""Speed and memory of whole commands, each in a process of its own.

pytest bench/bench_commands.py --benchmark-only
"""

from __future__ import annotations

import resource
import shutil
import subprocess
import sys
from pathlib import Path

COMMAND = [sys.executable, "-c", "from reedpath.cli import main; main()"]


def _run(*arguments: str) -> None:
    subprocess.run([*COMMAND, *arguments], check=True, capture_output=True)


def _peak_megabytes() -> float:
    """Peak memory of the children so far: run one kind of command a process."""
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


def test_help_starts(benchmark):
    benchmark.pedantic(_run, ("--help",), rounds=10, warmup_rounds=1)
    benchmark.extra_info["peak_megabytes"] = round(_peak_megabytes())


def test_the_whole_demo_from_cold(benchmark, tmp_path):
    out = tmp_path / "demo"

    def fresh() -> None:
        shutil.rmtree(out, ignore_errors=True)

    benchmark.pedantic(_run, ("demo", "--out", str(out)), setup=fresh, rounds=3)
    benchmark.extra_info["peak_megabytes"] = round(_peak_megabytes())
    assert (Path(out) / "sheet.pdf").exists()
