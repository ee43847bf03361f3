"""The program's own play-alongs, heard by `listen`: every note right, nothing too many.

    python bench/own_takes.py               the table of docs/accuracy.md: examples, also with the band, 100 tunes
    python bench/own_takes.py --tunes 10    so many tunes
    python bench/own_takes.py --told        and every fault that is told, one a line
    python bench/own_takes.py --only NAME   examples and tunes whose name has this in it
    python bench/own_takes.py --ends        tunes at the slowest and the fastest tempo only
    python bench/own_takes.py --seed 7      with the band that this seed gives
    python bench/own_takes.py --faults      notes left out, late and early over the band: how many are told

Each lesson is sounded at every tempo of its ladder and answered, alone and with the band, where the band plays its
metre. The tunes
are the first notes of fiddle tunes of music21's corpus (public domain), arranged on one of four harps, in the octave
that needs more bends.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from msgspec.structs import replace

sys.path.insert(0, str(Path(__file__).resolve().parent))

from reedpath.arrange import Route, find_route, load_player
from reedpath.errors import SoundError
from reedpath.harp import Alteration, make_harp
from reedpath.jobs import RouteRequest, read_source_file
from reedpath.jobs.arranging import best_route
from reedpath.lesson import Lesson, Rung, make_lesson
from reedpath.listen import Answer, FaultKind, answer_take
from reedpath.phrase import Event, Tempo, trimmed
from reedpath.sound import Backing, lay_out_backing, play_along, play_with_band
from workloads import corpus_phrases

ROOT = Path(__file__).resolve().parents[1]

EXAMPLES = (
    "boxcar-in-a.txt",
    "orchard-gate.abc",
    "shuffle-in-e.txt",
    "slow-walk-in-a-minor.txt",
    "two-questions.txt",
)
TUNES = 100
# notes of a tune that are played, and quarter notes a minute
NOTES, BPM = 36, 84.0
# tunes in a metre that the band plays in which notes are played wrongly over it, and how many notes of each; seconds
# by which they are late or early, quarter notes that they must last, and notes at either end that are left alone
FAULTED_TUNES, FAULTED_NOTES = (0, 5, 10, 11, 40, 50, 59, 75, 79, 87, 98), 3
OFF_SECONDS, FAULTED_QUARTERS, LEFT_ALONE = 0.15, 0.45, 3


def example_lesson(name: str) -> Lesson:
    """The lesson of an example, as `reedpath lesson` makes it."""
    return make_lesson(best_route(read_source_file(ROOT / "examples" / name).phrase, RouteRequest()))


def _bends(route: Route) -> int:
    moves = (one.choice.move for one in route.events)
    return sum(move is not None and move.alteration is Alteration.BEND for move in moves)


def tune_lesson(number: int, *, tunes: int = TUNES) -> Lesson:
    """The lesson of the first notes of a tune.

    number : of the tune, under `tunes`, the number of tunes that are read.
    """
    phrase = corpus_phrases(tunes)[number]
    part = trimmed(phrase, Fraction(0), phrase.events[:NOTES][-1].end)
    part = replace(part, tempos=(Tempo(Fraction(0), BPM),))
    player, harp = load_player("advanced"), make_harp(("A", "C", "D", "G")[number % 4])
    routes = [find_route(part, harp, shift_semitones=shift, player=player) for shift in (0, -12)]
    return make_lesson(max(routes, key=lambda route: (route.truth > 0.9, _bends(route))), title=phrase.title)


@dataclass(frozen=True)
class OwnTake:
    """A sound of the program's own, and the answer to it.

    name : of the lesson. rung : its tempo. rounds : how many times the phrase is played.
    """

    name: str
    lesson: Lesson
    rung: Rung
    answer: Answer
    rounds: int

    @property
    def asked(self) -> int:
        """Notes that are asked for."""
        return self.rounds * sum(one.choice.move is not None for one in self.lesson.route.events)

    @property
    def right(self) -> int:
        """Notes of play-throughs that have no fault."""
        return sum(not one.faults for play in self.answer.plays for one in play.events)

    @property
    def extras(self) -> int:
        """Notes too many."""
        return sum(len(play.extras) for play in self.answer.plays)

    @property
    def is_perfect(self) -> bool:
        """Whether every note is right, and nothing else is told."""
        plays = self.answer.plays
        return (
            len(plays) == self.rounds
            and self.right == self.asked
            and not self.extras
            and self.answer.tuned_cents == 0.0
            and not list(self._told_of_the_whole())
        )

    def _told_of_the_whole(self) -> Iterator[str]:
        """What is told of swing, tempo and harp, all of which are as asked."""
        if self.answer.harp_heard is not None:
            yield f"{self.name} at {self.rung.bpm:g}: on {self.answer.harp_heard}"
        for play in self.answer.plays:
            if play.swing is not None and play.swing.kind is not None:
                yield f"{self.name} at {self.rung.bpm:g}: {play.swing.kind.value}, {play.swing.heard:.2f} to 1"
            if not play.tempo.kept:
                yield f"{self.name} at {self.rung.bpm:g}: tempo grows by {play.tempo.drift:.2f}"

    def told(self) -> Iterator[str]:
        """Every fault, one a line."""
        if len(self.answer.plays) != self.rounds:
            yield f"{self.name} at {self.rung.bpm:g}: {len(self.answer.plays)} play-throughs"
        if self.answer.tuned_cents:
            yield f"{self.name} at {self.rung.bpm:g}: tuned {self.answer.tuned_cents:+.1f} cents"
        yield from self._told_of_the_whole()
        for play in self.answer.plays:
            for one in play.events:
                for fault in one.faults:
                    what = f"{fault.kind.value} {fault.amount:.2f}"
                    yield f"{self.name} at {self.rung.bpm:g}: event {one.event}, {one.start_seconds:.2f} s: {what}"


def taken_alone(name: str, lesson: Lesson, rungs: Iterable[Rung] | None = None) -> Iterator[OwnTake]:
    """A lesson's play-alongs, answered.

    rungs : all of its ladder for None.
    """
    for rung in lesson.ladder if rungs is None else rungs:
        yield OwnTake(name, lesson, rung, answer_take(play_along(lesson, rung), lesson.route), 1)


def ends(lesson: Lesson) -> tuple[Rung, Rung]:
    """The slowest and the fastest tempo of a lesson's ladder."""
    return lesson.ladder[0], lesson.ladder[-1]


