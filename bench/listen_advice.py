"""Swing, another harp, and neither: what an answer says of the playing as a whole, against what was done.

    python bench/listen_advice.py            the tables of docs/accuracy.md
    python bench/listen_advice.py --phrases 3   so many phrases
    python bench/listen_advice.py --told     and everything that is told wrongly, one a line
    python bench/listen_advice.py --harps    the harps alone
    python bench/listen_advice.py --divisions   sixteenths, long and short notes, and dotted ones alone, also as the
                                                program's own voice plays them

The phrases are those typed by hand in bench/listen_faults.py, glued from recorded harmonica notes as there; drums,
guitar, rooms and telephone are those of its test half, one after the other.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from dataclasses import dataclass, field
from itertools import cycle
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from listen_faults import TEST_PHRASES, TUNING_PHRASES, conditions_of, faulty_take
from reedpath.arrange import Route
from reedpath.listen import Answer, FaultKind, answer_take
from reedpath.listen.play_through import on_harp_of
from reedpath.listen.swing import with_swing
from reedpath.signal import Samples
from reedpath.sound import play_along
from support.built_routes import built_lesson, built_route
from support.divided_beats import DOTTED, SIXTEENTHS, TRIPLET, TWELVE_EIGHT, divided
from support.glued_takes import Manner, glue, perform, under

RATIOS = (1.0, 1.3, 1.5, 2.0, 3.0)
ASKED = (1.0, 2.0)
# kinds that are right where so much is asked and so much is played; more than one where the bound lies near
RIGHT = {
    (1.0, 1.0): {None}, (1.0, 1.3): {None, "swung"}, (1.0, 1.5): {"swung"}, (1.0, 2.0): {"swung"},
    (1.0, 3.0): {"swung"}, (2.0, 1.0): {"not swung"}, (2.0, 1.3): {"swings less"}, (2.0, 1.5): {None, "swings less"},
    (2.0, 2.0): {None}, (2.0, 3.0): {"swings more"},
}  # fmt: skip
SHIFTS = (-3, 2, 5, -5, 12, -12, 7, -2, 9, -6, 14)
SHIFTS_EACH = 3


@dataclass
class Swung:
    """What is heard of one ratio, and how often the kind that is told is right."""

    places_off: list[float] = field(default_factory=list)
    right: int = 0
    takes: int = 0
    silent: int = 0


def _place(ratio: float) -> float:
    return ratio / (1.0 + ratio)


def swing_table(routes: list[Route], *, tell: bool) -> None:
    conditions = cycle(conditions_of(tuning=False).items())
    found = {key: Swung() for key in RIGHT}
    for number, route in enumerate(routes):
        for ratio in RATIOS:
            rng = np.random.default_rng([number, int(10 * ratio)])
            manner = Manner(factor=float(rng.uniform(0.7, 1.05)), drift=float(rng.uniform(-0.05, 0.05)), jitter=0.01)
            take = glue(route, perform(with_swing(route, ratio), rng, manner=manner), rng)
            name, condition = next(conditions)
            sound = under(take, condition, rng).samples
            for asked in ASKED:
                answer, row = answer_take(sound, with_swing(route, asked)), found[asked, ratio]
                row.takes += 1
                swing = answer.plays[answer.best].swing if answer.best is not None else None
                if swing is None:
                    row.silent += 1
                    continue
                kind = None if swing.kind is None else swing.kind.value
                row.places_off.append(_place(swing.heard) - _place(ratio))
                row.right += kind in RIGHT[asked, ratio]
                if tell and kind not in RIGHT[asked, ratio]:
                    print("SWING", number, name, asked, ratio, swing, flush=True)
    print("| asked | played | told rightly | nothing told | place in the beat, off: median, most |")
    print("|---|---|---|---|---|")
    for (asked, ratio), row in found.items():
        off = np.array(row.places_off)
        told = f"{row.right} of {row.takes - row.silent}"
        most = f"{np.median(off):+.3f}, {np.abs(off).max():.3f}" if len(off) else "-"
        print(f"| {asked:g} to 1 | {ratio:g} to 1 | {told} | {row.silent} | {most} |", flush=True)


# ways to divide beats, and beats a minute of each
DIVISIONS = {
    "sixteenths": (SIXTEENTHS, 70.0),
    "triplets": (TRIPLET, 92.0),
    "12/8": (TWELVE_EIGHT, 62.0),
    "dotted": (DOTTED, 88.0),
}
LONG_SHORT_RIGHT = {1.0: {"not swung"}, 1.35: {"swings less"}, 2.0: {None}, 3.2: {"swings more"}}
# kinds that are right where so much is played
DIVISIONS_RIGHT = {
    "sixteenths": {0.6: {"short first"}, 1.0: {None}, 1.6: {"swung"}, 2.0: {"swung"}},
    "triplets": LONG_SHORT_RIGHT,
    "12/8": LONG_SHORT_RIGHT,
    "dotted": {1.0: {"not swung"}, 1.3: {"swings less"}, 2.0: {None}, 3.0: {None}},
}


def _own_voice(played: Route) -> Samples:
    lesson = built_lesson(played, factors=(1.0,))
    return play_along(lesson, lesson.ladder[0])


def division_table(routes: list[Route], *, tell: bool) -> None:
    conditions = cycle(conditions_of(tuning=False).items())
    print("| beats in | played | told rightly | nothing told | place, off: median, most | late or early for it |")
    print("|---|---|---|---|---|---|")
    for name, (way, bpm) in DIVISIONS.items():
        for ratio, right in DIVISIONS_RIGHT[name].items():
            for voice in ("sampled", "own voice"):
                row, late = Swung(), 0
                for number, route in enumerate(routes):
                    rng = np.random.default_rng([number, int(10 * ratio), 3])
                    asked, played = divided(route, way, bpm=bpm), divided(route, way.as_played(ratio), bpm=bpm)
                    drift = float(rng.uniform(-0.05, 0.05))
                    manner = Manner(factor=float(rng.uniform(0.7, 1.05)), drift=drift, jitter=0.01)
                    if voice == "sampled":
                        condition = next(conditions)[1]
                        sound = under(glue(asked, perform(played, rng, manner=manner), rng), condition, rng).samples
                    else:
                        sound = _own_voice(played)
                    answer = answer_take(sound, asked)
                    row.takes += 1
                    play = answer.plays[answer.best] if answer.best is not None else None
                    if play is None or play.swing is None:
                        row.silent += 1
                        continue
                    kind = None if play.swing.kind is None else play.swing.kind.value
                    row.places_off.append(_place(play.swing.heard) - _place(ratio))
                    row.right += kind in right
                    kinds = [fault.kind for one in play.events for fault in one.faults]
                    late += sum(kind in (FaultKind.LATE, FaultKind.EARLY) for kind in kinds)
                    if tell and (kind not in right or kinds):
                        print("DIVISION", name, ratio, voice, number, play.swing, kinds, flush=True)
                off = np.array(row.places_off)
                told = f"{row.right} of {row.takes - row.silent}"
                most = f"{np.median(off):+.3f}, {np.abs(off).max():.3f}" if len(off) else "-"
                print(f"| {name}, {voice} | {ratio:g} to 1 | {told} | {row.silent} | {most} | {late} |", flush=True)


def _faults(answer: Answer) -> list[tuple[int, str]]:
    events = answer.plays[answer.best].events if answer.best is not None else ()
    return [(one.event, fault.kind.value) for one in events for fault in one.faults]


def harp_table(routes: list[Route], *, tell: bool) -> None:
    conditions, shifts = cycle(conditions_of(tuning=False).items()), cycle(SHIFTS)
    count: Counter[str] = Counter()
    for number, route in enumerate(routes):
        own = faulty_take(route, 500 + number)
        for semitones in (0, *(next(shifts) for _ in range(SHIFTS_EACH))):
            rng = np.random.default_rng([number, semitones + 50])
            faulty = faulty_take(on_harp_of(route, semitones), 500 + number)
            name, condition = next(conditions)
            answer = answer_take(under(faulty.take, condition, rng).samples, route)
            heard = 0 if answer.harp_heard is None else answer.harp_heard.semitones
            count["right" if semitones else "own"] += 1
            count["right found" if semitones else "own found"] += heard == semitones
            put = {(fault.event) for fault in own.faults}
            told = {event for event, _ in _faults(answer)}
            count["faults" if semitones else "own faults"] += len(put)
            count["faults found" if semitones else "own faults found"] += len(put & told)
            if tell and heard != semitones:
                print("HARP", number, name, semitones, answer.harp_heard, answer.notices, flush=True)
    for number, route in enumerate(routes):
        rng = np.random.default_rng([number, 9])
        sound = glue(route, perform(route, rng), rng).samples
        for other, lesson in enumerate(routes):
            if other != number:
                answer = answer_take(sound, lesson)
                count["other"] += 1
                count["other told"] += answer.harp_heard is not None
                if tell and answer.harp_heard is not None:
                    print("OTHER", number, other, answer.harp_heard, flush=True)
    print(f"\nOn another harp: {count['right found']} of {count['right']} found, "
          f"{count['faults found']} of {count['faults']} faults told at their events")  # fmt: skip
    print(f"On the right harp: {count['own found']} of {count['own']} left so, "
          f"{count['own faults found']} of {count['own faults']} faults told at their events")  # fmt: skip
    print(f"Other music: {count['other told']} of {count['other']} told to be another harp")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--phrases", type=int, default=len(TEST_PHRASES) + len(TUNING_PHRASES))
    parser.add_argument("--told", action="store_true")
    parser.add_argument("--harps", action="store_true")
    parser.add_argument("--divisions", action="store_true")
    given = parser.parse_args()
    phrases = (*TEST_PHRASES, *TUNING_PHRASES)[: given.phrases]
    routes = [built_route(text, key=key, bpm=bpm) for key, bpm, text in phrases]
    if given.divisions:
        division_table(routes, tell=given.told)
        return
    if not given.harps:
        swing_table(routes, tell=given.told)
    harp_table(routes, tell=given.told)


if __name__ == "__main__":
    main()
