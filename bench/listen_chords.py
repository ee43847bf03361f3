"""Faults of single reeds put into takes of chords, double stops and octaves: how many are found, how many are false.

    python bench/listen_chords.py            the table of docs/accuracy.md (test phrases)
    python bench/listen_chords.py --tuning   the same on the phrases that thresholds were found on
    python bench/listen_chords.py --misses   and every miss and false alarm, one a line

Takes are glued reed by reed from recorded harmonica notes (tests/support/chord_takes.py); conditions are those of
listen_faults.py. A fault counts as found if the answer tells it of that event with the very holes. A false alarm is
any fault, of any kind, told of an event that none was put into.
"""

from __future__ import annotations

import sys
import time
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from listen_faults import conditions_of
from reedpath.arrange import Route
from reedpath.listen import EventAnswer, PlayAnswer, ReedState, Verdict, answer_take, holes_heard
from support.built_routes import built_route
from support.chord_takes import ReedFault, ReedKind, drawn_reed_fault, perform_reeds, with_reed_fault
from support.glued_takes import Manner, Take, glue, under

TUNING_PHRASES = (
    ("C", 88.0, "2d 3d 4d:1 [1 4]d:1 [2 5]d [3 6]d (4 5)d:1 4b (4 5)b:1 5b [4 7]b:1 [3 6]b [2 5]b [1 4]b:1 "
     "(1 2 3)d:1 2d 3d' 4b:1 (2 3)d:1 [1 4]d:1 r:1 6b [6 9]b [5 8]b (5 6)b:1 6d (6 7)d:1 [4 8]d 4d (1 2)d 2d:2"),
    ("A", 96.0, "(3 4)d:1 4d 4b (3 4)b (2 3)d 2d:1 [1 4]b [2 5]b [3 6]b:1 6b 5d (4 5)d 4d:1 (4 5 6)b:1 5b (5 6)d 6d "
     "6b:1 [3 7]d 3d [1 4]d [1 5]d (1 2 3 4)d:2 r:1 2d 3d' 4b 4d 5d (5 6)b [4 7]b 7b 8b [5 8]b (7 8)b:1 8d [5 9]d:1 "
     "6b:2"),
    ("G", 80.0, "4b [1 4]b:1 4d [1 4]d:1 5b [2 5]b:1 5d [3 6]d 6b [3 6]b:1 6d [3 7]d:1 7b [4 7]b:1 (4 5)b (5 6)b "
     "(6 7)b:1 6d 5d (4 5)d (3 4)d (2 3)d:1 2d (1 2)d:1 1b (1 2 3)b:2"),
    ("D", 100.0, "2d 2d (2 3)d (2 3 4)d:1 3d' 4d [2 5]d:1 [2 6]d 6b [4 7]b:1 [5 8]b [6 9]b:1 9b 8b (8 9)b:1 8d "
     "(8 9)d 7b [6 10]d:1 [5 9]d [4 8]d:1 4d (4 5)d 4b (3 4)b 3d 2d:2 (1 2)b (1 2)d:1 [1 4]d:1 [1 4]b:2"),
    ("E", 92.0, "(4 5)b 4b (4 5)d 4d:1 [2 5]b:1 (5 6)b [3 6]b:1 6b:1 6d (5 6)d:1 5d 4d [1 4]d:1 2d (1 2 3)d 3d "
     "(2 3)d:1 1d [1 4]d 1b [1 4]b:1 2b [2 5]b:1 3b [3 6]b:1 4b [4 7]b:2"),
)  # fmt: skip
TEST_PHRASES = (
    ("Bb", 90.0, "[1 4]d:1 [1 4]d 4d 5d (4 5)d:1 [2 5]d:1 2d 3d (2 3)d (3 4)d:1 4b [1 4]b [2 5]b:1 (5 6)b 6b "
     "[3 6]b:1 6d [3 7]d:1 (6 7)d 6d 6b:1 r:1/2 5d 4d' 4b (1 2)d:1 2d (1 2 3)d:2"),
    ("F", 98.0, "4b (3 4)b (4 5)b:1 [4 7]b 7b:1 8d [4 8]d:1 8b [5 8]b (7 8)b:1 9b [6 9]b:1 r:1 [5 9]d 9d 8d:1 "
     "[4 8]d [3 7]d 6d:1 (5 6)d (4 5)d 4d:1 (3 4)d 3d' 2d [2 5]b [1 4]b:2"),
    ("D", 84.0, "2d 3d (2 3 4)d:1 4d 4b [1 4]b:1 3d 2d (1 2)d:1 1d 1b (1 2)b (2 3)b:1 [2 5]b (1 2 3)b:1 r:1 [3 6]b "
     "[2 6]b 6b:1 5b (4 5 6)b 4d [1 4]d:1 [1 5]d 5d:1 (4 5)d [2 6]d 2d:2"),
    ("Ab", 102.0, "6b [3 6]b 6d [3 6]d:1 7d [3 7]d 7b:1 [4 7]b:1 (6 7)b 6b (5 6)b:1 5d (4 5)d:1 4d 4d' 4b:1 [1 4]d "
     "[1 4]b [1 4]d:1 2d (2 3)d 2d'' (1 2)d:1 r:1/2 8b 8d (8 9)b:1 [6 9]b:1 [5 8]b [4 7]b:2"),
)  # fmt: skip