def taken_at_ends(number: int, *, tunes: int = TUNES) -> Iterator[OwnTake]:
    """A tune's play-alongs at the slowest and the fastest tempo of its ladder, answered."""
    lesson = tune_lesson(number, tunes=tunes)
    yield from taken_alone(f"tune-{number}", lesson, ends(lesson))


def taken_with_band(
    name: str, lesson: Lesson, rungs: Iterable[Rung] | None = None, *, seed: int = Backing().seed
) -> Iterator[OwnTake]:
    """A lesson's sounds with the band, two rounds of them, answered.

    seed : of the band's freedom.
    """
    for rung in lesson.ladder if rungs is None else rungs:
        sound = play_with_band(lesson, rung, Backing(seed=seed))
        yield OwnTake(f"{name}, band", lesson, rung, answer_take(sound, lesson.route), 2)


def _with_events(lesson: Lesson, events: dict[int, Event | None]) -> Lesson:
    """A lesson some of whose events are other ones, or none."""
    old = enumerate(lesson.route.events)
    kept = [replace(one, event=event) for number, one in old if (event := events.get(number, one.event)) is not None]
    phrase = replace(lesson.route.phrase, events=tuple(one.event for one in kept))
    return make_lesson(replace(lesson.route, phrase=phrase, events=tuple(kept)), title=lesson.title)


def faulted_lesson(lesson: Lesson, number: int, kind: FaultKind) -> Lesson | None:
    """A lesson in which one note is left out, or late or early at full tempo; None where that can't be played.

    The note before is held on as long, or ends as much sooner.
    """
    before, one = (lesson.route.phrase.events[place] for place in (number - 1, number))
    if kind is FaultKind.MISSED:
        return _with_events(lesson, {number: None})
    off = Fraction(round(OFF_SECONDS * lesson.ladder[-1].bpm / 60.0 * 64), 64)
    if kind is FaultKind.EARLY:
        off = -off
    if one.duration <= off or before.duration <= -off or before.end != one.onset:
        return None
    moved = replace(one, onset=one.onset + off, duration=one.duration - off)
    return _with_events(lesson, {number - 1: replace(before, duration=before.duration + off), number: moved})


@dataclass
class FaultsTold:
    """What is told of notes played wrongly on purpose: rightly, as another fault, of how many; faults of others."""

    rightly: int = 0
    otherwise: int = 0
    played: int = 0
    others: int = 0


def _count_faults(told: FaultsTold, answer: Answer, number: int, kind: FaultKind) -> None:
    for play in answer.plays:
        kinds = {one.event: {fault.kind for fault in one.faults} for one in play.events}
        told.played += 1
        told.rightly += kind in kinds[number]
        told.otherwise += bool(kinds[number]) and kind not in kinds[number]
        told.others += sum(bool(found) for event, found in kinds.items() if abs(event - number) > 1)


