"""Feeding: inputs one after another to a reader, in a process of its own with limits, and what came of each.

A defect is an error that is not ours, work or memory over the limit, a process that dies, or a later job that does
not take what a reader let in. Inputs that reach lines which none before had reached, or that end with a message of
ours which none before had, are kept and changed further.
"""

from __future__ import annotations

import hashlib
import mmap
import os
import random
import resource
import signal
import struct
import sys
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fuzzing.kinds import Target
from fuzzing.mutation import MOST_BYTES, Changer, changed
from fuzzing.watch import TooMuchWork, Watch
from reedpath.errors import ReedpathError
from reedpath.wording import catalogue_names, error_hint, error_words, load_catalogue

# calls for one input of at most 60,000 bytes, and for what follows on it; an honest source of that size takes a tenth
MOST_CALLS = 6_000_000
# bytes of memory; processor seconds for one input, after which it is stopped, and after which its process is
MOST_MEMORY, MOST_SECONDS = 2 << 30, 20
# seconds without any work of the processor after which a process that should be at work stands still
STILL_SECONDS = 120
# of the inputs, how many are watched line by line, since that takes longer
WATCHED = 1 / 12
# of the errors, how many are told in words, beside those that are new
SAID = 1 / 20
# inputs kept of a kind
MOST_KEPT = 500
# of the inputs, how many are changed from one that was kept
FROM_KEPT = 0.6


@dataclass
class Came:
    """What came of inputs.

    counts : "read", "refused", "followed".
    defects : the input, and the last lines of what went wrong, by where it went wrong.
    """

    counts: Counter[str] = field(default_factory=Counter)
    defects: dict[str, tuple[bytes, str]] = field(default_factory=dict)


def _stop(*_: object) -> None:
    raise TooMuchWork(f"over {MOST_SECONDS} seconds of the processor")


def where_of(error: BaseException) -> str:
    """Where an error came from: its kind, and the innermost place in the program."""
    frames = traceback.extract_tb(error.__traceback__)
    ours = [one for one in frames if "reedpath" in one.filename] or list(frames)
    last = ours[-1] if ours else None
    at = f"{Path(last.filename).name}:{last.name}" if last else "?"
    return f"{type(error).__name__} {at}"


class Feeder:
    """Feeds one kind of input, and keeps what leads further.

    counting : whether calls are counted of every input, which takes longer, or of those watched line by line alone;
        the limit of processor time holds in either case, but is the caller's to set.

    kept : inputs that led further; given at the start, they are not tried again.
    """

    def __init__(self, target: Target, *, kept: Sequence[bytes] = (), counting: bool = False) -> None:
        self.target = target
        self.seeds = list(target.seeds())
        self.kept: list[bytes] = []
        self.came = Came()
        self._counting = counting
        self._catalogues = [load_catalogue(name) for name in catalogue_names()]
        self._watch = Watch(MOST_CALLS)
        self._told: set[str] = set()
        for one in (*self.seeds, *kept):
            self._fed(one, random.Random(0), lines=True, follow=False)
        self.kept = list(kept)
        self.came = Came()

    def next_input(self, draw: random.Random) -> bytes:
        """An input that is changed from one before."""
        start = draw.choice(self.kept if self.kept and draw.random() < FROM_KEPT else self.seeds)
        others = self.kept[-40:] + self.seeds
        data = changed(start, self.target.changes, Changer(draw, self.target.tokens, others))
        if self.target.mended is not None and draw.random() < 0.5:
            data = self.target.mended(data)
        return data

    def _say(self, error: ReedpathError) -> None:
        """What the doors say of an error."""
        str(error)
        for catalogue in self._catalogues:
            error_words(error, catalogue)
            error_hint(error, catalogue)

    def feed(self, data: bytes, draw: random.Random) -> bool:
        """Feed one input; whether it is one to be kept."""
        lines = draw.random() < WATCHED
        further = self._fed(data, draw, lines=lines, follow=draw.random() < self.target.share)
        if further and len(self.kept) < MOST_KEPT and len(data) <= MOST_BYTES:
            self.kept.append(data)
        return further

    def feed_and_follow(self, data: bytes, draw: random.Random) -> None:
        """Feed one input, and go on with what was read."""
        self._fed(data, draw, lines=True, follow=True)

    def _fed(self, data: bytes, draw: random.Random, *, lines: bool, follow: bool) -> bool:
        counts = self.came.counts
        key = ""

        def taken() -> None:
            nonlocal key
            value: Any = self.target.read(data)
            counts["read"] += 1
            if follow:
                counts["followed"] += 1
                with suppress(ReedpathError):
                    self.target.follow(value, data, draw)

        def taken_or_refused() -> None:
            nonlocal key
            try:
                taken()
            except ReedpathError as error:
                counts["refused"] += 1
                key = error.key
                if key not in self._told or draw.random() < SAID:
                    self._say(error)

        try:
            if lines or self._counting:
                self._watch.run(taken_or_refused, lines=lines)
            else:
                taken_or_refused()
        except (KeyboardInterrupt, SystemExit):
            raise
        except BaseException as error:  # noqa: BLE001  # that is what is looked for
            counts["defects"] += 1
            place = where_of(error)
            if place not in self.came.defects or len(data) < len(self.came.defects[place][0]):
                self.came.defects[place] = (data, "".join(traceback.format_exception(error)[-8:])[-4_000:])
            return False
        is_new_key = bool(key) and key not in self._told
        self._told.add(key)
        return (lines and self._watch.new_lines > 0) or is_new_key


