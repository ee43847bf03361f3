"""Lining takes up with their routes: talk, several play-throughs, restarts, pauses, drift, many slips.

    python bench/listen_align.py             the tables of docs/accuracy.md
    python bench/listen_align.py --long      a recording of two hours beside: time and memory

Takes are glued from recorded harmonica notes (see bench/listen_faults.py). Talk is stood in for by what is harder
to tell from playing: two recordings of solo singing (in the source archive of basic-pitch 0.4.0, CC BY 4.0).
"""

from __future__ import annotations

import resource
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from hear_sound import archive, loop_sound
from listen_faults import routes
from reedpath.hear import observe
from reedpath.listen import answer_take, line_up
from reedpath.signal import Samples, concatenated, decode, resampled, silence
from support.glued_takes import (
    RATE,
    Fault,
    Kind,
    Manner,
    clean,
    faulted,
    glue,
    perform,
    phone,
    room,
    under,
    wrong_moves,
)
from support.sound_levels import normalized

CONDITIONS = {"clean": clean, "room": room, "phone": phone}
FOREIGN = (
    "loop_amen_full",
    "loop_breakbeat",
    "loop_tabla",
    "loop_garzul",
    "loop_mika",
    "loop_compus",
    "guit_e_slide",
)


@cache
def singing() -> tuple[Samples, ...]:
    with archive("basic-pitch", "0.4.0") as files:
        root = files.getnames()[0].split("/")[0]
        sounds = [
            decode(files.extractfile(f"{root}/tests/resources/vocadito_{number}.wav").read()) for number in (10, 14)
        ]
    return tuple(normalized(resampled(sound.mono(), RATE), -8.0) for sound in sounds)


class Scene:
    """Sounds one after another, with the true onset of every event of every play-through."""

    def __init__(self, route, rng):
        self.route, self.rng = route, rng
        self.sounds, self.truth, self.at = [], [], 0.0

    def add(self, sound):
        self.sounds.append(sound)
        self.at += sound.duration_seconds

    def talk(self, seconds=5.0):
        voice = singing()[int(self.rng.integers(2))]
        begin = float(self.rng.uniform(0, voice.duration_seconds - seconds))
        self.add(voice.span(begin, begin + seconds))

    def play(self, deeds, *, onto=None, after=0.6):
        take = glue(self.route, deeds, self.rng, after=after)
        onsets = {
            deed.event: self.at + at
            for deed, at in zip(take.deeds, take.onsets, strict=True)
            if deed.event is not None
        }
        if onto is None:
            self.truth.append(onsets)
        else:
            self.truth[onto].update(onsets)
        self.add(take.samples)

    def perform(self, **options):
        return perform(self.route, self.rng, **options)


def film_lesson(scene):
    scene.talk()
    scene.play(scene.perform(manner=Manner(factor=0.6)))
    scene.talk()
    scene.play(scene.perform(manner=Manner(factor=1.0)))
    scene.talk(3.0)


def restart(scene):
    middle = len(scene.route.events) // 2
    scene.play(scene.perform(last=middle), after=0.3)
    scene.play(scene.perform(first=middle - 2, start=0.4), onto=0)


def talk_in_the_middle(scene):
    middle = len(scene.route.events) // 2
    scene.play(scene.perform(last=middle))
    scene.talk(3.0)
    scene.play(scene.perform(first=middle + 1, start=0.2), onto=0)