def faults_over_the_band(tunes: int = TUNES, *, seed: int = Backing().seed) -> Iterator[str]:
    """A row for notes left out, late and early over the band, each by itself in a sound of two rounds."""
    told = {kind: FaultsTold() for kind in (FaultKind.MISSED, FaultKind.LATE, FaultKind.EARLY)}
    drawn = random.Random(seed)
    for tune in FAULTED_TUNES:
        lesson = tune_lesson(tune, tunes=tunes)
        events = lesson.route.phrase.events
        long = [
            place
            for place in range(LEFT_ALONE, len(events) - LEFT_ALONE)
            if float(events[place].duration) >= FAULTED_QUARTERS
            and lesson.route.events[place].choice.move is not None
        ]
        for number in drawn.sample(long, min(FAULTED_NOTES, len(long))):
            for kind, found in told.items():
                faulted = faulted_lesson(lesson, number, kind)
                if faulted is not None:
                    sound = play_with_band(faulted, faulted.ladder[-1], Backing(seed=seed))
                    _count_faults(found, answer_take(sound, lesson.route), number, kind)
    for kind, one in told.items():
        yield f"| {kind.value} | {one.rightly} of {one.played} | {one.otherwise} | {one.others} |"


def is_in_bands_metre(lesson: Lesson) -> bool:
    """Whether the band plays the metre of a lesson."""
    try:
        lay_out_backing(lesson, lesson.ladder[-1])
    except SoundError:
        return False
    return True


def _row(name: str, takes: Iterable[OwnTake], *, tell: bool) -> str:
    lessons, perfect, count, right, asked = set(), 0, 0, 0, 0
    kinds: dict[FaultKind, int] = {}
    for take in takes:
        lessons.add(take.name)
        count, perfect = count + 1, perfect + take.is_perfect
        right, asked = right + take.right, asked + take.asked
        for play in take.answer.plays:
            for one in play.events:
                for fault in one.faults:
                    kinds[fault.kind] = kinds.get(fault.kind, 0) + 1
        if tell:
            for line in take.told():
                print(line, flush=True)
    told = ", ".join(f"{kind.value} {number}" for kind, number in sorted(kinds.items(), key=lambda one: -one[1]))
    return f"| {name} | {len(lessons)} | {perfect} of {count} | {right:,} of {asked:,} | {told or 'none'} |"


def main() -> None:
    parser = argparse.ArgumentParser(description="The program's own play-alongs, heard by listen.")
    parser.add_argument("--tunes", type=int, default=TUNES)
    parser.add_argument("--told", action="store_true")
    parser.add_argument("--only", default="")
    parser.add_argument("--ends", action="store_true")
    parser.add_argument("--seed", type=int, default=Backing().seed)
    parser.add_argument("--faults", action="store_true")
    asked = parser.parse_args()
    if asked.faults:
        print("| over the band | told | told as another fault | other notes with a fault |\n|---|---|---|---|")
        print("\n".join(faults_over_the_band(asked.tunes, seed=asked.seed)))
        return
    examples = {Path(name).stem: name for name in EXAMPLES if asked.only in name}
    lessons = {name: example_lesson(file) for name, file in examples.items()}
    numbers = [number for number in range(asked.tunes) if asked.only in f"tune-{number}"]
    tunes = {f"tune-{number}": tune_lesson(number, tunes=asked.tunes) for number in numbers}
    over_band = {name: lesson for name, lesson in tunes.items() if is_in_bands_metre(lesson)}
    rungs = ends if asked.ends else lambda lesson: lesson.ladder
    rows = {
        "examples": (take for name, lesson in lessons.items() for take in taken_alone(name, lesson)),
        "examples with the band": (
            take for name, lesson in lessons.items() for take in taken_with_band(name, lesson, seed=asked.seed)
        ),
        "tunes": (take for name, lesson in tunes.items() for take in taken_alone(name, lesson, rungs(lesson))),
        "tunes with the band": (
            take
            for name, lesson in over_band.items()
            for take in taken_with_band(name, lesson, rungs(lesson), seed=asked.seed)
        ),
    }
    print("| sounds of | lessons | without a fault | notes right | told |\n|---|---|---|---|---|")
    for name, takes in rows.items():
        print(_row(name, takes, tell=asked.told), flush=True)


if __name__ == "__main__":
    main()
