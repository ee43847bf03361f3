"""The entry: runs a command and turns every error into one sentence and an exit status.

Exit status 0: done; 2: something asked for cannot be, with a sentence that says why; 70: a fault of the program;
130: interrupted.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Sequence

from reedpath.errors import ReedpathError

__all__ = ["main"]

# exit statuses; 2 as click has it for wrong usage, 70 of BSD's sysexits.h, 130 is 128 + SIGINT as in POSIX shells
CANNOT, FAULT, INTERRUPTED = 2, 70, 130


def _tell(lead: str, message: str, hint: str | None = None) -> None:
    sys.stderr.write(f"{lead}: {message}\n")
    if hint:
        sys.stderr.write(f"  {hint}\n")


def _run(arguments: Sequence[str] | None) -> int:
    from reedpath.cli.commands import app

    try:
        app(args=arguments, prog_name="reedpath")
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else 0
    except ReedpathError as error:
        _tell("reedpath", str(error), error.hint)
        return CANNOT
    return 0


def _interrupt(*_: object) -> None:
    raise KeyboardInterrupt


def _interrupted_alike() -> None:
    """Let a closed terminal and a request to end be what Ctrl-C is, so that they leave nothing half-made either."""
    if threading.current_thread() is not threading.main_thread():
        return  # only there may signals be seen to
    for name in ("SIGTERM", "SIGHUP"):  # the second is not known to Windows
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is signal.SIG_DFL:
            signal.signal(number, _interrupt)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line with the process's arguments, or those given, and exit."""
    try:
        _interrupted_alike()
        status = _run(arguments)
        sys.stdout.flush()
    except KeyboardInterrupt:
        status = INTERRUPTED
    except BrokenPipeError:
        # the reader of a pipe has gone: what it wanted, it has; let nothing be flushed into it at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        status = 0
    except Exception as error:
        if "REEDPATH_TRACE" in os.environ:
            raise
        _tell("reedpath", f"a fault of the program: {type(error).__name__}: {error}",
              "please report it, with the file that brought it about (REEDPATH_TRACE=1 shows more)")  # fmt: skip
        status = FAULT
    if status == INTERRUPTED:  # by way of the library of commands, which only gives this status, or not
        from reedpath.cli.printing import catalogue_for

        _tell("reedpath", catalogue_for(None).say("cli.interrupted"))
    raise SystemExit(status)