def second_half(scene):
    scene.talk()
    scene.play(scene.perform(first=len(scene.route.events) // 2))


def drift(scene):
    scene.play(scene.perform(manner=Manner(factor=0.7, drift=0.35, jitter=0.015)))


def many_slips(scene):
    deeds = scene.perform(manner=Manner(factor=0.8, jitter=0.015))
    for index in range(1, len(scene.route.events) - 1):
        kind = scene.rng.random()
        if not any(one.event == index for one in deeds) or kind > 0.3:
            continue
        moves = wrong_moves(scene.route, index)
        if kind < 0.1:
            deeds = faulted(deeds, Fault(Kind.MISSING, index))
        elif kind < 0.2 and moves:
            deeds = faulted(deeds, Fault(Kind.WRONG, index, 0.0, moves[int(scene.rng.integers(len(moves)))]))
        else:
            deeds = faulted(deeds, Fault(Kind.AGAIN, index))
    scene.play(deeds)


SCENES = {
    "talk, slow, talk, fast, talk": film_lesson,
    "a restart two notes back": restart,
    "talk in the middle": talk_in_the_middle,
    "talk, then the second half": second_half,
    "35 % faster at the end": drift,
    "every third note missing, wrong or twice": many_slips,
}


def measure(make) -> str:
    errors, right, whole, extra, pieces = [], 0, 0, 0, []
    for number, route in enumerate(routes(tuning=False)):
        for condition in CONDITIONS.values():
            scene = Scene(route, np.random.default_rng([11, number]))
            make(scene)
            take = glue(route, [], scene.rng, after=0.1)
            sound = concatenated([*scene.sounds, silence(0.3, rate=RATE)])
            sound = under(replace(take, samples=sound), condition, scene.rng).samples
            plays = line_up(observe(sound), route).play_throughs
            whole += len(scene.truth)
            extra += max(0, len(plays) - len(scene.truth))
            right += len(plays) == len(scene.truth)
            for onsets in scene.truth:
                middle = np.mean(list(onsets.values()))
                play = next((one for one in plays if one.start_seconds - 1 <= middle <= one.end_seconds + 1), None)
                placed = {one.event: one for one in play.events if one.played} if play else {}
                errors += [
                    abs(placed[event].start_seconds - at) if event in placed else np.inf
                    for event, at in onsets.items()
                ]
            pieces.append(1)
    ms = 1000 * np.array(errors)
    shares = " | ".join(f"{100 * np.mean(ms <= limit):.1f} %" for limit in (25, 50, 100, 200))
    return f"{right} of {len(pieces)} | {extra} | {shares} | {np.median(ms):.0f}"


class Repeated:
    """A sound so many times over, in blocks that can be had as often as is wanted."""

    def __init__(self, sound: Samples, times: int) -> None:
        self.sound, self.times = sound, times

    def __iter__(self) -> Iterator[Samples]:
        return iter([self.sound] * self.times)


def long_recording() -> None:
    route = routes(tuning=False)[0]
    rng = np.random.default_rng(1)
    lesson = Scene(route, rng)
    film_lesson(lesson)
    once = concatenated(lesson.sounds)
    times = round(7200 / once.duration_seconds)
    begin = time.process_time()
    answer = answer_take(Repeated(once, times), route)
    took = time.process_time() - begin
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    whole = sum(one.play.whole for one in answer.plays)
    print(f"\n{answer.duration_seconds:.0f} s, {2 * times} play-throughs, {len(answer.plays)} found, {whole} whole")
    speed = answer.duration_seconds / took
    print(f"{took:.0f} s, {speed:.0f} times faster than real time, at most {memory:.0f} MB; {answer.notices}")


def main() -> None:
    if "--long" in sys.argv:
        long_recording()
        return
    print("| take | number of play-throughs right | too many | within 25 ms | 50 ms | 100 ms | 200 ms | median, ms |")
    print("|---|---|---|---|---|---|---|---|")
    for name, make in SCENES.items():
        print(f"| {name} | {measure(make)} |", flush=True)
    found = sum(
        len(line_up(observe(sound), route).play_throughs)
        for sound in (*singing(), *(loop_sound(name) for name in FOREIGN))
        for route in (*routes(tuning=False), *routes(tuning=True))
    )
    print(f"\nPlay-throughs found in sound that holds none (singing, drums, guitar; every route): {found}")


if __name__ == "__main__":
    main()
