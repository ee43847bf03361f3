"""Speed of other ways: all of them for a phrase, and again after a pin, beside the import of numpy in the same run.

python bench/bench_others.py [NOTES]

Processor milliseconds, median and worst of 30 runs after three to warm up: a studio asks this at each click.
"""

from __future__ import annotations

import random
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from fractions import Fraction

from reedpath.arrange import Pin, load_player, settle
from reedpath.harp import make_harp
from reedpath.phrase import Event, Phrase, Tempo

RUNS, WARM_UP = 30, 3
# semitones above its tonic of a line with blue notes
SCALE = (0, 3, 5, 6, 7, 10, 12, 15, 17, 18, 19, 22)
IMPORT = "import time; t = time.process_time(); import numpy; print(time.process_time() - t)"


def invented_phrase(notes: int, seed: int) -> Phrase:
    """A line of our own that walks about a blues scale, a tenth of it double stops, with rests."""
    chance, onset, place = random.Random(seed), Fraction(0), 4
    events = []
    for _ in range(notes):
        place = min(max(place + chance.choice([-2, -1, 0, 1, 2]), 0), len(SCALE) - 1)
        duration = Fraction(chance.choice([2, 2, 2, 1, 4]), 4)
        midi = 60 + SCALE[place]
        events.append(Event(onset, duration, (midi,) if chance.random() < 0.9 else (midi, midi + 4)))
        onset += duration + (1 if chance.random() < 0.06 else 0)
    return Phrase(tuple(events), tempos=(Tempo(Fraction(0), 110.0),))


def _milliseconds(job: Callable[[int], object]) -> list[float]:
    found = []
    for run in range(RUNS + WARM_UP):
        start = time.process_time()
        job(run)
        found.append(1000 * (time.process_time() - start))
    return found[WARM_UP:]


def _measure(level: str, notes: int, numpy: float) -> None:
    harp, player = make_harp("A"), load_player(level)
    phrases = [invented_phrase(notes, seed) for seed in range(RUNS + WARM_UP)]
    settled = [settle(phrase, harp, player=player) for phrase in phrases]
    others = [one.others() for one in settled]

    def all_ways(run: int) -> object:
        return settle(phrases[run], harp, player=player).others()

    def again(run: int) -> object:
        index = next(index for index in range(notes // 2, notes) if others[run][index])
        return settled[run].pinned([Pin(index, others[run][index][0].move)]).others()

    for name, job in (("settle and all other ways", all_ways), ("the same again after a pin", again)):
        found = _milliseconds(job)
        middle, worst = statistics.median(found), max(found)
        print(f"{level:10} {name:30} {middle:6.1f} (worst {worst:.1f}) ms, {middle / numpy:.2f} times numpy")


def main() -> None:
    """Measure and print."""
    notes = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    imports = [
        1000
        * float(subprocess.run([sys.executable, "-c", IMPORT], capture_output=True, text=True, check=True).stdout)
        for _ in range(5)
    ]
    numpy = statistics.median(imports)
    print(f"{notes} notes; import numpy {numpy:.0f} ms of processor time")
    for level in ("steady", "advanced"):
        _measure(level, notes, numpy)


if __name__ == "__main__":
    main()
