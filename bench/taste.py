"""What a good player would do: how often the arranger does it, on phrases made by rule and on folk tunes.

    python bench/taste.py --half tuning       # while weights are set
    python bench/taste.py --half held-back    # what docs/arranging.md publishes

Licks are drawn with a seed over the blues scale of second position, after what is written of blues phrases: a call of
one bar that rises from the tonic, repeated or varied, and an answer that falls and ends on the tonic, held (two bars
sung, two bars answered, AA'B: docs/arranging.md). Every second lick is held back. The folk tunes are 131 of the
corpus in `workloads`, every second one held back.
"""

from __future__ import annotations

import argparse
import random
from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise

from msgspec import Struct

from reedpath.arrange import ChangeKind, Route, all_harps, load_player, octave_shifts, survey
from reedpath.harp import Breath, Harp, load_tuning, make_harp
from reedpath.phrase import Event, Metre, Ornaments, Phrase, Tempo, bars
from reedpath.pitch import Key
from workloads import corpus_phrases

LICKS, TUNES, SEED = 150, 131, 20
# semitones above the tonic of the blues scale, a fourth below it to a fifth above the octave
SCALE = (-5, -2, 0, 3, 5, 6, 7, 10, 12, 15, 17)
TONIC = SCALE.index(0)
# rhythms of a bar of 4/4 in quarter notes, as blues phrases have them: eighths, triplets, a held note
CELLS = tuple(
    tuple(map(Fraction, cell.split()))
    for cell in (
        "1/2 1/2 1/2 1/2 1/2 1/2 1",
        "1 1/2 1/2 1 1",
        "1/2 1/2 1 1/2 1/2 1",
        "1/3 1/3 1/3 1 1/2 1/2 1",
        "2/3 1/3 2/3 1/3 2/3 1/3 1",
        "1/2 1 1/2 1 1",
        "1/4 1/4 1/2 1/2 1/2 1 1",
    )
)
TEMPOS = (60, 72, 84, 96, 108, 120, 138, 160)
# pitch classes of the keys guitarists play a blues in
GUITAR_KEYS = (4, 9, 7, 2, 0, 11)


class Lick(Struct, frozen=True):
    """One lick in G on a C harp, and the key it is surveyed in.

    call : numbers of the events of the call, and of its repeat where it is repeated as it was.
    tonic : pitch class of the key a guitarist would play it in.
    octave : semitones it lies lower there than on the harp in second position.
    """

    phrase: Phrase
    call: tuple[tuple[int, int], ...]
    tonic: int
    octave: int


def _walk(rng: random.Random, start: int, count: int, drift: int) -> list[int]:
    """So many steps along the scale, more often in one direction."""
    at, steps = start, [start]
    for _ in range(count - 1):
        at += rng.choice([-1, 0, 1, 1, 1, 2] if drift > 0 else [1, 0, -1, -1, -1, -2])
        at = min(max(at, 1 if drift > 0 else 0), len(SCALE) - 2)
        steps.append(at)
    return steps


def _answer(rng: random.Random, count: int) -> list[int]:
    """From the upper half of the scale down to the tonic."""
    while True:
        steps = _walk(rng, rng.randrange(TONIC + 2, TONIC + 7), count, -1)
        if TONIC in steps[-2:]:
            steps[-1] = TONIC
            return steps


def lick(rng: random.Random) -> Lick:
    """One lick."""
    cell, other = rng.choice(CELLS), rng.choice(CELLS)
    call = _walk(rng, rng.choice([TONIC, TONIC, TONIC + 1, TONIC + 3]), len(cell), 1)
    again = rng.random() < 0.5
    varied = [*call[:-1], rng.choice([TONIC, TONIC + 3, call[-1]])]
    parts = [(call, cell), (call if again else varied, cell)] if rng.random() < 0.6 else [(call, cell)]
    held = Fraction(rng.choice([1, 2, 3, 4]))
    parts.append((_answer(rng, len(other)), (*other[:-1], held)))
    events: list[Event] = []
    starts = []
    for number, (steps, beats) in enumerate(parts):
        onset = Fraction(4 * number)
        starts.append(len(events))
        for step, duration in zip(steps, beats, strict=True):
            events.append(Event(onset, duration, (67 + SCALE[step],)))
            onset += duration
    if rng.random() < 0.5:
        last = events[-1]
        events[-1] = Event(last.onset, last.duration, last.midi, Ornaments(vibrato=True))
    same = len(parts) == 3 and parts[0][0] == parts[1][0]
    return Lick(
        Phrase(
            tuple(events),
            key=Key(7),
            metres=(Metre(Fraction(0), 4, 4),),
            tempos=(Tempo(Fraction(0), float(rng.choice(TEMPOS))),),
        ),
        ((starts[0], starts[1]), (starts[1], starts[2])) if same else (),
        rng.choice(GUITAR_KEYS),
        rng.choice([0, 0, 12]),
    )


def licks() -> list[Lick]:
    """All of them, always the same."""
    rng = random.Random(SEED)
    return [lick(rng) for _ in range(LICKS)]


def on_guitar(one: Lick) -> tuple[Phrase, str]:
    """A lick in the key and octave of a guitar, and the harp that a blues player takes for it."""
    harp_key = (one.tonic + 5) % 12
    harp = next(harp for harp in all_harps([load_tuning("standard")]) if harp.key_midi % 12 == harp_key)
    return one.phrase.moved(harp.key_midi - 60 - one.octave), harp.name


def moves(route: Route) -> list[tuple[int, Breath, int] | None]:
    """Hole, breath and depth of each event."""
    return [
        None if one.choice.move is None
        else (one.choice.move.holes[0], one.choice.move.breath, one.choice.move.semitones)
        for one in route.events
    ]  # fmt: skip


