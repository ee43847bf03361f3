"""What a live session keeps in memory over an hour of rehearsing, fed as fast as it goes.

    python bench/live_memory.py               the table of docs/performance.md
    python bench/live_memory.py --minutes 5

A take glued from recorded harmonica notes goes round and round, with the clock of what is played along beginning anew
each time, as it does for somebody who practises. Resident memory is read from /proc once a minute of sound; the first
minute is what the session begins with.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from pathlib import Path

import msgspec
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from reedpath.harp import Alteration, Breath, Move
from reedpath.listen import BLOCK_FRAMES, LiveAsked, LiveSession, packed_block
from support.built_routes import built_route
from support.glued_takes import RATE, Manner, glue, perform
from tables import put_between

ROUTE = built_route(
    "2d:1 3d':1 3d:1 4d:1 (4 5)b:1 4d':1~ 4b:1 3d'':2 r:1 2d:1 2d'':1 1d:1 6b:1 5d:1 4d:1 3d:1 2d:4", key="C", bpm=96
)
MARKS = ("<!-- live memory: made by bench/live_memory.py -->", "<!-- end of live memory -->")
PAGE_BYTES = os.sysconf("SC_PAGE_SIZE")


def resident_mb() -> float:
    """Resident memory of this process, megabytes."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * PAGE_BYTES / 1e6


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--minutes", type=int, default=60)
    asked = options.parse_args()
    deeds = perform(ROUTE, np.random.default_rng(3), manner=Manner())
    sound = glue(ROUTE, deeds, rng=np.random.default_rng(4)).samples.array[:, 0]
    bend = Move((3,), Breath.DRAW, Alteration.BEND, -2)
    session = LiveSession(LiveAsked(harp=ROUTE.harp, rate=RATE, route=ROUTE, held=bend))
    starts = range(0, len(sound) - BLOCK_FRAMES, BLOCK_FRAMES)
    fed, number, minutes, sizes, begin = 0.0, 0, 0, [], time.perf_counter()
    while minutes < asked.minutes:
        for start in starts:
            block = packed_block(number, start / RATE - 0.6, sound[start : start + BLOCK_FRAMES])
            msgspec.json.encode(session.answer(block))
            number += 1
        fed += len(starts) * BLOCK_FRAMES / RATE
        if fed >= 60.0 * (minutes + 1):
            minutes = int(fed // 60.0)
            sizes.append(resident_mb())
            print(f"{minutes} min: {sizes[-1]:.1f} MB", file=sys.stderr, flush=True)
    spent = time.perf_counter() - begin
    rows = [
        f"`python bench/live_memory.py --minutes {asked.minutes}`: {number:,} blocks, {fed / 60:.0f} minutes of "
        f"sound, heard in {spent:.0f} s ({fed / spent:.1f} times as fast as played).",
        "",
        "| after | resident memory, MB |",
        "|---|---|",
        *(f"| {one} min | {sizes[one - 1]:.1f} |" for one in (1, 10, 20, 30, 40, 50, 60) if one <= len(sizes)),
    ]
    print("\n".join(rows))
    if asked.minutes == options.get_default("minutes"):
        put_between(MARKS, "\n".join(rows), Path("docs/performance.md"))


if __name__ == "__main__":
    main()
