"""How soon the live listener names a move.

    python bench/listen_live.py

Takes glued from recorded harmonica notes (see bench/listen_faults.py) are fed in blocks of 5 ms. Two figures:
how long after a moment its value is out (waiting for sound and computing), and how long after the onset of a note
(where the recording comes within 20 dB of its peak) its move, or one that sounds the same, is named for the first
time and stays named for 30 ms.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from listen_faults import routes
from reedpath.harp import sound_of
from reedpath.listen import LiveListener
from support.glued_takes import RATE, Manner, clean, glue, hum, perform, phone, room, under

BLOCK = round(0.005 * RATE)
# values in a row by which a move must stay named, and seconds of the steady part skipped
STAYS = 3


def listened(take, route):
    """Rows of (seconds of sound fed, seconds of the value, MIDI numbers named), and seconds of work a block."""
    listener = LiveListener(route.harp, RATE, route=route)
    sound = take.samples.array[:, 0]
    rows, work = [], []
    for start in range(0, len(sound) - BLOCK, BLOCK):
        begin = time.perf_counter()
        found = listener.feed(sound[start : start + BLOCK])
        work.append(time.perf_counter() - begin)
        for one in found:
            named = sound_of(route.harp, one.move).midi[0] if one.move else None
            rows.append(((start + BLOCK) / RATE + work[-1], one.seconds, named, one.cents))
    return rows, work


def main() -> None:
    heads = ("takes", "value after its moment, ms", "named after onset, ms: median / 95th", "within 30 / 40 / 60 ms")
    print(f"| {' | '.join(heads)} | right while held | work a block, ms |")
    print("|---|---|---|---|---|---|")
    for name, condition in (("clean", clean), ("room", room), ("mains hum", hum), ("phone", phone)):
        late, after, right, works = [], [], [], []
        for number, route in enumerate(routes(tuning=False)):
            rng = np.random.default_rng([77, number])
            take = under(glue(route, perform(route, rng, manner=Manner(slide=0.0)), rng), condition, rng)
            rows, work = listened(take, route)
            works += work
            after += [out - at for out, at, _, _ in rows]
            for deed, onset in zip(take.deeds, take.onsets, strict=True):
                if deed.event is None or deed.offsets:
                    continue
                wanted = sound_of(route.harp, deed.move).midi[0]
                inside = [row for row in rows if onset - 0.02 <= row[1] < deed.end]
                named = [row[2] == wanted for row in inside]
                first = next((i for i in range(len(named) - STAYS + 1) if all(named[i : i + STAYS])), None)
                late.append(np.inf if first is None else inside[first][0] - onset)
                held = [
                    hit for hit, row in zip(named, inside, strict=True) if onset + 0.06 < row[1] < deed.end - 0.03
                ]
                right += held
        late_ms = 1000 * np.array(late)
        shares = " / ".join(f"{100 * np.mean(late_ms <= limit):.0f} %" for limit in (30, 40, 60))
        waits = f"{1000 * np.median(after):.0f}, at most {1000 * np.percentile(after, 99):.0f}"
        print(
            f"| {name} | {waits} | {np.median(late_ms):.0f} / {np.percentile(late_ms, 95):.0f} | {shares} | "
            f"{100 * np.mean(right):.1f} % | {1000 * np.median(works):.2f} |"
        )


if __name__ == "__main__":
    main()
