"""Jobs for tests, where another process finds them by their names."""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

from reedpath.errors import SettingsError
from reedpath.jobs.progress import Progress, ProgressStep


def make_file(folder: Path, text: str, *, progress: Progress) -> int:
    """Write a file into the job's folder; its length."""
    progress(ProgressStep("reading", 0, 2, share=0.0))
    progress(ProgressStep("data", 1, 2, share=0.5))
    sys.stdout.write("what a library prints does not come between")
    return (folder / "made.txt").write_text(text)


def refuse(*, progress: Progress) -> None:
    """Raise an error of ours."""
    raise SettingsError("studio.no_number", found="seven")


def fault(*, progress: Progress) -> None:
    """Raise an error that is a fault of the program."""
    raise ZeroDivisionError("by nought")


def go_on(folder: Path, *, progress: Progress) -> None:
    """Never end by itself; say its process in a file."""
    (folder.parent / "process").write_text(str(os.getpid()))
    progress(ProgressStep("sound", 0, 1, "70 %", share=0.0))
    while True:
        time.sleep(0.01)


def die(*, progress: Progress) -> None:
    """End as if it had been killed."""
    os.kill(os.getpid(), 9)


def take_memory(*, progress: Progress) -> int:
    """Ask for more memory than a process may have."""
    return len(bytearray(1 << 42))


def niceness(*, progress: Progress) -> tuple[int, str]:
    """How far the process stands back, and its session."""
    try:
        session = Path("/proc/self/autogroup").read_text().split()[-1]
    except OSError:  # this system weighs processes alone
        session = "10"
    return os.nice(0), session
