"""How soon the live listener names a move, and how well the live tracker follows other instruments.

    python bench/listen_live.py                the tables of docs/accuracy.md, all but the last (test routes)
    python bench/listen_live.py --tuning       the first, on the routes that its numbers were set on
    python bench/listen_live.py --misses       and each note named late or wrong
    python bench/listen_live.py --instruments  the last table: no harp, no route

Takes glued from recorded harmonica notes (see bench/listen_faults.py) are fed in blocks of 5 ms. The onset of a note
is where the recording comes within 20 dB of its peak.

after: from the moment of a value (the middle of its window) to when it is out, computing included.
named: from the onset until the right move, or one that sounds the same, is named and stays named for 30 ms; notes of
the same pitch as the one before are left out, since nothing changes.
held: share of the values right from 60 ms after the onset to 30 ms before the end.
wrong: times that neither this note nor the one before it was named for 20 ms or longer, for a hundred notes.
pauses: share of the values with a name 150 ms and more after a note's end and before the next.
"""

from __future__ import annotations

import sys
import time
from collections import defaultdict
from dataclasses import dataclass, field
from itertools import groupby
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from hear_phrases import CONDITIONS, melody, players
from hear_phrases import under as heard_under
from listen_faults import TEST_PHRASES, routes
from reedpath.harp import make_harp, sound_of
from reedpath.hear import Tracker
from reedpath.listen import LiveListener
from support.built_routes import built_route
from support.glued_takes import RATE, Manner, clean, glue, hum, perform, phone, room, under

BLOCK = round(0.005 * RATE)
# seconds for which a move must stay named, and for which a wrong one is noticed
STAYS_SECONDS, NOTICED_SECONDS = 0.03, 0.02
UNDER = {"clean": clean, "room": room, "mains hum": hum, "phone": phone}
# harps from the lowest to the highest
HARPS = ("Low D", "Low F", "G", "C", "F#", "High G")
# double stops, chords and splits among single notes
TOGETHER = (
    (
        "C",
        "4b:1 (4 5)b:1 5b:1 (3 4)b:1 3b:1 (3 4)d:1 4d:1 (2 3)d:1 3d:1 2d:1 (5 6)b:1 6b:1 (1 2)b:1 2b:1 (1 2 3)d:1 "
        "1d:1 [2 5]d:1 7b:1 4b:1 (6 7)b:1 (7 8)d:1 7d:1 8d:1",
    ),
    (
        "A",
        "2d:1 (2 3)d:1 3d:1 (3 4)d:1 4d (4 5)d:1 5d 4d:1 (1 2)d:1 2d'' 1d:1 4d:1 4b:1 (3 4)b:1 3b (4 5)b:1 6b:1 "
        "[5 8]d:1 5b:1 8b:1 (8 9)b:1 9b:1",
    ),
)
SPLITS = (
    ("C", "4b:1 [1 4]b:1 4d:1 [2 5]b:1 5b:1 [3 6]b:1 6b:1 [4 7]b:1 7b:1 5d:1 [4 8]d:1 8d:1"),
    ("A", "5b:1 [1 4]d:1 4d:1 4b:1 [1 4]b:1 3d:1 [2 5]b:1 5d:1 [3 6]b:1 6d:1"),
)


@dataclass
class Tally:
    after: list = field(default_factory=list)
    named: list = field(default_factory=list)
    held: list = field(default_factory=list)
    notes: int = 0
    wrong: int = 0
    pauses: list = field(default_factory=list)
    cents: list = field(default_factory=list)
    work: list = field(default_factory=list)

    def row(self, name: str) -> str:
        named = 1000 * np.array(self.named)
        shares = " / ".join(f"{100 * np.mean(named <= limit):.0f} %" for limit in (20, 30, 40))
        after = 1000 * np.array(self.after)
        return (
            f"| {name} | {np.median(after):.0f}, at most {np.percentile(after, 99):.0f} | {np.median(named):.0f} / "
            f"{np.percentile(named, 95, method='lower'):.0f} | {shares} | {100 * np.mean(self.held):.2f} % | "
            f"{100 * self.wrong / self.notes:.1f} | {100 * np.mean(self.pauses):.2f} % | "
            f"{np.median(self.cents):.1f} / {np.percentile(self.cents, 95):.1f} | {1000 * np.median(self.work):.2f} |"
        )


