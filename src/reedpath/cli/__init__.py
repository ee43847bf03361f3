"""The command line: arguments in, text or JSON out. No musical rule lives here.

Here it begins, and here is what ends it: Ctrl-C, a closed terminal and a request to end are one thing, none is lost.
"""

from __future__ import annotations

import _thread
import atexit
import gc
import os
import signal
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sys import UnraisableHookArgs
    from types import FrameType

__all__ = ["came_to_nothing", "main", "no_more_interruptions"]

# seconds until an interruption comes again that could not be raised where it fell, and how often it does so while
# modules are loaded: in ten seconds they are; ours
AGAIN_SECONDS, MOST_TIMES = 0.01, 1_000
# files that the frames of Python's own loading of modules name
_LOADING = "<frozen importlib"

# variables by which libraries of arithmetic are told how many threads to start: what is heard comes in small pieces,
# for which they wait on each other longer than they work, and most of all where the processors have other work
_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")

_lost = threading.Event()
_times: dict[int, int] = {}


def _is_loading(frame: FrameType | None) -> bool:
    """Whether a module is being loaded: some libraries end the process when anything is raised there."""
    while frame is not None:
        if frame.f_code.co_filename.startswith(_LOADING):
            return True
        frame = frame.f_back
    return False


def _interrupt(number: int, frame: FrameType | None) -> None:
    _times[number] = _times.get(number, 0) + 1
    if _times[number] > MOST_TIMES or not _is_loading(frame):
        raise KeyboardInterrupt
    _lost.set()
    _thread.start_new_thread(_come_again, (number,))


def _come_again(number: int = signal.SIGINT) -> None:
    time.sleep(AGAIN_SECONDS)
    _thread.interrupt_main(signal.Signals(number))


def _told_or_come_again(told: UnraisableHookArgs) -> None:
    """Let an interruption come again that fell where Python can raise nothing, as while an object is disposed of."""
    if isinstance(told.exc_value, KeyboardInterrupt):
        _lost.set()
        _thread.start_new_thread(_come_again, ())
    else:
        sys.__unraisablehook__(told)


def _signals() -> list[signal.Signals]:
    """Requests to end, beside Ctrl-C; the second is not known to Windows."""
    return [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]


def _interrupted_alike() -> None:
    """Let all that ends a command be what Ctrl-C is, so that it leaves nothing half-made, and is not lost."""
    if threading.current_thread() is not threading.main_thread():
        return  # only there may signals be seen to
    _lost.clear()
    _times.clear()
    sys.unraisablehook = _told_or_come_again
    for number in (signal.SIGINT, *_signals()):
        if signal.getsignal(number) in (signal.SIG_DFL, signal.default_int_handler):
            signal.signal(number, _interrupt)


def came_to_nothing() -> bool:
    """Whether an interruption fell where nothing can be raised: a command that ends all the same is no success."""
    return _lost.is_set()


@contextmanager
def no_more_interruptions() -> Iterator[None]:
    """Let no second Ctrl-C into what is said of the first."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {number: signal.signal(number, signal.SIG_IGN) for number in (signal.SIGINT, *_signals())}
    try:
        yield
    finally:
        for number, handler in before.items():
            if handler is not None:  # None: not Python's to change
                signal.signal(number, handler)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line with the process's arguments, or those given, and exit."""
    try:
        _interrupted_alike()
        for name in _THREADS:  # before any of them is loaded
            os.environ.setdefault(name, "1")
        # a process that ends need not look for cycles among all that it holds: a tenth of a short command's time
        atexit.register(gc.freeze)
        from reedpath.cli.entry import run
    except KeyboardInterrupt:  # while the program was still being loaded
        from reedpath.cli.entry import end_interrupted

        end_interrupted(arguments)
    run(arguments)
