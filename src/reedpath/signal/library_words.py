"""What a library of the system writes to the standard error of the process, kept from a user who cannot mend it."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager

# the file number of standard error (POSIX)
STANDARD_ERROR = 2


class _Turned:
    """How many threads want nothing written, and under which number standard error is kept meanwhile."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._inside = 0
        self._kept: int | None = None

    def off(self) -> None:
        """Send standard error nowhere; where it is closed, there is nothing to do."""
        with self._lock:
            self._inside += 1
            if self._inside > 1:
                return
            if sys.stderr is not None:
                sys.stderr.flush()
            try:
                self._kept = os.dup(STANDARD_ERROR)
            except OSError:
                return
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, STANDARD_ERROR)
            os.close(nowhere)

    def on(self) -> None:
        """Have standard error back, if nobody else wants nothing written."""
        with self._lock:
            self._inside -= 1
            if not self._inside and self._kept is not None:
                os.dup2(self._kept, STANDARD_ERROR)
                os.close(self._kept)
                self._kept = None


_turned = _Turned()


@contextmanager
def without_its_words() -> Iterator[None]:
    """Nothing is written to standard error while this is entered, by any thread.

    The reader of MP3 in soundfile writes a line for every frame that is damaged, and has no switch for it. Stay in it
    for the library's call alone: what Python itself writes meanwhile is lost too.
    """
    _turned.off()
    try:
        yield
    finally:
        _turned.on()