HEAD = (
    "value after its moment, ms | named after onset, ms: median / 95th | within 20 / 30 / 40 ms | right while held | "
    "wrong names, of 100 notes | named in pauses | cents: median / 95th | work a block, ms |"
)


def listened(take, route, tally):
    """Times at which values were out, their moments, pitches named (None for silence), and cents."""
    listener = LiveListener(route.harp, RATE, route=route)
    sound = take.samples.array[:, 0]
    rows = []
    for start in range(0, len(sound) - BLOCK, BLOCK):
        begin = time.perf_counter()
        found = listener.feed(sound[start : start + BLOCK])
        spent = time.perf_counter() - begin
        tally.work.append(spent)
        for one in found:
            named = sound_of(route.harp, one.move).midi if one.move else None
            rows.append(((start + BLOCK) / RATE, one.seconds, named, one.cents))
            tally.after.append((start + BLOCK) / RATE + spent - one.seconds)
    out, moment, named, cents = zip(*rows, strict=True)
    return np.array(out), np.array(moment), list(named), np.array(cents)


def score(take, route, tally, *, told: str = "") -> None:
    out, moment, named, cents = listened(take, route, tally)
    step = float(np.median(np.diff(out[::20]))) / 20
    stays = round(STAYS_SECONDS / step)
    silent = np.ones(len(out), bool)
    before = None
    for index, (deed, onset) in enumerate(zip(take.deeds, take.onsets, strict=True)):
        silent &= ~((moment > deed.start - 0.02) & (moment < deed.end + 0.15))
        wanted = sound_of(route.harp, deed.move).midi
        if deed.event is None or deed.offsets:
            before = wanted
            continue
        first, last = np.searchsorted(moment, (onset - 0.02, deed.end))
        right = [one == wanted for one in named[first:last]]
        start = next((i for i in range(len(right) - stays + 1) if all(right[i : i + stays])), None)
        late = np.inf if start is None else out[first + start] - onset
        if wanted != before:
            tally.named.append(late)
        following = take.onsets[index + 1] if index + 1 < len(take.onsets) else np.inf
        first, last = np.searchsorted(out, (onset, min(following, deed.end + 0.1)))
        runs = [(one, len(list(values)) * step) for one, values in groupby(named[first:last])]
        wrong = [
            one for one, seconds in runs if one not in (None, wanted, before) and seconds > NOTICED_SECONDS - 1e-3
        ]
        tally.wrong += len(wrong)
        tally.notes += 1
        if told and (wrong or late > 0.04):
            print(told, f"{onset:.3f} s: {before} to {wanted}, named after {1000 * late:.0f} ms, wrong: {wrong}")
        first, last = np.searchsorted(moment, (onset + 0.06, deed.end - 0.03))
        tally.held += [one == wanted for one in named[first:last]]
        if not deed.vibrato:
            off = np.abs(cents[first:last] - deed.cents)
            tally.cents += list(off[[one == wanted for one in named[first:last]]])
        before = wanted
    tally.pauses += [named[place] is not None for place in np.flatnonzero(silent)]


def performed(route, number, condition, seed=77):
    rng = np.random.default_rng([seed, number])
    return under(glue(route, perform(route, rng, manner=Manner(slide=0.0)), rng), condition, rng)


def print_takes(*, tuning: bool, tell: bool) -> None:
    print(f"| takes | {HEAD}\n{'|---' * 9}|")
    for name, condition in UNDER.items():
        tally = Tally()
        for number, route in enumerate(routes(tuning=tuning)):
            score(performed(route, number, condition), route, tally, told=f"{name} {number}" if tell else "")
        print(tally.row(name), flush=True)


def print_harps(*, tell: bool) -> None:
    print(f"\n| harp | {HEAD}\n{'|---' * 9}|")
    for key in HARPS:
        tally = Tally()
        for number, (_, bpm, text) in enumerate(TEST_PHRASES):
            route = built_route(text, key=key, bpm=bpm)
            for condition in UNDER.values():
                take = performed(route, number, condition, seed=78)
                score(take, route, tally, told=f"{key} {number}" if tell else "")
        print(tally.row(key), flush=True)