def faulty_take(route: Route, seed: int) -> tuple[Take, list[ReedFault]]:
    """A take of a route with a fault of a reed every few events."""
    rng = np.random.default_rng([seed, len(route.events)])
    manner = Manner(factor=float(rng.uniform(0.6, 1.05)), drift=float(rng.uniform(-0.06, 0.06)))
    deeds = perform_reeds(route, rng, manner=manner)
    faults: list[ReedFault] = []
    at = int(rng.integers(1, 4))
    while at < len(route.events):
        deed = next((one for one in deeds if one.event == at), None)
        fault = drawn_reed_fault(route, deed, rng) if deed else None
        if fault:
            deeds = with_reed_fault(deeds, fault, rng)
            faults.append(fault)
        at += int(rng.integers(3, 6))
    return glue(route, deeds, rng), faults


def _is_found(fault: ReedFault, one: EventAnswer | None) -> bool:
    if one is None or one.verdict is not Verdict.PLAYED:
        return False
    heard = holes_heard(one.reeds)
    return {
        ReedKind.SILENT: heard.missing == (fault.asked,) and not heard.wrong and not heard.too_many,
        ReedKind.OTHER: heard.wrong == ((fault.asked, fault.heard),) and not heard.missing and not heard.too_many,
        ReedKind.TOO_MANY: heard.too_many == (fault.heard,) and not heard.missing and not heard.wrong,
        ReedKind.LEAK: heard.too_many == (fault.heard,),
    }[fault.kind]


@dataclass
class Tally:
    put: dict[ReedKind, int] = field(default_factory=lambda: defaultdict(int))
    found: dict[ReedKind, int] = field(default_factory=lambda: defaultdict(int))
    clean: int = 0
    false: int = 0
    cents: list[float] = field(default_factory=list)
    hidden: list[float] = field(default_factory=list)
    seconds: float = 0.0
    took: float = 0.0

    def add(self, other: Tally) -> None:
        for kind in ReedKind:
            self.put[kind] += other.put[kind]
            self.found[kind] += other.found[kind]
        self.clean, self.false = self.clean + other.clean, self.false + other.false
        self.cents += other.cents
        self.hidden += other.hidden
        self.seconds, self.took = self.seconds + other.seconds, self.took + other.took

    def row(self, name: str) -> str:
        put, found = sum(self.put.values()), sum(self.found.values())
        cells = [f"{self.found[kind]} of {self.put[kind]}" for kind in ReedKind]
        own, hidden = np.abs(self.cents), np.abs(self.hidden)
        return (
            f"| {name} | {' | '.join(cells)} | {100 * found / put:.1f} % | {self.false} of {self.clean}, "
            f"{100 * self.false / self.clean:.1f} % | {np.median(own):.1f} / {np.percentile(own, 95):.1f} | "
            f"{np.median(hidden):.1f} / {np.percentile(hidden, 95):.1f} |"
        )


def score(route: Route, take: Take, faults: list[ReedFault], tally: Tally, name: str, *, tell: bool) -> None:
    start = time.process_time()
    answer = answer_take(take.samples, route)
    tally.took += time.process_time() - start
    tally.seconds += take.samples.duration_seconds
    play: PlayAnswer | None = answer.plays[answer.best] if answer.best is not None else None
    told = {one.event: one for one in play.events} if play else {}
    put = {fault.event: fault for fault in faults}
    for deed in take.deeds:
        one, fault = told.get(deed.event), put.get(deed.event)
        if fault is not None:
            found = _is_found(fault, one)
            tally.put[fault.kind] += 1
            tally.found[fault.kind] += found
            if tell and not found:
                print("MISS ", name, fault, deed.move.holes, deed.move.breath, one and one.verdict, one and one.reeds)
        else:
            wrong = one is None or bool(one.faults)
            tally.clean += 1
            tally.false += wrong
            if tell and wrong:
                print("FALSE", name, deed.event, deed.move.holes, one and one.faults, one and one.reeds)
        truth = {reed.move.holes[0]: reed.cents + deed.cents for reed in deed.reeds}
        for reed in one.reeds if one else ():
            if reed.state is ReedState.SOUNDS and reed.cents is not None and reed.hole in truth and not deed.offsets:
                off = reed.cents + answer.tuned_cents - truth[reed.hole]
                (tally.hidden if reed.level_db is None else tally.cents).append(off)


def main() -> None:
    tuning, tell = "--tuning" in sys.argv, "--misses" in sys.argv
    conditions = conditions_of(tuning=tuning)
    tallies = {name: Tally() for name in conditions}
    for number, (key, bpm, text) in enumerate(TUNING_PHRASES if tuning else TEST_PHRASES):
        route = built_route(text, key=key, bpm=bpm)
        for seed in range(3 if tuning else 5):
            take, faults = faulty_take(route, 100 * number + seed + (0 if tuning else 200_000))
            for name, condition in conditions.items():
                heard = under(take, condition, np.random.default_rng([seed, number]))
                score(route, heard, faults, tallies[name], f"{name} r{number} s{seed}", tell=tell)
    print(f"| takes | {' | '.join(kind.value for kind in ReedKind)} | found | false alarms | cents | cents, hidden |")
    print("|---|" + "---|" * (len(ReedKind) + 4))
    whole = Tally()
    for name, tally in tallies.items():
        print(tally.row(name))
        whole.add(tally)
    print(whole.row("**all**"))
    print(f"\n{whole.seconds / 60:.0f} minutes of takes, answered {whole.seconds / whole.took:.0f} times faster")


if __name__ == "__main__":
    main()
