"""Raw footage: whether the right takes are chosen, talk is kept, nothing is cut inside a note or a word, and two
cameras are lined up.

    python bench/footage.py             scenes held out, the table of docs/film.md
    python bench/footage.py --tuning    those that thresholds were found on
    python bench/footage.py --scenes 3  so many; --first 300: from another one on
    python bench/footage.py --told      and every mistake, one a line
    python bench/footage.py --short     lessons of short parts, tries broken off at once, laments of a word
    python bench/footage.py --counted   and every second take counted in by four words
    python bench/footage.py --talk      talk told from playing, by this program and by the library webrtcvad
    python bench/footage.py --long      clocks of two cameras over a quarter of an hour
    python bench/footage.py --write     put the table into docs/film.md

A scene is a teacher's half lesson: greeting, talk, tries that are broken off or have one to three faults at known
places, what is said after them, a good take, sometimes a worse one after it, notes that are not the lesson's, knocks
and pauses. Tuning scenes: the program's own reed voice and espeak-ng's voices in six languages. Held out: recorded
notes (Debian's fluid-soundfont-gm, MIT), flite's voices and, where Debian's asterisk-core-sounds-en-wav and -fr-wav
are installed (CC-BY-SA 3.0), recordings of people, who say something else. In every second scene a second camera has
another place, gain, noise and clock, and begins later or ends sooner. All that is played and said is invented.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from listen_faults import TEST_PHRASES, TUNING_PHRASES
from reedpath.data import replace
from reedpath.film import CutOrder
from reedpath.hear import LOW_RATE, clock_between, course_of
from reedpath.jobs import propose_cut
from reedpath.lesson import Lesson, LessonPart, make_lesson
from reedpath.signal import Samples, resampled
from support.built_routes import built_route
from support.footage_shots import JudgedCut, SecondCamera, Shot, judged_cut
from support.glued_takes import Kind
from support.pieces import doors, porch, sixth
from support.raw_footage import (
    Doing,
    Knocked,
    Noodled,
    RawScene,
    Said,
    Still,
    Tried,
    as_camera,
    people_files,
    raw_scene,
)
from support.teacher_films import RATE, FilmMade
from tables import put_between

PAGE = Path(__file__).resolve().parents[1] / "docs" / "film.md"
MARKS = ("<!-- footage: start -->", "<!-- footage: end -->")
SCENES = 24
# of the first held-out scene: those before were looked at while thresholds were set
FIRST = 200
TINY = FilmMade(size=(64, 36), fps=25)
FAULTS = (Kind.WRONG, Kind.MISSING, Kind.LATE, Kind.TWICE, Kind.AGAIN)
TUNING_VOICES = (
    "espeak-ng:en-us", "espeak-ng:en-us+f3", "espeak-ng:en-gb+m5", "espeak-ng:de+f2", "espeak-ng:it+m1",
    "espeak-ng:es+f5", "espeak-ng:fr",
)  # fmt: skip
TEST_VOICES = ("flite:slt", "flite:rms", "flite:awb", "flite:kal16")

GREETINGS = ("Hello and welcome. Today we play a short phrase with bends.", "Good evening. This is the new phrase.")
INTROS = (
    "Now this part. Keep the throat open and the tongue low.",
    "Listen first, then play it with me. It begins on the draw.",
    "The next one. Breathe in before you start, and stay relaxed.",
    "Bend this note slowly until it stands, and hold it there.",
    "Mind the rhythm here: the third note comes late.",
)
LAMENTS = ("Oh no.", "Sorry, once more.", "That was wrong.", "Again, please.", "Damn.")
FAREWELLS = ("That is all for today. Practise it slowly, and see you next week.", "Thank you, and goodbye.")
SHORT_LAMENTS = ("No.", "Sorry.", "Oh dear.", "Hm, no, again.", "That was wrong.", "Once more.")
SHORT_FAREWELLS = ("Bye.", "Right.", "Thank you.", "That is all for today.", "See you.")

# key, beats a minute, notes, and where each part ends; invented
SHORT_TUNING = (
    ("C", 100.0, "4b:1 5b:1 6b:1 6b:1 6d:1 6b:1 5b:1 4b:1 4d:1 5b:1 4d:1 4b:1", (3, 7, 11)),
    ("A", 92.0, "2d:1 3d' 4b 4d:1 4b:1 3d' 3d' 2d:1 2d'' 2d 2b:1 6b:1 5d 5b 4d:2 4b 3d 3d':1 2d:2", (4, 10, 14, 18)),
)
SHORT_TEST = (
    ("D", 96.0, "4d:1 4d':1 4b:1 3d':2 2d 2d 3d' 4b 4d:2 5d:1 5b:1 4d:1 4b:2 6b 6b 5d 4d 4b:2", (3, 8, 12, 17)),
    ("Bb", 84.0, "1b:1 1d 2b 2d'':2 3d 4b 4d 5b:2 6d:1 6b 5b:1 4b:2 2d:1 2d'' 1d 1b:2", (3, 7, 11, 15)),
    ("G", 108.0, "6b:1 7b:1 8b:1 8d:1 7b:2 6d:1 6b:1 5d:1 5b:1 4d:1 4b:2 3d':1 2d:1 2d':1 1d:2", (4, 10, 14)),
)


def lessons(*, tuning: bool) -> list[Lesson]:
    typed = [
        make_lesson(built_route(text, key=key, bpm=bpm), title="A phrase")
        for key, bpm, text in (TUNING_PHRASES if tuning else TEST_PHRASES)
    ]
    return [porch(), doors(), sixth(), *typed] if tuning else [porch(), *typed]


def short_lessons(*, tuning: bool) -> list[Lesson]:
    """Lessons of parts of a few notes."""
    made = []
    for key, bpm, text, ends in SHORT_TUNING if tuning else SHORT_TEST:
        lesson = make_lesson(built_route(text, key=key, bpm=bpm), title="A phrase")
        starts = [0, *(end + 1 for end in ends)]
        spans = zip(starts, ends, strict=False)
        parts = tuple(LessonPart(chr(65 + place), first, last, None) for place, (first, last) in enumerate(spans))
        made.append(replace(lesson, parts=parts))
    return made


class Script:
    """What a teacher does, one thing after the other, with what of it should stay."""

    def __init__(self, lesson: Lesson, voice: str, rng: np.random.Generator) -> None:
        self.lesson, self.voice, self.rng = lesson, voice, rng
        self.doings: list[Doing] = [Still(1.2)]
        self.takes: list[int] = []
        self.talk: list[int] = []
        self.counts: np.random.Generator | None = None

    def _tried(
        self, first: int, last: int, rung: int, faults: tuple[Kind, ...] = (), stops: int | None = None
    ) -> None:
        is_counted = self.counts is not None and self.counts.random() < 0.5
        self.doings.append(Tried(first, last, rung, faults, stops, self.voice if is_counted else ""))

    def _say(self, texts: tuple[str, ...], *, stays: bool) -> None:
        if stays:
            self.talk.append(len(self.doings))
        text, rate = texts[int(self.rng.integers(len(texts)))], int(self.rng.choice([145, 165, 185]))
        self.doings.append(Said(text, self.voice, rate))
        self._wait(0.35, 1.2)

    def _wait(self, shortest: float, longest: float) -> None:
        self.doings.append(Still(float(self.rng.uniform(shortest, longest))))

    def _try(self, first: int, last: int, rung: int, *, good: bool) -> None:
        faults: tuple[Kind, ...] = ()
        stops = None
        if not good and last - first >= 6 and self.rng.random() < 0.35:
            stops = int(self.rng.integers(first + 2, first + 5))
        elif not good:
            count = int(self.rng.integers(1, min(4, last - first)))
            faults = tuple(FAULTS[int(self.rng.integers(len(FAULTS)))] for _ in range(count))
        self._tried(first, last, rung, faults, stops)
        self._wait(0.5, 1.8)

    def part(self, first: int, last: int, rung: int) -> None:
        self._say(INTROS, stays=True)
        for _ in range(int(self.rng.integers(0, 3))):
            self._try(first, last, rung, good=False)
            if self.rng.random() < 0.6:
                self._say(LAMENTS, stays=False)
        self.takes.append(len(self.doings))
        self._try(first, last, rung, good=True)
        if self.rng.random() < 0.3:
            self._try(first, last, rung, good=False)
        if self.rng.random() < 0.35:
            self.doings += [Still(0.8), Noodled(int(self.rng.integers(4, 8))), Still(1.0)]
        if self.rng.random() < 0.35:
            self.doings += [Still(0.9), Knocked(), Still(1.0)]

    def whole(self) -> None:
        parts, top = self.lesson.parts, len(self.lesson.ladder) - 1
        self._say(GREETINGS, stays=True)
        for part in [one for one in parts if one.same_as is None][:3]:
            for rung in (0, top) if self.rng.random() < 0.5 else (0,):
                self.part(part.first, part.last, rung)
        if len(parts) > 1:
            self.part(parts[0].first, parts[-1].last, top)
        self._say(FAREWELLS, stays=True)


class ShortScript(Script):
    """The same of a lesson of short parts, whose tries are broken off at once or have a fault, and are lamented."""

    def _try(self, first: int, last: int, rung: int, *, good: bool) -> None:
        if good:
            super()._try(first, last, rung, good=True)
        elif self.rng.random() < 0.4:
            self._tried(first, last, rung, stops=int(self.rng.integers(first, first + 3)))
            self._wait(0.5, 1.3)
        else:
            fault = FAULTS[int(self.rng.integers(len(FAULTS)))]
            self._tried(first, last, rung, (fault,))
            self._wait(0.5, 1.3)

    def whole(self) -> None:
        top = len(self.lesson.ladder) - 1
        self._say(GREETINGS, stays=True)
        for part in self.lesson.parts:
            for rung in (0, top) if self.rng.random() < 0.5 else (0,):
                self._say(INTROS, stays=True)
                for _ in range(int(self.rng.integers(0, 3))):
                    self._try(part.first, part.last, rung, good=False)
                    self._say(SHORT_LAMENTS, stays=False)
                self.takes.append(len(self.doings))
                self._try(part.first, part.last, rung, good=True)
        self._say(SHORT_FAREWELLS, stays=True)


def shot(number: int, *, tuning: bool, short: bool = False, counted: bool = False) -> Shot:
    rng = np.random.default_rng([number, 31 if tuning else 32])
    taught = short_lessons(tuning=tuning) if short else lessons(tuning=tuning)
    lesson = taught[number % len(taught)]
    voices = [*TUNING_VOICES] if tuning else [*TEST_VOICES, *(f"people:{number}" for _ in range(3) if people_files())]
    script = (ShortScript if short else Script)(lesson, voices[number % len(voices)], rng)
    if counted:
        script.counts = np.random.default_rng([number, 33])
    script.whole()
    noise = float(rng.choice([-64, -58, -52]))
    scene = raw_scene(lesson, script.doings, seed=number, recorded=not tuning, noise_db=noise)
    second = second_camera(scene, np.random.default_rng([number, 9])) if number % 2 else None
    return Shot(lesson, scene, tuple(script.takes), tuple(script.talk), second)


def second_camera(scene: RawScene, rng: np.random.Generator) -> SecondCamera:
    """One at another place, that begins later and ends sooner."""
    return SecondCamera(
        starts=float(rng.uniform(0, 0.3 * scene.seconds)),
        ends=float(rng.uniform(0.75, 1.0) * scene.seconds),
        drift_ppm=float(rng.uniform(-150, 150)),
        seed=int(rng.integers(1000)),
        gain_db=float(rng.uniform(-15, -3)),
        noise_db=float(rng.uniform(-58, -50)),
    )


@dataclass
class Tally:
    scenes: int = 0
    minutes: float = 0.0
    takes: list[bool] = field(default_factory=list)
    others: int = 0
    talk: list[bool] = field(default_factory=list)
    laments: list[bool] = field(default_factory=list)
    cuts: int = 0
    inside: int = 0
    sync: list[float] = field(default_factory=list)
    took: float = 0.0

    def add(self, judged: JudgedCut, clock_off: float | None) -> None:
        self.takes += judged.takes
        self.others += judged.others.count(False)
        self.talk += judged.talk
        self.laments += judged.laments
        self.cuts += len(judged.edges)
        self.inside += len(judged.inside)
        if clock_off is not None:
            self.sync.append(1000 * clock_off)

    def row(self, name: str) -> str:
        def share(found: list[bool]) -> str:
            return f"{sum(found)} of {len(found)}, {100 * sum(found) / max(1, len(found)):.1f} %"

        sync = f"{max(self.sync):.1f} ms" if self.sync else ""
        return (
            f"| {name} | {self.scenes}, {self.minutes:.0f} min | {share(self.takes)} | {self.others} | "
            f"{share(self.talk)} | {share(self.laments)} | {self.inside} of {self.cuts} | {len(self.sync)}, {sync} | "
            f"{self.minutes * 60 / max(1e-9, self.took):.0f}x |"
        )


HEAD = (
    "| scenes | how many | right takes chosen | others that stay | talk that stays | laments that go | cuts inside a "
    "note or a word | second cameras, furthest off | speed |\n" + "|---" * 9 + "|"
)


def run(number: int, tally: Tally, *, tuning: bool, tell: bool, short: bool, counted: bool) -> None:
    made = shot(number, tuning=tuning, short=short, counted=counted)
    with tempfile.TemporaryDirectory() as folder:
        films = made.films(Path(folder), TINY)
        begun = time.process_time()
        cut = propose_cut(made.lesson, films, order=CutOrder.TAUGHT).cut
        tally.took += time.process_time() - begun
    tally.scenes += 1
    tally.minutes += made.scene.seconds / 60
    tally.add(judged_cut(made, cut), None if made.second is None else made.second.clock_off(cut))
    if tell:
        for one in judged_cut(made, cut).mistakes:
            print("WRONG", number, one)


def talk_table(*, tuning: bool, scenes: int) -> str:
    """Shares of frames of ten milliseconds that are told to be talk."""
    import webrtcvad

    told: dict[str, dict[str, list[float]]] = {}
    for number in range(scenes):
        made = shot(number if tuning else FIRST + number, tuning=tuning)
        low = resampled(Samples(made.scene.samples.astype(np.float32), RATE), LOW_RATE).array[:, 0]
        harp = made.lesson.route.harp
        from reedpath.harp import Breath, reed_hz

        lowest = min(reed_hz(harp, hole, breath) for hole in (1, 2) for breath in Breath)
        frames = (np.clip(low, -1, 1) * 32767).astype("<i2").tobytes()
        ways = {"this program": course_of(low, lowest_hz=lowest).talk}
        for mode in (0, 3):
            detector = webrtcvad.Vad(mode)
            ways[f"webrtcvad, mode {mode}"] = np.array(
                [detector.is_speech(frames[at : at + 160], LOW_RATE) for at in range(0, len(frames) - 159, 160)]
            )
        for way, flags in ways.items():
            for done in made.scene.done:
                kind = {Said: "talk", Tried: "playing", Noodled: "playing", Knocked: "knocks"}.get(type(done.what))
                spans = [(done.start, done.start + 0.15)] if kind == "knocks" else done.sounds
                for start, end in spans if kind else ():
                    told.setdefault(way, {}).setdefault(kind, []).extend(flags[round(100 * start) : round(100 * end)])
    rows = [
        f"| {way} | "
        + " | ".join(f"{100 * np.mean(kinds[kind]):.1f} %" for kind in ("talk", "playing", "knocks"))
        + " |"
        for way, kinds in told.items()
    ]
    return "\n".join(["| told to be talk, of | talk | playing | knocks |", "|---|---|---|---|", *rows])


def long_clocks() -> None:
    """Two cameras over a quarter of an hour: scenes one after the other, each another one."""
    sound = np.concatenate([shot(FIRST + number, tuning=False).scene.samples for number in range(6)])
    whole = RawScene(sound, ())
    for drift in (-120.0, 30.0, 150.0):
        first = resampled(Samples(as_camera(whole, seed=4).astype(np.float32), RATE), LOW_RATE).array[:, 0]
        heard = as_camera(whole, starts=47.0, drift_ppm=drift, seed=8, gain_db=-9.0)
        second = resampled(Samples(heard.astype(np.float32), RATE), LOW_RATE).array[:, 0]
        begun = time.process_time()
        clock = clock_between(first, second)
        took = time.process_time() - begun
        assert clock is not None
        ends = (0.0, len(second) / LOW_RATE)
        off = [1000 * abs(clock.there(at) - (47.0 + at / (1 + drift * 1e-6))) for at in ends]
        print(
            f"{whole.seconds / 60:.0f} min, drift {drift:+.0f} millionths: off {max(off):.1f} ms, took {took:.0f} s"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--scenes", type=int, default=SCENES)
    parser.add_argument("--first", type=int, help="the first scene, other than that of the table")
    for name in ("tuning", "told", "short", "counted", "talk", "long", "write"):
        parser.add_argument(f"--{name}", action="store_true")
    asked = parser.parse_args()
    if asked.long:
        long_clocks()
        return
    if asked.talk:
        print(talk_table(tuning=asked.tuning, scenes=asked.scenes))
        return
    tally = Tally()
    first = (0 if asked.tuning else FIRST) if asked.first is None else asked.first
    for number in range(first, first + asked.scenes):
        run(number, tally, tuning=asked.tuning, tell=asked.told, short=asked.short, counted=asked.counted)
        if asked.told:
            print(number, tally.row("so far"), flush=True)
    table = f"{HEAD}\n{tally.row('tuning' if asked.tuning else 'held out')}"
    print(table)
    if asked.write:
        put_between(MARKS, table, PAGE)


if __name__ == "__main__":
    main()