def print_together() -> None:
    """How soon several holes are named, and how often one hole is still called several from 100 ms on."""
    print(
        "\n| takes | named after onset, ms: median / 95th | never | right while named | single notes called several |"
    )
    print("|---|---|---|---|---|")
    for kind, phrases in (("chords and double stops", TOGETHER), ("octave splits", SPLITS)):
        for name, condition in UNDER.items():
            late, right, called = [], [], []
            for number, (key, text) in enumerate(phrases):
                route = built_route(text, key=key, bpm=90.0)
                take = performed(route, number, condition, seed=79)
                out, _, named, _ = listened(take, route, Tally())
                for deed, onset in zip(take.deeds, take.onsets, strict=True):
                    wanted = sound_of(make_harp(key), deed.move).midi
                    first, last = np.searchsorted(out, (onset + 0.1, deed.end))
                    inside = named[first:last]
                    if len(wanted) == 1:
                        called.append(any(one is not None and len(one) > 1 for one in inside))
                        continue
                    first = np.searchsorted(out, onset)
                    inside = [one == wanted for one in named[first:last]]
                    start = next((i for i, hit in enumerate(inside) if hit), None)
                    late.append(np.inf if start is None else out[first + start] - onset)
                    right += [] if start is None else inside[start:]
            soon = 1000 * np.array(late)[np.isfinite(late)]
            named = f"{np.median(soon):.0f} / {np.percentile(soon, 95):.0f} | {len(late) - len(soon)} of {len(late)}"
            print(f"| {kind}, {name} | {named} | {100 * np.mean(right):.1f} % | {sum(called)} of {len(called)} |")


def followed(specimen, totals) -> None:
    """Adds a specimen to the totals: onsets, frames off, missed, false."""
    tracker, sound, rows = Tracker(specimen.samples.rate), specimen.samples.array[:, 0], []
    begin = time.process_time()
    for start in range(0, len(sound), 512):
        found = tracker.feed(sound[start : start + 512])
        rows += [((start + 512) / specimen.samples.rate, one.seconds, one.midi) for one in found]
    spent = time.process_time() - begin
    out, moment, midi = np.array(rows).T
    near = np.ones(len(out), bool)
    settled = np.zeros(len(out), bool)
    late = []
    for note in specimen.notes:
        near &= ~((moment > note.start - 0.02) & (moment < note.end + 0.1))
        settled |= (moment > note.start + 0.05) & (moment < note.end - 0.05)
        true = np.interp(moment, specimen.curve[:, 0], specimen.curve[:, 1])
        hits = (moment > note.start - 0.016) & (moment < note.end) & (np.abs(midi - true) < 0.5)
        late.append(1000 * (out[np.argmax(hits)] - note.start) if hits.any() else np.inf)
    off = 100 * np.abs(midi - true)[settled]
    for group in specimen.name.split(" | "):
        total = totals[group]
        total["late"] += late
        total["off"] += list(off)
        total["false"] += list(~np.isnan(midi[near]))
        total["seconds"] += [specimen.samples.duration_seconds, spent]


def print_instruments() -> None:
    print(
        "| | known after onset, ms: median / 95th | over 50 cents off | missed | a note in pauses | cents | speed |"
    )
    print("|---|---|---|---|---|---|---|")
    totals: dict = defaultdict(lambda: defaultdict(list))
    for player in players(held_back=True):
        for seed in (101, 102):
            plain = melody(player, seconds=12.0, seed=seed)
            for condition in CONDITIONS:
                followed(heard_under(plain, condition, seed=seed), totals)
    for name, total in totals.items():
        off = np.array(total["off"])
        close = off[off <= 50]
        speed = sum(total["seconds"][::2]) / sum(total["seconds"][1::2])
        print(
            f"| {name} | {np.median(total['late']):.0f} / {np.percentile(total['late'], 95, method='lower'):.0f} | "
            f"{np.mean(off > 50):.1%} | {np.mean(np.isnan(off)):.1%} | {np.mean(total['false']):.1%} | "
            f"{np.median(close):.1f} / {np.percentile(close, 95):.1f} | {speed:.0f} |"
        )


def main() -> None:
    tell = "--misses" in sys.argv
    if "--instruments" in sys.argv:
        print_instruments()
        return
    print_takes(tuning="--tuning" in sys.argv, tell=tell)
    if "--tuning" not in sys.argv:
        print_harps(tell=tell)
        print_together()


if __name__ == "__main__":
    main()
