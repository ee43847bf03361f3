"""Processes that tests start, by their numbers."""

from __future__ import annotations

import os


def is_alive(process: int) -> bool:
    """Whether a process is still there."""
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    return True