HOME, BLOWN_HOME = (2, Breath.DRAW, 0), (3, Breath.BLOW, 0)


def thrown(route: Route) -> int:
    """Steps of the phrase, a major third at most, that sound wider than a sixth: a note or part thrown away."""
    count = 0
    tops = [(one.event.midi[-1], max(route.sounding_midi(i), default=None)) for i, one in enumerate(route.events)]
    for (asked, given), (asked_next, given_next) in pairwise(tops):
        if given is not None and given_next is not None and abs(asked_next - asked) <= 4:
            count += abs(given_next - given) > 8
    return count


def broken(route: Route) -> int:
    """Intervals that go the other way than asked."""
    count = 0
    tops = [(one.event.midi[-1], max(route.sounding_midi(i), default=None)) for i, one in enumerate(route.events)]
    for (asked, given), (asked_next, given_next) in pairwise(tops):
        if given is not None and given_next is not None:
            count += (asked_next - asked) * (given_next - given) < 0
    return count


def misplaced_breaths(route: Route) -> tuple[int, int]:
    """Breaths told, and those of them taken neither at a bar line nor after a rest nor after a note of a beat."""
    lines = {bar.onset for bar in bars(route.phrase)}
    all_of_them = bad = 0
    for before, one in pairwise(route.events):
        if one.breathe_before:
            all_of_them += 1
            rest = one.event.onset > before.event.end
            bad += not (rest or one.event.onset in lines or before.event.duration >= 1)
    return all_of_them, bad


def arranged(phrase: Phrase, harps: Sequence[Harp], level: str, shifts: Sequence[int] | None = None) -> Route:
    """The route that a user gets."""
    found = survey(phrase, harps, shifts=shifts or octave_shifts(), player=load_player(level), top=1)
    return found.ranked[0].route(alike=True)


def share(parts: Iterable[bool]) -> str:
    """A share of so many as per cent and count."""
    known = list(parts)
    return f"{100 * sum(known) / max(len(known), 1):.0f} % ({sum(known)} of {len(known)})"


def half_of(things: Sequence, half: str) -> list:
    """Every second one, or all."""
    return list(things) if half == "all" else list(things)[(0 if half == "tuning" else 1) :: 2]


def lick_lines(chosen: list[Lick]) -> Iterator[tuple[str, str]]:
    """What becomes of the licks on the harp of their second position."""
    for level in ("first-months", "easy", "steady", "strong"):
        routes = [arranged(one.phrase, [make_harp("C")], level, shifts=(0,)) for one in chosen]
        held = [moves(route) for route in routes]
        yield f"{level}: licks that end on 3 blow", share(one[-1] == BLOWN_HOME for one in held)
        yield f"{level}: licks with both 2 draw and 3 blow", share(HOME in one and BLOWN_HOME in one for one in held)
        twice = [(one, made) for one, made in zip(chosen, held, strict=True) if one.call]
        yield (
            f"{level}: calls repeated that are fingered differently",
            share(made[slice(*one.call[0])] != made[slice(*one.call[1])] for one, made in twice),
        )
        yield f"{level}: steps thrown an octave", str(sum(map(thrown, routes)))
        breaths = [misplaced_breaths(route) for route in routes]
        yield f"{level}: breaths, misplaced", f"{sum(a for a, _ in breaths)}, {sum(b for _, b in breaths)}"


def survey_lines(chosen: list[Lick]) -> Iterator[tuple[str, str]]:
    """Whether the blues player's harp comes first."""
    for level in ("easy", "steady", "strong"):
        first = []
        for one in chosen:
            phrase, harp = on_guitar(one)
            best = survey(phrase.moved(0), player=load_player(level), top=1).ranked[0]
            first.append(best.position == 2 and best.harp.name == harp and best.harp.tuning.name == "standard")
        yield f"{level}: second position on the standard harp first", share(first)


def tune_lines(half: str) -> Iterator[tuple[str, str]]:
    """Folk tunes on the best of four harps, in the octave that suits it."""
    tunes = half_of(corpus_phrases(TUNES), half)
    for level in ("first-months", "easy", "steady"):
        harps = [make_harp(key) for key in ("G", "A", "C", "D")]
        routes = [arranged(tune, harps, level) for tune in tunes]
        yield f"{level}: folk tunes, steps thrown an octave", str(sum(map(thrown, routes)))
        yield f"{level}: folk tunes, intervals turned round", str(sum(map(broken, routes)))
        kinds = [change.kind for route in routes for _, change in route.changes]
        yield (
            f"{level}: folk tunes, notes changed",
            ", ".join(f"{kinds.count(kind)} {kind}" for kind in ChangeKind if kind in kinds),
        )
        breaths = [misplaced_breaths(route) for route in routes]
        yield (
            f"{level}: folk tunes, breaths, misplaced",
            f"{sum(a for a, _ in breaths)}, {sum(b for _, b in breaths)}",
        )


def main() -> None:
    """Print the table of one half."""
    options = argparse.ArgumentParser()
    options.add_argument("--half", choices=("tuning", "held-back", "all"), default="tuning")
    options.add_argument("--only", choices=("licks", "survey", "tunes"))
    chosen = options.parse_args()
    mine = half_of(licks(), chosen.half)
    tables: dict[str, Callable[[], Iterator[tuple[str, str]]]] = {
        "licks": lambda: lick_lines(mine),
        "survey": lambda: survey_lines(mine),
        "tunes": lambda: tune_lines(chosen.half),
    }
    print(f"{chosen.half}: {len(mine)} licks")
    for name, lines in tables.items():
        if chosen.only in (None, name):
            for what, value in lines():
                print(f"| {what} | {value} |", flush=True)


if __name__ == "__main__":
    main()
