"""What a library of the system writes to the standard error of the process, kept from a user who cannot mend it."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["without_its_words"]

# the file number of standard error (POSIX)
STANDARD_ERROR = 2

_lock = threading.Lock()
_inside = 0
_kept: int | None = None


def _turn_off() -> int | None:
    """Send standard error nowhere; its old place under another number, None where it is closed."""
    try:
        kept = os.dup(STANDARD_ERROR)
    except OSError:
        return None
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, STANDARD_ERROR)
    os.close(nowhere)
    return kept


def _turn_on(kept: int) -> None:
    os.dup2(kept, STANDARD_ERROR)
    os.close(kept)


@contextmanager
def without_its_words() -> Iterator[None]:
    """Nothing is written to standard error while this is entered, by any thread.

    The reader of MP3 in soundfile writes a line for every frame that is damaged, and has no switch for it. Stay in it
    for the library's call alone: what Python itself writes meanwhile is lost too.
    """
    global _inside, _kept
    with _lock:
        if not _inside:
            if sys.stderr is not None:
                sys.stderr.flush()
            _kept = _turn_off()
        _inside += 1
    try:
        yield
    finally:
        with _lock:
            _inside -= 1
            if not _inside and _kept is not None:
                _turn_on(_kept)
                _kept = None
