"""A file that one run of the program holds at a time, so that no two write in one place."""

from __future__ import annotations

import os
from pathlib import Path


def hold_file(path: Path) -> int | None:
    """An open file that is this run's until it is closed, made where there is none; None where another run holds it.

    A run that ends removes the file, where it wants to, before it closes it.
    """
    try:
        import fcntl
    except ImportError:  # where the system has no such locks the file itself is the lock
        try:
            return os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR)
        except FileExistsError:
            return None
    held = os.open(path, os.O_CREAT | os.O_RDWR)
    try:
        fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        # a run that ends removes the file it holds: what is held must be what is there
        if os.fstat(held).st_ino == os.stat(path).st_ino:
            return held
    except (BlockingIOError, FileNotFoundError):
        pass
    os.close(held)
    return None