class Board:
    """Memory that a process and its child share: what came so far, how far the child is, the input in its hands."""

    COUNTED = ("read", "refused", "followed", "defects")
    HEAD = struct.Struct("<QQ4Q")

    def __init__(self) -> None:
        self._memory = mmap.mmap(-1, self.HEAD.size + MOST_BYTES + 1_024)

    def begin(self, index: int, data: bytes, counts: Mapping[str, int]) -> None:
        """Put an input down before it is fed."""
        self._memory[self.HEAD.size : self.HEAD.size + len(data)] = data
        self._memory[: self.HEAD.size] = self.HEAD.pack(
            index, len(data), *(counts.get(name, 0) for name in self.COUNTED)
        )

    def seen(self) -> tuple[int, bytes, dict[str, int]]:
        """The number of the input, itself, and the counts before it."""
        index, length, *counts = self.HEAD.unpack(self._memory[: self.HEAD.size])
        data = bytes(self._memory[self.HEAD.size : self.HEAD.size + length])
        return index, data, dict(zip(self.COUNTED, counts, strict=True))


def _limit() -> None:
    """What a child may take."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_FSIZE, (1 << 30, 1 << 30))
    signal.signal(signal.SIGPROF, _stop)


def _seconds_used() -> float:
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime


def digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()[:12]


def _child(target: Target, seed: str, first: int, last: int, board: Board, corpus: Path, pipe: int) -> None:
    """Feed the inputs from the first to the last, and write what came of them into a pipe."""
    import msgspec

    with open(os.devnull, "w") as nowhere:  # what libraries of C print about damaged files
        os.dup2(nowhere.fileno(), 1)
        os.dup2(nowhere.fileno(), 2)
    corpus.mkdir(parents=True, exist_ok=True)
    before = [path.read_bytes() for path in sorted(corpus.iterdir())][:MOST_KEPT]
    _limit()
    warnings.simplefilter("error", RuntimeWarning)  # what numpy says of numbers that are none reaches the user
    feeder = Feeder(target, kept=before)
    for index in range(first, last):
        draw = random.Random(f"{seed} {target.name} {index}")
        data = feeder.next_input(draw)
        board.begin(index, data, feeder.came.counts)
        if index % 20 == 0 or target.slow:
            limit = int(_seconds_used()) + MOST_SECONDS + 15
            resource.setrlimit(resource.RLIMIT_CPU, (limit, resource.RLIM_INFINITY))
            signal.setitimer(signal.ITIMER_PROF, MOST_SECONDS)
        if feeder.feed(data, draw):
            (corpus / digest(data)).write_bytes(data)
    signal.setitimer(signal.ITIMER_PROF, 0)
    came = {"counts": dict(feeder.came.counts), "defects": feeder.came.defects}
    with os.fdopen(pipe, "wb") as end:
        end.write(msgspec.msgpack.encode(came))


def _processor_seconds(process: int) -> float:
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _waited(process: int) -> tuple[int, str]:
    """The status of a child once it has ended; one that stands still is ended."""
    used, since = -1.0, time.monotonic()
    while True:
        ended, status = os.waitpid(process, os.WNOHANG)
        if ended:
            return status, ""
        time.sleep(0.05)
        now = _processor_seconds(process)
        if now > used + 0.05:
            used, since = now, time.monotonic()
        elif time.monotonic() - since > STILL_SECONDS:
            os.kill(process, signal.SIGKILL)
            return os.waitpid(process, 0)[1], "stood still"


def fed_in_child(target: Target, seed: str, first: int, last: int, corpus: Path) -> Came:
    """What came of the inputs from one number to another, children anew after each that died."""
    import msgspec

    came = Came()
    board = Board()
    while first < last:
        board.begin(first, b"", {})
        reading, writing = os.pipe()
        process = os.fork()
        if process == 0:
            status = 1
            try:
                os.close(reading)
                _child(target, seed, first, last, board, corpus, writing)
                status = 0
            except BaseException:  # noqa: BLE001  # told, and the child ends
                with suppress(Exception):
                    (corpus.parent / "broken.txt").write_text(traceback.format_exc())
            finally:
                os._exit(status)
        os.close(writing)
        status, why = _waited(process)
        with os.fdopen(reading, "rb") as end:
            told = end.read()
        if status == 0 and told:
            made = msgspec.msgpack.decode(told)
            came.counts.update(made["counts"])
            for place, (data, trace) in made["defects"].items():
                came.defects.setdefault(place, (data, trace))
            came.counts["fed"] += last - first
            break
        done, data, counts = board.seen()
        came.counts.update(counts)
        ended = why or f"signal {os.WTERMSIG(status)}" if os.WIFSIGNALED(status) else f"status {status >> 8}"
        came.defects.setdefault(f"process ended: {ended}", (data, ended))
        came.counts["defects"] += 1
        came.counts["fed"] += done + 1 - first
        first = done + 1
    return came


if __name__ == "__main__":
    sys.exit("run bench/fuzz.py")
